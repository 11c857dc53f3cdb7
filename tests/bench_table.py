"""The rows of one table out of what each benchmark tells as JSON, and how the table is written."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

Told = list[dict[str, Any]]  # the JSON documents that a benchmark printed


@dataclass(frozen=True, slots=True)
class Row:
    """One figure, beside its peer's of the same run where there is one."""

    part: str
    what: str
    value: float
    unit: str
    peer: str = ""
    peer_value: float | None = None
    ratio: float | None = None  # how many times as good as the peer's
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    machine: dict[str, Any]
    rows: tuple[Row, ...]
    failed: dict[str, str]  # part, and why there is nothing of it
    took_s: dict[str, float]  # each part, in order
    load_before: dict[str, float]  # of the machine, over the minute before each part

    def plain(self) -> dict[str, Any]:
        return {
            "machine": self.machine,
            "rows": [asdict(row) for row in self.rows],
            "failed": self.failed,
            "took_s": self.took_s,
            "load_before": self.load_before,
        }


def documents(text: str) -> Told:
    """The JSON documents in a text, one after another. Raises ValueError where it holds anything else."""
    read, at, found = json.JSONDecoder(), 0, []
    text = text.strip()
    while at < len(text):
        document, at = read.raw_decode(text, at)
        found.append(document)
        while at < len(text) and text[at].isspace():
            at += 1
    return found


# ---------------------------------------------------------------- each part's rows


def hearing(told: Told) -> Iterator[Row]:
    rows = told[0]["hearing"]
    peers = {(row["model"], row["level"]): [] for row in rows}
    for row in rows:
        if row["who"] != "superheard":
            peers[row["model"], row["level"]].append(row)
    for row in rows:
        if row["who"] != "superheard":
            continue
        level = row["level"] if row["level"] == "quiet" else f"{row['level']} dB"
        what, notes = f"{row['model']}, {level}", f"{row['notes']} notes"
        beside = peers[row["model"], row["level"]] or [None]
        for peer in beside:
            name, speed = (peer["who"], peer["times_real_time"]) if peer else ("", None)
            yield _beside("hearing", f"speed, {what}", row["times_real_time"], "x real time", name, speed, remark=notes)
            f1 = peer["readings_f1"] if peer else None
            beyond = f"{row['beyond']} beyond the gold" + (f", the peer {peer['beyond']}" if peer else "")
            yield Row("hearing", f"readings F1, {what}", row["readings_f1"], "F1", name, f1, None, beyond)
    for name, why in told[0].get("left_out", {}).items():
        yield Row("hearing", f"peers left out: {name}", 1, "peer", remark=why)


def answer(told: Told) -> Iterator[Row]:
    for row in told[0]["answers"]:
        what = f"{row['mode'].replace('_', ' ')}, {row['notes']} notes of {row['speech_s']:.0f} s"
        yield Row("answer", f"after the last word, {what}", row["to_answer"], "s, median")
        yield Row("answer", f"the longest, {what}", row["longest"], "s")
        yield Row("answer", f"processor, {what}", row["processor"], "s a second of note")
    for row in told[0]["words"]:
        same = "" if row["same"] is None else f", {row['same']} the same as their own recording"
        remark = f"{row['beyond']} beyond the gold{same}"
        yield Row("answer", f"readings F1, {row['who']}, {row['notes']} notes", row["readings_f1"], "F1", remark=remark)


def understanding(told: Told) -> Iterator[Row]:
    for name, of_set in told[0]["sets"].items():
        ours, peer = of_set["ours"], of_set.get("quantulum3", {})
        who, notes = ("quantulum3" if peer else ""), f"{of_set['notes']} notes"
        for measure, unit in (("notes_per_second", "notes/s"), ("recall", "share"), ("precision", "share")):
            what = f"{measure.replace('_', ' ')}, {name}, {notes}"
            yield _beside("understanding", what, ours[measure], unit, who, peer.get(measure))
    for length, cost in told[0]["ms_per_100_words"].items():
        yield Row("understanding", f"100 words of a note of {length}", cost, "ms")


def saturation(told: Told) -> Iterator[Row]:
    for row in told[0]["differences"]:
        what = f"largest difference, {row['refrigerant']} {row['line']}"
        yield Row("saturation", what, row["largest_degF"], "degF", remark="from PropsSI")
    for row in told[0]["speed"]:
        what = f"{row['refrigerant']}, {row['pressures']} pressure(s)"
        yield _beside(
            "saturation", what, row["table_us"], "us each", "PropsSI", row["coolprop_us"], less_is_better=True
        )


