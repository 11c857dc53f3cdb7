"""What is still to be done, by when and after what; and what is done since."""

from datetime import date

import pytest

from assistant import Assistant
from tests.understand.heard import note


@pytest.mark.parametrize(  # told on Tuesday, May 12 2026
    ("said", "what", "due", "waits_on"),
    [
        ("Louver I ordered, it'll be here Friday, I'm cutting it in Monday.", "Louver", "2026-05-18", None),
        ("I'm swapping the wheel Monday, seven a.m., I need it.", "swapping the wheel", "2026-05-18T07:00", None),
        ("They'll move the piano Thursday.", "move the piano", "2026-05-14", None),
        ("Next Tuesday, the nineteenth, I'm changing the belt.", "changing the belt", "2026-05-19", None),
        ("New damper goes in Friday.", "damper goes in", "2026-05-15", None),
        ("She asked me to look in before the fair so put me down for June first.", "look in", "2026-06-01", None),
        ("I'm ordering it tomorrow, soon as the deposit clears.", "ordering it", "2026-05-13", "deposit"),
        ("Painters are up there, so the grilles can't go up till they're out.", "grilles", None, "Painters"),
        ("Tell the office to call the crane people.", "call the crane", None, None),
        ("Cap's on the shelf at the shop, back tomorrow 8 am to put it in.", "put it in", "2026-05-13T08:00", None),
    ],
)  # fmt: skip
def test_work_on_a_coming_day(said, what, due, waits_on):
    tasks = [task for task in note(said).tasks if what in task.what]
    assert [task.due for task in tasks] == [due]
    assert waits_on is None or waits_on in (tasks[0].waits_on or "")


@pytest.mark.parametrize(
    "said",
    ["He has to ask his board.", "She's got to talk to her husband.", "Check valve's stuck.", "Return 63, supply 117."],
)
def test_what_the_other_side_has_to_do_and_names_of_parts_are_no_work(said):
    assert note(said).tasks == ()


def test_a_first_fire_waits_in_other_words_too():
    (task,) = note("New furnace. I'm not lighting anything till the choir has gone home.").tasks
    assert (task.what, task.waits_on) == ("first fire of the furnace", "the choir has gone home")


def test_an_answer_ends_only_the_waiting_for_it():
    first = (
        "Gave the owner a list. Humidifier, six hundred, she'll call me Thursday. "
        "Media cabinet, three ten, that's a yes."
    )
    with Assistant(None) as assistant:
        assistant.tell(text=first, job="manse", date=date(2026, 5, 12))
        waiting = [t["what"] for t in assistant.log("manse")["tasks"] if t["status"] == "open"]
        assert any("Humidifier" in what for what in waiting)
        assistant.tell(text="Owner said yes to the humidifier.", job="manse", date=date(2026, 5, 14))
        waiting = [t["what"] for t in assistant.log("manse")["tasks"] if t["status"] == "open" and "hear" in t["what"]]
    assert waiting == []


@pytest.mark.parametrize(
    "done",
    ["Hood's been moved.", "Took the hood off, it's back where it was.", "The hood is changed now.", "Hung the hood."],
)
def test_what_is_done_since_closes_what_was_open(done):
    with Assistant(None) as assistant:
        assistant.tell(text="I need to move the hood by Friday.", job="bar", date=date(2026, 5, 12))
        assistant.tell(text=done, job="bar", date=date(2026, 5, 15))
        assert [task["status"] for task in assistant.log("bar")["tasks"]] == ["done"]
