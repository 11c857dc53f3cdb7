"""Whether a sentence asks something, with or without the question mark a recogniser leaves out."""

from __future__ import annotations

import re

import pytest

from assistant.converse import is_question
from tests.converse.histories import DIALOGUES, NOTES

ASKED = """
what's my subcool
whats my subcool
what is the superheat
so what's left
okay where was I
how much return am I short
how short am I on the return
and what was it the first day
was that one in range
was the charge in range at the bakery in June
did it pass
so did it pass
did the vacuum hold
did he sign off on the return
when's he coming back
when is the inspector coming
when do I need to be back
who approved the return
what did he fail us on
what'd we get for subcool downstairs
how about subcool upstairs
what about the first visit on the twelfth
what should the rise be
what does the plate call for
how many hours have I got in this one
how long did it hold
is the gas permit posted
is it in range
is that good
are we done
am I in range
do I need a recheck
does it need more charge
can I leave it running
should I add charge
has the owner answered
have I got everything
which one's low
which jobs are still open
why is it provisional
how come it's provisional
read that back
read that back to me
what did I forget
tell me what's left
remind me what the target was
what size flex would fix it
how much for a 45 foot line set 15 included three eighths
meter took 36 seconds on the two foot dial, what's my input
what's saturation at 118 on 410A
anything left to do here
any word from the owner
and upstairs?
subcool?
target superheat, 67 wet bulb, 95 outside?
what time did I start it up
what's it supposed to be
how's the charge look
was the airflow ever measured
did the sheet metal pass
will a fourteen inch do it
would that be enough
where does it stand
compare today with the first day
are the amps okay?
is the airflow okay?
how much came out of the old system
how many feet of flex went in
who am I calling tomorrow
which side is worse
what needs doing
"""
STATED = """
what I did was swap the cap
when I got there it was 95
what's left is the strap
what was wrong was the cap
when he comes back I'll have the strap on
where the lines come through the wall the flare was loose
how I got it to hold was a new flare
which is why I left it alone
which was fine by me
was running twenty minutes
is in the truck
did the collars and the strap
did it already
did that yesterday
have to come back Friday
have the owner sign it tomorrow
had the owner sign it
will be back next Friday
should be ten
could be a leak
can is sweating
do it tomorrow
do the charge on Monday
are done for the day
what a day
whatever they said the return is short
who knows
head's at 342, liquid line 94
it's in range, right?
so that's, what, nineteen of split
the owner said yes to the return
that's what I thought
I don't know what it's supposed to be
remind me to take that bag off tonight
tell the owner I'm late
somebody tell the owner I'm late
give me a minute
read the meter at ten
how the water got in there I can't tell
when it cools off I'll pull it again
what they want is a second return
is what it is
am heading out
does the trick
has been running an hour
would have been fine
any more than that and it floods
compared to yesterday it's better
says ten of subcool on the plate
why I don't know
which one I don't know
Suction ninety two, suction line sixty
scratch that last one
ninety four
Strap's on now.
They're gone. Lit it at twenty past eight, stank for ten minutes.
no wait, that was nine fifty, not nine hundred
"""


@pytest.mark.parametrize("sentence", ASKED.strip().splitlines())
def test_a_spoken_question_is_one_without_its_question_mark(sentence: str):
    assert is_question(sentence)


@pytest.mark.parametrize("sentence", STATED.strip().splitlines())
def test_a_statement_that_opens_like_a_question_is_none(sentence: str):
    assert not is_question(sentence)


@pytest.mark.parametrize("note", NOTES, ids=lambda note: note["id"])
def test_no_sentence_of_a_plain_note_is_a_question(note: dict):
    sentences = re.split(r"(?<=[.?!])\s+", note["text"])
    assert [sentence for sentence in sentences if is_question(sentence)] == []


@pytest.mark.parametrize("say", [turn["say"] for dialogue in DIALOGUES for turn in dialogue["turns"]])
def test_a_turn_of_a_dialogue_is_a_question_where_it_was_written_as_one(say: str):
    assert is_question(say.rstrip("?")) == say.endswith("?")


@pytest.mark.parametrize("silence", ["", "   ", "...", "?"])
def test_silence_asks_nothing(silence: str):
    assert not is_question(silence)