def store(told: Told) -> Iterator[Row]:
    """Whatever the store's benchmark tells: every figure, under the size of store it was taken on."""
    for document in told:
        size = f"{document['notes']} notes: " if "notes" in document else ""
        for name, value in _figures(document):
            if name == "notes":
                continue
            what, _, unit = name.rpartition("_") if name.endswith(("_ms", "_s")) else (name, "", "")
            if isinstance(value, list):
                middle, most = value[0], value[-1]
                yield Row("store", f"{size}{what}", middle, f"{unit}, median", remark=f"19 of 20 within {most:g}")
            else:
                yield Row("store", f"{size}{what}", value, unit)


def startup(told: Told) -> Iterator[Row]:
    rows = told[0]["startup"]
    for row in rows:
        remark = f"{row['least_s']:g} to {row['most_s']:g} in {row['runs']} runs"
        yield Row("start-up", row["what"], row["processor_s"], "s of processor", remark=remark)


def scaling(told: Told) -> Iterator[Row]:
    one, two = told[0]["scaling"]
    what = f"{two['notes']} notes, 2 workers beside 1"
    remark = f"median of {two['runs']}; others kept {one['others_cores']:g} / {two['others_cores']:g} cores busy"
    yield _beside(
        "scaling", what, two["elapsed_s"], "s", "1 worker", one["elapsed_s"], less_is_better=True, remark=remark
    )


ROWS: dict[str, Callable[[Told], Iterable[Row]]] = {
    "hearing": hearing,
    "answer": answer,
    "understanding": understanding,
    "saturation": saturation,
    "store": store,
    "start-up": startup,
    "scaling": scaling,
}


def _beside(
    part: str,
    what: str,
    value: float,
    unit: str,
    peer: str,
    peer_value: float | None,
    less_is_better: bool = False,
    remark: str = "",
) -> Row:
    ratio = None
    if peer_value and value:
        ratio = round(peer_value / value if less_is_better else value / peer_value, 2)
    return Row(part, what, value, unit, peer, peer_value, ratio, remark)


def _figures(told: dict[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Every number, or list of numbers, in a document, by its path; an outer name's unit goes to the end."""
    for name, value in told.items():
        if isinstance(value, dict):
            outer, _, unit = name.rpartition("_") if name.endswith(("_ms", "_s")) else (name, "", "")
            for inner, found in _figures(value):
                yield f"{before}{outer} {inner}" + (f"_{unit}" if unit else ""), found
        elif isinstance(value, (int, float)) or (isinstance(value, list) and _are_numbers(value)):
            yield before + name, value


def _are_numbers(values: list[Any]) -> bool:
    return bool(values) and all(isinstance(value, (int, float)) for value in values)


# ---------------------------------------------------------------- the table


def as_text(table: Table) -> str:
    lines = [", ".join(f"{name} {fact}" for name, fact in table.machine.items()), ""]
    cells = [("part", "what", "here", "unit", "peer", "peer's", "times", "remark")]
    for row in table.rows:
        peer_value = "" if row.peer_value is None else f"{row.peer_value:.4g}"
        ratio = "" if row.ratio is None else f"{row.ratio:g}"
        cells.append((row.part, row.what, f"{row.value:.4g}", row.unit, row.peer, peer_value, ratio, row.remark))
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    for each in cells:
        padded = (
            cell.rjust(width) if place in (2, 5, 6) else cell.ljust(width)
            for place, (cell, width) in enumerate(zip(each, widths, strict=True))
        )
        lines.append("  ".join(padded).rstrip())
    took = (f"{part} {took:.0f} s after a load of {table.load_before[part]:g}" for part, took in table.took_s.items())
    lines += ["", "took: " + ", ".join(took)]
    lines += [f"{part}: nothing, because {why}" for part, why in table.failed.items()]
    return "\n".join(lines) + "\n"


def write(table: Table, folder: Path) -> tuple[Path, Path]:
    """The table as `bench.json` and `bench.txt` in a folder, which is made if need be."""
    folder.mkdir(parents=True, exist_ok=True)
    as_json, text = folder / "bench.json", folder / "bench.txt"
    as_json.write_text(json.dumps(table.plain(), indent=1) + "\n")
    text.write_text(as_text(table))
    return as_json, text
