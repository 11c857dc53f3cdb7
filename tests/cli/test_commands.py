"""Each command does what its help says, prints what was asked for, and fails with one clear line."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.cli import main, tell

HEAD = "Head pressure is 345 psi and the liquid line is 94 degrees."
SUCTION = "Suction pressure is 118 psi."
THE_WHOLE_LOG = (  # the contract's names, in its order
    "job visits equipment readings duct_runs events tasks agreements materials labour calculations verdicts concerns "
    "asks remarks"
)


def values(log: dict) -> dict[str, float]:
    return {reading["quantity"]: reading["value"] for reading in log["readings"] if reading["status"] == "current"}


# ---------------------------------------------------------------- tell


def test_typed_words_become_a_note_and_the_answer_is_printed(superheard):
    told = superheard("tell", HEAD, "--job", "print-shop", "--date", "2026-05-12")
    assert (told.exit_code, told.stderr) == (0, "")
    assert "345" in told.stdout
    log = json.loads(superheard("log", "print-shop", "--json").stdout)
    assert values(log) == {"liquid_pressure": 345.0, "liquid_line_temp": 94.0}
    assert log["visits"][0]["date"] == "2026-05-12"


def test_json_is_the_reply_and_nothing_else(superheard):
    reply = json.loads(superheard("tell", HEAD, "--job", "print-shop", "--json").stdout)
    assert list(reply) == ["note", "log", "say", "new"]
    assert " ".join(reply["log"]) == THE_WHOLE_LOG
    assert values(reply["note"])["liquid_pressure"] == 345.0


def test_several_notes_at_once_are_told_in_order(superheard):
    replies = json.loads(superheard("tell", HEAD, SUCTION, "--job", "print-shop", "--json").stdout)
    assert [reply["note"]["text"] for reply in replies] == [HEAD, SUCTION]
    assert set(values(replies[1]["log"])) == {"liquid_pressure", "liquid_line_temp", "suction_pressure"}


def test_words_without_quotes_are_one_note(superheard):
    reply = json.loads(superheard("tell", "suction", "pressure", "118", "psi", "--json").stdout)
    assert reply["note"]["text"] == "suction pressure 118 psi"


def test_telling_twice_changes_nothing_and_says_so(superheard):
    command = ("tell", HEAD, "--job", "print-shop", "--date", "2026-05-12")
    superheard(*command)
    before = superheard("log", "--json").stdout
    again = superheard(*command)
    assert "Nothing changed" in again.stdout
    assert superheard("log", "--json").stdout == before


def test_without_a_job_the_one_told_last_goes_on(superheard):
    superheard("tell", HEAD, "--job", "print-shop")
    superheard("tell", HEAD, "--job", "bakery")
    superheard("tell", SUCTION)
    assert "suction_pressure" in values(json.loads(superheard("log", "bakery", "--json").stdout))
    assert "suction_pressure" not in values(json.loads(superheard("log", "print-shop", "--json").stdout))


def test_the_job_can_come_from_the_settings_file(superheard, tmp_path):
    file = tmp_path / "settings.toml"
    file.write_text('job = "bakery"\n')
    superheard("tell", HEAD, "--settings", str(file))
    assert [line["id"] for line in json.loads(superheard("jobs", "--json").stdout)] == ["bakery"]


def test_a_setting_may_stand_before_or_after_the_command(superheard, tmp_path):
    for arguments in (("--home", str(tmp_path / "x"), "tell", HEAD), ("tell", HEAD, "--home", str(tmp_path / "y"))):
        assert superheard(*arguments).exit_code == 0
    assert (tmp_path / "x" / "superheard.db").exists() and (tmp_path / "y" / "superheard.db").exists()
    assert not (tmp_path / "home").exists()


def test_standard_input_holds_one_typed_note(superheard):
    assert json.loads(superheard("tell", "-", "--json", input=HEAD).stdout)["note"]["text"] == HEAD


def test_a_text_file_holds_one_typed_note(superheard, tmp_path):
    (tmp_path / "note.txt").write_text(HEAD + "\n")
    assert json.loads(superheard("tell", str(tmp_path / "note.txt"), "--json").stdout)["note"]["text"] == HEAD


@pytest.mark.parametrize("name", ["visit 1.m4a", "missing.ogg", "folder/none.WAV"])
def test_a_recording_that_is_not_there_is_an_error_that_names_it(superheard, name):
    told = superheard("tell", name)
    assert told.exit_code == 1
    assert name in told.stderr and told.stdout == ""


@pytest.mark.parametrize("words", ["", "   \n", b""])
def test_an_empty_note_is_refused(superheard, words):
    told = superheard("tell", "-", input=words)
    assert (told.exit_code, told.stdout) == (1, "")
    assert told.stderr.startswith("Error: ")


def test_one_bad_note_among_several_does_not_stop_the_others(superheard, tmp_path):
    (tmp_path / "bad.wav").write_bytes(b"RIFF, but no sound")
    told = superheard("tell", HEAD, str(tmp_path / "bad.wav"), SUCTION, "--job", "print-shop", "--json")
    assert told.exit_code == 1
    assert "bad.wav" in told.stderr
    assert len(json.loads(told.stdout)) == 2


@pytest.mark.parametrize("date", ["12.5.2026", "2026-13-01", "soon"])
def test_a_date_that_is_none_is_a_usage_error(superheard, date):
    told = superheard("tell", HEAD, "--date", date)
    assert told.exit_code == 2
    assert date in told.stderr


def test_what_is_a_recording_and_what_is_words(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("visit.ogg").write_bytes(b"OggS")
    given = tell.what_was_given(["visit.ogg", "head 345", "x" * 5000])
    assert [(each.audio, each.text) for each in given] == [
        (Path("visit.ogg"), None),
        (None, "head 345"),
        (None, "x" * 5000),
    ]


# ---------------------------------------------------------------- ask, log, jobs, reread


def test_a_question_is_answered_from_what_was_told(superheard):
    superheard("tell", HEAD, "--job", "print-shop")
    answer = superheard("ask", "what", "was", "the", "head", "pressure?", "--job", "print-shop")
    assert answer.exit_code == 0
    assert "345" in answer.stdout
    as_json = json.loads(superheard("ask", "what was the head pressure?", "--json").stdout)
    assert set(as_json) == {"say", "value", "unit", "evidence"}


def test_a_job_that_is_not_there_is_an_error_that_names_those_that_are(superheard):
    superheard("tell", HEAD, "--job", "print-shop")
    for command in (("log", "bank"), ("ask", "what is left?", "--job", "bank")):
        asked = superheard(*command)
        assert asked.exit_code == 1
        assert "bank" in asked.stderr and "print-shop" in asked.stderr and asked.stdout == ""


def test_the_log_is_a_page_for_people(superheard):
    superheard("tell", HEAD, "--job", "print-shop", "--date", "2026-05-12")
    page = superheard("log").stdout
    assert "print-shop" in page and "liquid pressure 345 psi" in page
    assert max(map(len, page.splitlines())) <= 80


def test_before_the_first_note_each_command_says_what_to_do(superheard):
    assert "superheard tell" in superheard("jobs").stdout
    assert json.loads(superheard("jobs", "--json").stdout) == []
    assert "tell a note first" in superheard("log").stderr


def test_jobs_are_listed_with_the_one_told_last_first(superheard):
    superheard("tell", HEAD, "--job", "print-shop", "--date", "2026-05-12")
    superheard("tell", SUCTION, "--job", "bakery", "--date", "2026-05-13")
    lines = json.loads(superheard("jobs", "--json").stdout)
    assert [(line["id"], line["first"], line["notes"]) for line in lines] == [
        ("bakery", "2026-05-13", 1),
        ("print-shop", "2026-05-12", 1),
    ]
    page = superheard("jobs").stdout
    assert page.index("bakery") < page.index("print-shop")


def test_a_jobs_name_is_shown_as_it_is(superheard):
    superheard("tell", HEAD, "--job", "unit [bold]2[/]")
    assert "unit [bold]2[/]" in superheard("jobs").stdout
    assert "unit [bold]2[/]" in superheard("log").stdout


def test_reading_everything_again_with_the_same_rules_changes_nothing(superheard):
    superheard("tell", HEAD, "--job", "print-shop")
    before = superheard("log", "--json").stdout
    done = json.loads(superheard("reread", "--json").stdout)
    assert (done["jobs"], done["notes"], done["changed"], done["failed"]) == (1, 1, [], [])
    assert superheard("log", "--json").stdout == before
    assert "No log changed" in superheard("reread").stdout


# ---------------------------------------------------------------- all of them


@pytest.mark.parametrize("command", main.commands)
def test_every_command_has_help_with_an_example(superheard, command):
    page = superheard(command, "--help")
    assert page.exit_code == 0
    assert f"  superheard {command}" in page.stdout


def test_a_bad_option_is_a_usage_error_and_a_bad_environment_an_error(superheard, monkeypatch):
    assert superheard("jobs", "--threads", "many").exit_code == 2
    monkeypatch.setenv("SUPERHEARD_THREADS", "many")
    failed = superheard("jobs")
    assert failed.exit_code == 1
    assert "environment variable SUPERHEARD_THREADS" in failed.stderr


def test_a_store_that_cannot_be_is_one_line_on_stderr(superheard, tmp_path):
    (tmp_path / "home").write_text("a file in the way")
    for command in (("tell", HEAD), ("jobs",), ("log",), ("ask", "what is left?"), ("reread",)):
        failed = superheard(*command)
        assert (failed.exit_code, failed.stdout) == (1, "")
        assert failed.stderr.startswith("Error: ") and failed.stderr.count("\n") == 1


def superheard_process(*arguments: str, **environ: str) -> subprocess.CompletedProcess:
    import os

    command = [sys.executable, "-m", "assistant", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, env={**os.environ, **environ})


def test_a_real_process_prints_json_and_nothing_else(tmp_path):
    told = superheard_process("tell", HEAD, "--json", SUPERHEARD_HOME=str(tmp_path))
    assert told.returncode == 0, told.stderr
    assert values(json.loads(told.stdout)["log"])["liquid_pressure"] == 345.0


def test_help_loads_nothing_that_is_slow():
    script = (
        "import sys; sys.argv = ['superheard', '--help']\n"
        "from assistant.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "slow = {'spacy', 'faster_whisper', 'CoolProp', 'pint', 'sqlite_utils', 'rich', 'numpy', 'scipy', 'av'}\n"
        "print(sorted(slow & set(sys.modules)), file=sys.stderr)"
    )
    shown = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60)
    assert shown.stderr.strip() == "[]"
    assert "Examples" in shown.stdout
