"""Charts: right places, readable at 360 px, words that never meet, something for those who hear them."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from assistant.errors import MissingReadings, NoSuchSystem
from assistant.papers import ducts_svg, svg, trend_points, trend_svg
from tests.founded import unfounded
from tests.papers.telling import day, demo, told

_NS = "{http://www.w3.org/2000/svg}"


def _texts(picture: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(picture).iter(f"{_NS}text"))


def _box(text: ElementTree.Element) -> tuple[float, float, float, float]:
    wide = len(text.text or "") * svg.LETTER
    x, y = float(text.get("x")), float(text.get("y"))
    left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.get("text-anchor")]
    return left, left + wide, y - 10, y + 3


def _meet(one: tuple, other: tuple) -> bool:
    return one[0] < other[1] and other[0] < one[1] and one[2] < other[3] and other[2] < one[3]


TRENDS = ("subcooling", "return_airflow", "vacuum_level", "airflow_per_ton", "suction_pressure", "outdoor_temp")
every_picture = pytest.mark.parametrize("name", ["ducts", *TRENDS])


def drawn(name: str) -> str:
    if name == "ducts":
        return ducts_svg(demo(), "studio")
    return trend_svg(demo(), name, "site" if name == "outdoor_temp" else "studio")


@every_picture
def test_words_stay_in_the_picture_and_never_meet(name: str):
    boxes = [_box(text) for text in _texts(drawn(name))]
    assert len(boxes) > 3
    assert all(left >= 0 and right <= svg.WIDTH for left, right, _, _ in boxes)
    assert not [(a, b) for at, a in enumerate(boxes) for b in boxes[at + 1 :] if _meet(a, b)]


@every_picture
def test_a_picture_has_a_title_a_description_and_two_looks(name: str):
    root = ElementTree.fromstring(drawn(name))
    title, description = root.find(f"{_NS}title"), root.find(f"{_NS}desc")
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert len(description.text) > 20
    assert "prefers-color-scheme:dark" in root.find(f"{_NS}style").text


def _contrast(one: str, other: str) -> float:
    def light(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    bright, dark = sorted((light(one), light(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def test_words_stand_out_in_light_and_dark():
    for colour in (svg.INK, svg.FAINT, svg.NEED):
        assert _contrast(colour, svg.PAPER) >= 4.5
    for name in ("ink", "faint", "need"):
        assert _contrast(svg._DARK[name], "#15181b") >= 4.5


def test_ducts_tell_need_and_have_before_and_after():
    picture = ducts_svg(demo(), "studio")
    description = ElementTree.fromstring(picture).find(f"{_NS}desc").text
    assert description.startswith("Needed: 1,600 cfm (400 cfm a ton for 4 ton).")
    assert "August 19, 2025, can carry 1,000 to 1,603 cfm, measured 1,230 cfm." in description
    assert "August 27, 2025, one 16 in flex return added, can carry 1,769 to 2,746 cfm." in description
    assert "September 4, 2025, can carry 1,769 to 2,746 cfm, measured 1,610 cfm." in description
    assert picture.count("<polygon") == 2 + 1  # two measurements, and the one that explains the sign


def test_the_need_follows_the_target_that_was_said_and_is_unknown_without_a_size():
    history = told(
        (day("2026-05-12"), "Three ton, R-410A. I like three fifty a ton here. Two 14 inch flex returns."),
        (day("2026-05-12"), "Return airflow is 1000 cfm."),
    )
    assert "Needed: 1,050 cfm (350 cfm a ton for 3 ton)." in ducts_svg(history)
    bare = told((day("2026-05-12"), "Return airflow is 1000 cfm through two 14 inch flex returns."))
    picture = ducts_svg(bare)
    assert "How much is needed is not known" in picture and "need-line" not in picture.split("</style>")[1]


def test_a_system_without_ducts_or_name_says_what_is_missing():
    with pytest.raises(MissingReadings):
        ducts_svg(told((day("2026-05-12"), "Suction is 118.")))
    with pytest.raises(NoSuchSystem):
        ducts_svg(demo(), "garage")
    with pytest.raises(NoSuchSystem):
        trend_svg(demo(), "subcooling", "garage")
    with pytest.raises(MissingReadings):
        trend_svg(demo(), "draft_pressure", "studio")


def test_a_trend_has_each_visit_with_the_target_it_was_judged_by():
    points = trend_points(demo(), "subcooling", "studio")
    assert [(p.day, round(p.value, 1), p.target, p.tolerance) for p in points] == [
        ("2025-08-19", 10.6, 10, 3), ("2025-09-04", 10.3, 10, 3),
    ]  # fmt: skip
    weather = trend_points(demo(), "superheat", "upstairs")
    assert [(round(p.target, 1), p.tolerance) for p in weather] == [(13.0, 5)]


def test_replaced_values_are_faint_doubtful_ones_hollow_and_what_was_taken_back_is_not_there():
    points = trend_points(demo(), "vacuum_level", "studio")
    assert [(p.value, p.kind) for p in points] == [(290, "replaced"), (360, "told")]
    assert [p.value for p in trend_points(demo(), "test_pressure", "studio")] == [375]
    odd = told(
        (day("2026-05-12"), "Suction is 118."),
        (day("2026-05-13"), "Suction is 1800."),
        (day("2026-05-14"), "Suction is 122."),
    )
    assert [p.kind for p in trend_points(odd, "suction_pressure")] == ["told", "doubtful", "told"]
    picture = trend_svg(odd, "suction_pressure")
    assert "1,800 psi, doubtful, not used" in picture
    assert picture.count('class="hollow') == 1  # in the legend; off the scale of what is sure
    assert 'class="hollow' in trend_svg(told((day("2026-05-13"), "Suction is 1800.")), "suction_pressure")


def test_a_value_stands_at_its_place_on_the_scale():
    scale = svg.scale_of([1000, 2000], from_zero=True)
    assert scale.x(0) == svg.MARGIN and scale.x(scale.high) == svg.WIDTH - svg.MARGIN
    assert scale.x(1000) - scale.x(0) == pytest.approx(scale.x(2000) - scale.x(1000))
    assert scale.x(10**9) == svg.WIDTH - svg.MARGIN


@pytest.mark.parametrize("values", [[0.0], [5.0, 5.0], [-1e12, 1e12], [1e-9, 2e-9], [0.31, 0.35], [-7.0, -3.0], []])
def test_a_scale_has_a_few_round_ticks_whatever_the_values(values: list[float]):
    for from_zero in (False, True):
        assert 2 <= len(svg.scale_of(values, from_zero=from_zero).ticks()) <= 6


def test_no_number_of_the_charts_words_is_in_no_record():
    derived = {c.value + way * c.plus_minus for log in demo().logs for c in log.calculations for way in (-1, 1)}
    for name in ("ducts", *TRENDS):
        description = ElementTree.fromstring(drawn(name)).find(f"{_NS}desc").text
        assert unfounded(description, demo(), also=derived) == []


def test_hostile_words_are_no_markup():
    history = told((day("2026-05-12"), "Suction is 118."), job="<script>&\"'")
    assert "<script>" not in trend_svg(history, "suction_pressure")
    assert svg.text(0, 0, "<b>&\x00\u202e").count("<") == 2
