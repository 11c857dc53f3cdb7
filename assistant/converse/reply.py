"""What the assistant says after a note: what it heard, what matters most, and its one best question."""

from __future__ import annotations

from assistant.converse.asking import charge_quantity, system_name
from assistant.converse.judged import provisional_because
from assistant.converse.plant import run_text
from assistant.converse.speech import amount, briefly, day, joined, listed, number, spoken, weekday
from assistant.converse.vocabulary import asked, findings, rank_of, short, title
from assistant.records import Agreement, Concern, Event, JobLog, Note, Reading, Retraction, Task, Verdict

# Values whose number speaks for itself once the name is said; the rest keep their unit.
_NO_UNIT = frozenset({"psi", "degF", "delta_degF"})
_STATUS = {"in_range": "in range", "low": "low", "high": "high", "pass": "passed", "fail": "failed"}
_GRAVE = ("stop", "attention")


def reply(note: Note, before: JobLog, after: JobLog) -> str:
    """The spoken answer to one note, at most four short sentences.

    note    what was just told; before, after: the job's whole log without and with it

    The values heard stand first, so that a mishearing is caught at once. A stop stands before everything.
    Only values that were said or worked out are spoken.
    """
    stop = _new_stop(before, after)
    heard = _heard(note, before)
    matter = "" if stop else _matter(note, before, after)
    doubt = _doubts(note)
    kept = "" if heard or doubt else _kept(note)
    question = "" if doubt else _question(note, after, before)
    return joined(stop, heard, doubt, kept, matter, question) or joined(_NOTHING)


_NOTHING = "I have that"
_NOTHING_HEARD = "I heard nobody speak in that, so nothing is written down"


# ---------------------------------------------------------------- the values heard


def _heard(note: Note, before: JobLog) -> str:
    """ "Scratched the suction line, 56. Head 342, target subcool 10"."""
    current = [r for r in note.readings if r.status in ("current", "superseded")]
    replaced = {r.quantity for r in current}
    # A slip mended in the same breath need not be told: the value that stands is read back.
    gone = [r for r in _taken_back(note, before) if r.note != note.id or r.quantity not in replaced]
    scratched = f"Scratched the {listed(_value(r, short(r.quantity)) for r in gone)}" if gone else ""
    plant = _plant(note)
    runs = listed(run_text(run) for run in note.duct_runs) if current else ""
    replaced = {r.quantity for r in current}
    # A slip mended in the same breath need not be told twice: the value that stands is read back.
    return joined(scratched, ", ".join(part for part in (plant, _values(current), runs) if part))


def _plant(note: Note) -> str:
    """Refrigerant and metering device as heard, because every judgement hangs on them."""
    devices = {"txv": "TXV", "eev": "EEV", "fixed_orifice": "fixed orifice", "capillary": "capillary tube"}
    known = [(each.refrigerant, devices.get(each.metering_device or "")) for each in note.equipment]
    return ", ".join(dict.fromkeys(part for pair in known for part in pair if part))


def _taken_back(note: Note, before: JobLog) -> list[Reading]:
    """Readings of earlier notes, and of this one, that the note takes back."""
    earlier = [reading for retraction in note.retractions if (reading := _retracted(retraction, before))]
    return earlier + [r for r in note.readings if r.status == "retracted"]


def _retracted(retraction: Retraction, before: JobLog) -> Reading | None:
    return next(
        (
            r
            for r in before.readings
            if (r.note, r.position, r.quantity) == (retraction.note, retraction.position, retraction.quantity)
        ),
        None,
    )


def _values(readings: list[Reading]) -> str:
    """All values in few words; the system's name once before its values, repeats of one quantity side by side."""
    parts: list[str] = []
    for name in dict.fromkeys(system_name(r.system) for r in readings):
        mine = [r for r in readings if system_name(r.system) == name]
        parts.append((f"{name}: " if name else "") + ", ".join(_of_one_quantity(mine)))
    return "; ".join(parts)


