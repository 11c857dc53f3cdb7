"""The one table of all benchmarks: what each part tells becomes rows, and a part that fails keeps its reason."""

from __future__ import annotations

import json
import sys

import pytest
from click.testing import CliRunner

from tests import bench
from tests.bench_table import Row, documents

HEARD = {"model": "base", "level": "10", "notes": 4, "speech_s": 60, "took_s": 7.5}
TOLD = {
    "start-up": [{"startup": [
        {"what": "superheard --help", "processor_s": 0.1, "least_s": 0.09, "most_s": 0.2, "runs": 3},
    ]}],
    "answer": [{
        "answers": [{"mode": "hands_free", "notes": 2, "speech_s": 15.0, "to_end": 1.4, "to_answer": 1.5,
                     "longest": 1.9, "from_end": 0.1, "processor": 0.3}],
        "words": [{"who": "live", "notes": 2, "readings_f1": 0.98, "found": 9, "beyond": 0, "same": 2}],
    }],
    "scaling": [{"scaling": [
        {"workers": 1, "notes": 4, "runs": 1, "elapsed_s": 8.0, "least_s": 8.0, "most_s": 8.0, "others_cores": 0.1},
        {"workers": 2, "notes": 4, "runs": 1, "elapsed_s": 5.0, "least_s": 5.0, "most_s": 5.0, "others_cores": 0.2},
    ]}],
    "hearing": [{
        "hearing": [
            {**HEARD, "who": "superheard", "times_real_time": 8.0, "readings_f1": 0.98, "beyond": 0},
            {**HEARD, "who": "faster-whisper", "times_real_time": 5.0, "readings_f1": 0.91, "beyond": 3},
        ],
        "left_out": {"openai-whisper": "not installed"},
    }],
    "understanding": [{
        "sets": {"corpus": {
            "notes": 48,
            "ours": {"notes_per_second": 800.0, "recall": 0.98, "precision": 0.99},
            "quantulum3": {"notes_per_second": 80.0, "recall": 0.58, "precision": 0.43},
        }},
        "ms_per_100_words": {"100": 2.0},
    }],
    "saturation": [{
        "differences": [{"refrigerant": "R-22", "line": "dew", "largest_degF": 0.0001, "mean_degF": 0.0}],
        "speed": [{"refrigerant": "R-22", "pressures": 20000, "coolprop_us": 7.0, "table_us": 0.1}],
    }],
    "store": [
        {"notes": 1000, "open_ms": [4, 9], "search_ms": {"a rare word": [1.5, 3.25]}, "machine": {"name": "x"}},
        {"rederived_a_second": 250.5},
    ],
}  # fmt: skip


def row(rows: list[Row], *words: str) -> Row:
    (found,) = [each for each in rows if all(word in each.what for word in words)]
    return found


@pytest.fixture
def parts(monkeypatch, tmp_path) -> dict[str, bench.Part]:
    """Every part, with something in the place of its command that tells what it would, and takes no time."""
    commands = {}
    for name, told in TOLD.items():
        file = tmp_path / f"{name}.json"
        file.write_text("\n".join(json.dumps(each, indent=1) for each in told))
        commands[name] = [sys.executable, "-c", f"print(open({str(file)!r}).read())"]
    monkeypatch.setattr(bench.Part, "command", lambda part, quick: list(commands[part.name]))
    return commands


def test_every_part_has_rows_in_both_forms_of_the_table(parts, tmp_path):
    assert parts.keys() == bench.ROWS.keys() == {part.name for part in bench.PARTS}
    done = CliRunner().invoke(bench.main, ["--out", str(tmp_path / "out")])
    assert done.exit_code == 0, done.output
    told = json.loads((tmp_path / "out" / "bench.json").read_text())
    rows = [Row(**each) for each in told["rows"]]
    assert {each.part for each in rows} == parts.keys()
    assert told["failed"] == {} and told["took_s"].keys() == told["load_before"].keys() == parts.keys()
    assert {"cores", "processor", "load before", "python", "commit", "ctranslate2"} <= told["machine"].keys()

    heard = row(rows, "speed", "base", "10 dB")
    assert (heard.value, heard.peer, heard.peer_value, heard.ratio) == (8.0, "faster-whisper", 5.0, 1.6)
    assert row(rows, "readings F1, base").remark == "0 beyond the gold, the peer 3"
    assert row(rows, "openai-whisper").remark == "not installed"
    assert row(rows, "2 workers").ratio == 1.6  # less is better
    assert row(rows, "R-22, 20000").ratio == 70.0
    assert row(rows, "notes per second").ratio == 10.0
    assert row(rows, "after the last word").value == 1.5
    searched = row(rows, "1000 notes", "search", "rare")
    assert (searched.value, searched.unit, searched.remark) == (1.5, "ms, median", "19 of 20 within 3.25")
    assert row(rows, "rederived_a_second").value == 250.5

    text = (tmp_path / "out" / "bench.txt").read_text()
    lines = text.splitlines()
    assert all(any(each.what in line and each.part in line for line in lines) for each in rows)
    assert text in done.output


def test_a_part_that_fails_leaves_its_reason_and_the_others_go_on(parts, tmp_path):
    parts["hearing"] = [sys.executable, "-c", "raise SystemExit('no such model')"]
    parts["store"] = [sys.executable, "-c", "print('not JSON')"]
    done = CliRunner().invoke(bench.main, ["--out", str(tmp_path / "out")])
    assert done.exit_code == 1
    told = json.loads((tmp_path / "out" / "bench.json").read_text())
    assert "no such model" in told["failed"]["hearing"] and "not understood" in told["failed"]["store"]
    assert {each["part"] for each in told["rows"]} == parts.keys() - {"hearing", "store"}
    assert "hearing: nothing, because" in (tmp_path / "out" / "bench.txt").read_text()


def test_only_what_is_asked_for_is_run(parts, tmp_path):
    done = CliRunner().invoke(bench.main, ["--only", "start-up", "--out", str(tmp_path)])
    assert done.exit_code == 0
    assert json.loads((tmp_path / "bench.json").read_text())["took_s"].keys() == {"start-up"}


@pytest.mark.parametrize("part", bench.PARTS, ids=lambda part: part.name)
@pytest.mark.parametrize("quick", [True, False])
def test_each_part_is_a_command_that_takes_what_it_is_given(part, quick):
    module = __import__(part.module, fromlist=["main"])
    options = part.quick if quick else part.full
    module.main.make_context(part.module, ["--json", *options])


def test_documents_one_after_another_are_read_and_nothing_else():
    assert documents('{"a": 1}\n{"b": [2]}\n') == [{"a": 1}, {"b": [2]}]
    with pytest.raises(ValueError):
        documents('{"a": 1} and more')


def test_a_peer_that_took_no_time_gives_no_ratio():
    told = [{"scaling": [{**row, "elapsed_s": 0.0} for row in TOLD["scaling"][0]["scaling"]]}]
    (scaled,) = bench.ROWS["scaling"](told)
    assert scaled.ratio is None
