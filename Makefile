# Two commands for a clean clone that has only Python 3.11 (or newer), make and git:
#   make demo   takes the recordings in demo_audio/ through the recogniser and prints the job log
#   make test   runs every test
# and, once those work, make score (how well notes are understood; needs no recogniser), make bench (how fast, beside
# peers), make soak (the long versions of the hard tests), make pictures and make lint.
# Each makes .venv first and install the pinned versions of constraints.txt into it.

SHELL := /bin/bash
PYTHON ?= $(shell for each in python3.11 python3 python; do \
	$$each -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && command -v $$each && break; done)
BIN := .venv/bin
READY := .venv/installed
ARGS ?=

.PHONY: demo test browser pictures score bench soak lint clean

demo: $(READY)
	@$(BIN)/python -m assistant.cli.demo demo_audio $(ARGS)

test: $(READY) browser
	$(BIN)/python -m pytest $(ARGS)

# What the tests of the pages need besides Python packages: a browser, and the reader of PDF files. Root gets them from
# Debian; anybody else is told, and those tests are skipped.
browser:
	@for each in chromium pdftotext; do command -v $$each >/dev/null || missing=1; done; \
	if [ -n "$$missing" ] && [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null; then \
		echo "installing chromium and poppler-utils for the tests of the pages"; \
		apt-get update -qq && DEBIAN_FRONTEND=noninteractive \
			apt-get install -y -qq --no-install-recommends chromium poppler-utils >/dev/null; \
	elif [ -n "$$missing" ]; then \
		echo "chromium or pdftotext is missing: the tests of the pages will be skipped" >&2; \
	fi

score: $(READY)
	@$(BIN)/python -m tests.score $(ARGS)

# One table, in build/bench; an hour or more, or ARGS=--quick. Its peers are no part of the program, so only this command
# installs them.
bench: $(READY)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[bench]'
	@$(BIN)/python -m tests.bench $(ARGS)

# The hard tests at length: killed 200 times under load, 200 phones at once, abuse of the line, hostile sound files,
# half an hour of non-speech, and the laws on tens of thousands of chance notes. Takes an hour or more.
soak: $(READY)
	$(BIN)/python -m tests.log.kill --times 200
	$(BIN)/python -m tests.api.load --phones 200
	$(BIN)/python -m tests.api.abuse --rounds 12
	$(BIN)/python -m tests.hear.hostile --files 1000
	$(BIN)/python -m tests.understand.wander --inputs 50000
	$(BIN)/python -m tests.hear.nonspeech --minutes 30 --seed 77
	$(BIN)/python -m pytest --hypothesis-profile=wander tests/understand/test_laws.py tests/converse/test_laws.py \
		tests/papers/test_laws.py

# The pictures in the read-me, of the pages with the demonstration job. Takes chromium.
pictures: $(READY) browser
	@$(BIN)/python -m tests.api.browser.pictures

lint: $(READY)
	$(BIN)/ruff check .

# Once installed nothing is asked of the network again until the pins change. A .venv whose Python is gone,
# too old or of another machine is begun anew.
$(READY): pyproject.toml constraints.txt
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed and was not found; name it: make PYTHON=/path/to/python" >&2; exit 1; }
	@$(BIN)/python -c 'import sys, pip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || $(PYTHON) -m venv --clear .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[test]'
	@touch $@

clean:
	rm -rf .venv build dist *.egg-info .pytest_cache .hypothesis .ruff_cache
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