def _of_one_quantity(readings: list[Reading]) -> list[str]:
    groups: dict[tuple[str, str, str | None], list[Reading]] = {}
    for reading in readings:
        groups.setdefault((reading.quantity, reading.role, reading.qualifier), []).append(reading)
    return [_value(group[-1], _name(group[-1])) if len(group) == 1 else _then(group) for group in groups.values()]


def _then(group: list[Reading]) -> str:
    """ "vacuum 310, then 390 microns": values that followed each other in one note."""
    return f"{_name(group[0])} {', then '.join(number(r.value, r.unit) for r in group[:-1])}, then {_figure(group[-1])}"


def _name(reading: Reading) -> str:
    name = short(reading.quantity)
    if reading.quantity == "test_duration":
        return "held"
    if reading.quantity == "meter_time" and reading.qualifier:
        return f"{reading.qualifier.replace('ft3', 'foot')} dial"
    part = f"{reading.qualifier} " if reading.qualifier and reading.quantity == "capacitance" else ""
    role = {"target": "target ", "rated": "rated "}.get(reading.role, "")
    if reading.role == "rated" and asked().get(reading.quantity) and asked()[reading.quantity].role == "rated":
        role = ""
    if reading.quantity in ("cooling_capacity", "target_airflow_per_ton"):
        role = ""
    return f"{role}{part}{name}"


def _value(reading: Reading, name: str) -> str:
    about = "about " if reading.role == "estimated" else ""
    return f"{name} {about}{_figure(reading)}"


def _figure(reading: Reading) -> str:
    if reading.low is not None and reading.high is not None:
        return f"{number(reading.low, reading.unit)} to {number(reading.high, reading.unit)}"
    if reading.unit in _NO_UNIT:
        return number(reading.value, reading.unit)
    if reading.unit == "inH2O":
        return number(reading.value, reading.unit)
    if reading.unit == "lb":
        return _weight(reading)
    if reading.unit == "in":
        return amount(reading.value, "in").split(" (")[0]
    return amount(reading.value, reading.unit)


def _weight(reading: Reading) -> str:
    """Pounds and ounces as they were weighed in."""
    ounces = reading.value * 16
    if abs(ounces - round(ounces)) > 0.02 or abs(reading.value - round(reading.value)) < 1e-6:
        return f"{number(reading.value, 'lb')} lb"
    whole, rest = divmod(round(ounces), 16)
    return f"{whole} lb {rest} oz" if whole else f"{rest} oz"


def _doubts(note: Note) -> str:
    """Values that cannot be right are asked about, never assumed."""
    texts = []
    for reading in note.readings:
        if reading.status != "doubtful":
            continue
        if reading.doubt == "misheard":
            said = amount(reading.value, reading.unit)
            texts.append(f"I heard {said} for the {short(reading.quantity)}. Would you say that again?")
            continue
        why = {
            "unit_mismatch": f"{reading.unit} is no unit for it",
            "value_conflict": "it does not fit what you said before",
        }.get(reading.doubt or "", "that can't be right")
        # The spoken unit is the point of a mismatch; elsewhere the value as it was heard.
        said = amount(reading.value, reading.unit)
        texts.append(f"I heard {said} for the {short(reading.quantity)}, but {why}. What is it?")
    return joined(*texts[:2])


# ---------------------------------------------------------------- what matters most


def _new_stop(before: JobLog, after: JobLog) -> str:
    """The gravest new reason to stop, with its caution."""
    old = {(c.code, c.system, c.text) for c in before.concerns if c.severity == "stop"}
    new = [c for c in after.concerns if c.severity == "stop" and (c.code, c.system, c.text) not in old]
    return joined(f"Stop. {spoken(new[0].text)}", spoken(new[0].caution or "")) if new else ""


