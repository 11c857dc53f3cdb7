"""Records in a few written words each, for the page a job's log is printed on."""

from __future__ import annotations

from datetime import date

from assistant.converse.speech import amount as spoken_amount
from assistant.converse.speech import day
from assistant.records import Agreement, Calculation, DuctRun, Equipment, Event, Labour, Material, Reading, Task
from assistant.units import quantities

_UNIT = {
    "degF": "°F",
    "delta_degF": "°F",
    "percent": "%",
    "ratio": "",
    "cfm/ton": "cfm a ton",
    "microfarad": "µF",
    "microampere": "µA",
    "in2": "sq in",
    "inH2O per 100 ft": "inH2O a 100 ft",
}
_DIGITS = {"cfm": 0, "cfm/ton": 0, "Btu/h": 0, "micron": 0, "ppm": 0}  # after the point; others 2 at most
_METERING = {"txv": "TXV", "eev": "EEV", "fixed_orifice": "fixed orifice", "capillary": "capillary tube"}
_ROLE = {"measured": "", "target": "target ", "rated": "rated ", "estimated": "about "}
_STATUS = {"current": "", "superseded": "later replaced", "retracted": "taken back"}
_DOUBT = {
    "value_implausible": "nobody measures that",
    "unit_mismatch": "the unit does not fit",
    "value_conflict": "two values disagree",
    "misheard": "perhaps heard wrong, please say it again",
}


def value(number: float, unit: str) -> str:
    """ "338 psi", "9.7 °F", "3/8 inch", "0.938 lb (15 oz)"; with the digits the unit deserves."""
    if unit in ("in", "lb"):
        return spoken_amount(number, unit)
    return f"{_number(number, unit)} {_UNIT.get(unit, unit)}".strip()


def amount(record: Calculation) -> str:
    """ "9.7 ± 1.2 °F"."""
    doubt = f" ± {_number(record.plus_minus, record.unit)}" if record.plus_minus else ""
    return f"{_number(record.value, record.unit)}{doubt} {_UNIT.get(record.unit, record.unit)}".strip()


def _number(number: float, unit: str) -> str:
    digits = _DIGITS.get(unit, 1 if unit.endswith("degF") else 3)
    text = f"{number:,.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def title(name: str, qualifier: str | None = None) -> str:
    """A quantity or calculation as it is written for people: "liquid pressure", "capacitance (fan)"."""
    listed = quantities().get(name)
    part = f" ({qualifier.replace('_', ' ')})" if qualifier else ""
    return (listed.title if listed else name.replace("_", " ")) + part


def reading(record: Reading, with_system: bool) -> str:
    """ "liquid pressure 338 psi", "upstairs: target subcooling 10 °F (taken back)"."""
    if record.low is not None and record.high is not None:
        shown = f"{_number(record.low, record.unit)} to {value(record.high, record.unit)}"
    else:
        shown = value(record.value, record.unit)
    where = f"{record.system}: " if with_system and record.system not in ("main", "site") else ""
    return f"{where}{_ROLE.get(record.role, '')}{title(record.quantity, record.qualifier)} {shown}"


def standing(record: Reading) -> str:
    """What became of a reading, where it is not simply in force."""
    if mark := record.correction:
        done = {"correct": "corrected", "confirm": "confirmed", "discard": "discarded"}[mark.action]
        heard = f", heard as {value(mark.was, mark.was_unit)}" if mark.action == "correct" else ""
        later = "" if mark.action == "discard" else _STATUS.get(record.status, record.status)
        return f"{done} by {mark.by}{heard}" + (f", {later}" if later else "")
    if record.status == "doubtful":
        return f"DOUBTFUL: {_DOUBT.get(record.doubt or '', 'please say it again')}"
    return _STATUS.get(record.status, record.status)


def moment(record: Reading) -> str:
    """Where in the recording it was said, "1:04"; "typed" where there is none."""
    if record.start_s is None:
        return "typed"
    minutes, seconds = divmod(int(record.start_s), 60)
    return f"{minutes}:{seconds:02d}"


def equipment(record: Equipment) -> str:
    """ "4 ton, heat pump, R-410A, TXV"."""
    size = f"{record.cooling_capacity:g} ton" if record.cooling_capacity else ""
    plate = [f"{name} {text}" for name, text in (("model", record.model), ("serial", record.serial)) if text]
    device = _METERING.get(record.metering_device or "", record.metering_device)
    parts = (size, record.kind, record.refrigerant, device, *plate)
    return ", ".join(part for part in parts if part)


def duct_run(record: DuctRun) -> str:
    """ "2 supply runs of 12 in round flex, 18 ft, 900 cfm together, proposed"."""
    size = " x ".join(f"{side:g}" for side in record.size_in)
    shape = "rectangular" if record.shape == "rect" else record.shape
    what = " ".join(each for each in (f"{size} in" if size else "", shape, record.material) if each)
    parts = [f"{record.count} {record.side} {'run' if record.count == 1 else 'runs'} of {what}"]
    if record.length_ft:
        parts.append(f"{record.length_ft:g} ft")
    if record.airflow_cfm:
        parts.append(f"{record.airflow_cfm:,.0f} cfm{' together' if record.count > 1 else ''}")
    return ", ".join([*parts, record.status])


def event(record: Event) -> str:
    """ "gas permit: posted", "part replaced: contactor, May 12 at 2 pm"."""
    what = " ".join(each for each in (record.trade, record.kind) if each).replace("_", " ")
    said = ", ".join(each for each in (record.what, record.outcome, day(record.when)) if each)
    return f"{what}: {said}" if said else what


def task(record: Task) -> str:
    """ "recheck the charge (due May 20; waits on the return)"."""
    facts = []
    if record.due:
        facts.append(f"due {day(record.due)}")
    if record.waits_on:
        facts.append(f"waits on {record.waits_on}")
    if record.who:
        facts.append(record.who)
    if record.origin == "inferred":
        facts.append("follows from the readings")
    return record.what + (f" ({'; '.join(facts)})" if facts else "")


def agreement(record: Agreement) -> str:
    """ "one more return: approved by owner, 1,150.00"."""
    price = f", {record.price:,.2f}" if record.price is not None else ""
    when = f", {day(record.when)}" if record.when else ""
    return f"{record.scope}: {record.status}, {record.by}{price}{when}"


def material(record: Material) -> str:
    quantity = f"{record.quantity:g}" if record.unit == "ea" else value(record.quantity, record.unit)
    price = f", {record.price:,.2f}" if record.price is not None else ""
    return f"{quantity} {record.item}, {record.status}{price}"


def labour(record: Labour) -> str:
    """ "3.5 h: return duct"."""
    spent = [f"{record.hours:g} h" if record.hours else "", f"{record.days:g} days" if record.days else ""]
    people = f"{record.people} people" if record.people else ""
    told = ", ".join(each for each in (*spent, people) if each)
    return f"{told}: {record.what}" if record.what and told else told or record.what


def days(first: str, last: str) -> str:
    """ "May 12, 2026", "May 12 to May 20, 2026"."""
    begin, end = date.fromisoformat(first), date.fromisoformat(last)
    if begin == end:
        return f"{day(last)}, {end.year}"
    year = f", {begin.year}" if begin.year != end.year else ""
    return f"{day(first)}{year} to {day(last)}, {end.year}"