def _matter(note: Note, before: JobLog, after: JobLog) -> str:
    """A finding that changed; else a new worry; else nothing."""
    old = {(v.about, v.system): (v.status, v.finding) for v in before.verdicts}
    touched = {r.quantity for r in note.readings}
    changed = [
        v for v in after.verdicts if old.get((v.about, v.system)) != (v.status, v.finding) and v.status != "unknown"
    ]
    again = [
        v
        for v in after.verdicts
        if v not in changed and v not in before.verdicts and v.status != "unknown" and _touches(v, touched)
    ]
    told = [v for v in sorted(changed, key=_rank) + sorted(again, key=_rank) if (v.about, v.status) not in _DULL]
    spoken_of = {r.system for r in note.readings} - {"site"}
    told = [v for v in told if v.system in spoken_of] or told  # the system at hand comes before the others
    bad = next((v for v in told if v.status not in ("in_range", "pass")), None)
    codes = {(c.code, c.system) for c in before.concerns}
    fresh = [
        c for c in after.concerns if (c.code, c.system) not in codes and c.severity in _GRAVE and not _of_a_doubt(c)
    ]
    hurts = [c for c in fresh if c.code in _HURTS and not (bad and c.code in _codes_of(bad))]
    cause = next((c for c in fresh if c.code in _CAUSES), None)
    if cause and (bad is None or bad.about in ("freeze", "superheat")):
        return spoken(cause.text)
    first = _verdict(bad, after) if bad else ""
    passed = [title(v.about) for v in told if v.status == "pass"]
    if len(passed) > 1 and not bad:
        first = f"The {listed(passed)} passed"
    if first or hurts:
        return joined(first, spoken(hurts[0].text) if hurts else "")
    worry = spoken(fresh[0].text) if fresh else ""
    return worry or (_verdict(told[0], after) if told else _so_far(note, after))


def _so_far(note: Note, after: JobLog) -> str:
    """A subcooling or superheat that was just worked out while nothing can judge it yet."""
    touched = {r.quantity for r in note.readings}
    for verdict in after.verdicts:
        needs = asked()[charge_quantity(after, verdict.system)].needs
        if verdict.about == "charge" and verdict.value is not None and touched.intersection(needs):
            name = short(charge_quantity(after, verdict.system))
            where = f"{system_name(verdict.system)} " if system_name(verdict.system) else ""
            return f"{where}{name} {number(verdict.value, 'delta_degF')} so far"
    return ""


# Nobody needs to hear that the coil will not freeze, and a superheat a valve allows is not yet a charge in range.
_DULL = frozenset({("freeze", "in_range"), ("superheat", "in_range")})
# What would explain the pattern is worth more than a finding that only follows from it.
_CAUSES = frozenset(
    {
        "restriction_suspected",
        "non_condensables_suspected",
        "condenser_airflow_suspected",
        "hoses_swapped",
        "leak_suspected",
    }
)
_HURTS = frozenset({"coil_freeze_risk", "smoke_alarm_risk", "combustion_safety", "gas_pressure_off", "draft_low"})


def _codes_of(verdict: Verdict) -> tuple[str, ...]:
    row = findings().get(verdict.about)
    return row.concerns if row else ()


def _touches(verdict: Verdict, quantities: set[str]) -> bool:
    """Whether the note gave a value the verdict rests on."""
    rows = [row for row in asked().values() if row.about == verdict.about]
    return any(row.name in quantities or quantities & set(row.needs) for row in rows)


def _rank(verdict: Verdict) -> int:
    return rank_of(verdict.about)


def _of_a_doubt(concern: Concern) -> bool:
    """Doubts are asked about in their own words."""
    return concern.code in (
        "value_implausible",
        "unit_mismatch",
        "not_understood",
        "value_conflict",
        "charge_unverified",
        "charge_provisional",
    )


def _verdict(verdict: Verdict, log: JobLog) -> str:
    """ "Subcool 11.6, calls for 10, in range"."""
    where = f"{system_name(verdict.system)} " if system_name(verdict.system) else ""
    if verdict.about == "charge" and verdict.value is not None and verdict.target is not None:
        name = short(charge_quantity(log, verdict.system))
        figures = (
            f"{where}{name} {number(verdict.value, 'delta_degF')}, calls for {number(verdict.target, 'delta_degF')}"
        )
        if verdict.status == "provisional":
            finding = f", {_STATUS[verdict.finding]}" if verdict.finding in _STATUS else ""
            return f"{figures}{finding}, but provisional because {provisional_because(log, verdict.system)}"
        return f"{figures}, {_STATUS[verdict.status]}"
    if verdict.status == "provisional":
        return f"The {where}{title(verdict.about)} is provisional: {spoken(verdict.because)}"
    verb = "" if verdict.status in ("pass", "fail") else "is "
    because = f": {spoken(verdict.because)}" if verdict.because else ""
    return f"The {where}{title(verdict.about)} {verb}{_STATUS[verdict.status]}{because}"


# ---------------------------------------------------------------- notes without values


def _kept(note: Note) -> str:
    """What was kept of a note that has no value: event, task, agreement, work, remark."""
    parts = [_event(event) for event in note.events]
    parts += [_task(task) for task in note.tasks]
    parts += [_agreement(agreement) for agreement in note.agreements]
    parts += [run_text(run) for run in note.duct_runs]
    parts += [f"{number(work.hours)} hours" for work in note.labour if work.hours is not None]
    parts += [f"{number(work.days)} days" for work in note.labour if work.days is not None]
    parts += [material.item for material in note.materials]
    parts += [each.kind or "" for each in note.equipment]
    if any(parts):
        kept = list(dict.fromkeys(part for part in parts if part))
        return f"Noted: {'; '.join(kept[:5])}"
    if note.site:
        return f"New job: {note.site}"
    if note.system and note.system != "main" and note.remarks:
        return f"On {system_name(note.system)}"
    if note.remarks:
        return "I wrote that down as you said it"
    return _NOTHING if note.text.strip() else _NOTHING_HEARD


def _event(event: Event) -> str:
    trade = f"{event.trade.replace('_', ' ')} " if event.trade else ""
    name = {"first_fire": "first fire", "part_replaced": "replaced", "failure_found": "found"}.get(
        event.kind, event.kind.replace("_", " ")
    )
    what = f" {event.what}" if event.what else ""
    when = f" {day(event.when)}" if event.when and event.outcome == "scheduled" else ""
    return f"{trade}{name}{what} {event.outcome or ''}{when}".replace("  ", " ").strip()


def _task(task: Task) -> str:
    if task.status != "open":
        return f"{briefly(task.what)}, {task.status}"
    due = f", {weekday(task.due)} {day(task.due)}" if task.due else ""
    waits = f", waiting on {task.waits_on}" if task.waits_on else ""
    return f"to do, {briefly(task.what)}{due}{waits}"


def _agreement(agreement: Agreement) -> str:
    price = f", {number(agreement.price)} dollars" if agreement.price is not None else ""
    return f"{agreement.scope}, {agreement.status}{price}"


# ---------------------------------------------------------------- the one question


def _question(note: Note, after: JobLog, before: JobLog) -> str:
    """The most useful question, of the system just spoken of where there is one; small talk is not met with one."""
    if not after.asks:
        return ""
    spoken_of = {r.system for r in note.readings} - {"site"}
    mine = [ask for ask in after.asks if ask.system in spoken_of]
    best = (mine or after.asks)[0]
    if not note.readings and not note.equipment and not note.retractions and best in before.asks:
        return ""
    where = (
        f"{system_name(best.system)}: "
        if system_name(best.system) and len(after.systems()) > 1 and best.system not in best.text.lower()
        else ""
    )
    return f"{where}{best.text}"
