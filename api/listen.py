"""The WebSocket that hears a note while it is spoken: /api/v1/listen.

Text messages are JSON objects with a `kind`; binary messages are sound: mono, 16 kHz, 16-bit little-endian whole
samples, at most 64 KiB each (a tenth of a second, 3,200 bytes, is a good size). One `start` is one note, under the
id its client made for it, just as with POST /notes: the same id is the same note and is told once.

The client says

    {"kind": "start", "client_id": "<uuid>", "mode": "hands_free" | "push_to_talk", "rate": 16000,
     "job": "bakery", "date": "2026-03-02", "end_pause_s": 1.0}
                            begins a note, or goes on with it after the connection broke. `job`, `date` and
                            `end_pause_s` (0.4 to 10) may be left out: the current job, today, the server's setting
    <binary>                sound that follows on what was sent before
    {"kind": "done"}        the note is over (push-to-talk let go). Hands-free knows by itself, but may be told too
    {"kind": "speaking"}    the client begins to speak an answer aloud: sound from here on is not listened to
    {"kind": "spoken"}      it is quiet again: sound counts again. What came in between is in no note and in no count
    {"kind": "stop"}        no more notes: what has been said is told as a note, answered, and the connection closed.
                            In hands-free a note in which nobody has spoken yet ends with "nothing"

The server says, each with the `client_id` of the note it is about

    {"kind": "listening", "received": 0, "end_pause_s": 1.0}
                            after each `start`: send on from there. `received` counts the samples of this note that
                            the server holds; more than 0 after a broken connection, or where sound came in between
                            two notes
    {"kind": "speech_began", "at": 8000}
                            somebody speaks; `at` is the note's first sample that is kept, a moment before. What
                            came earlier is silence and is forgotten (hands-free; 0 in push-to-talk)
    {"kind": "heard_so_far", "text": "Suction is 118,"}
                            the words up to the last pause; each replaces the one before. Not final until `answer`
    {"kind": "speech_ended", "samples": 249600, "why": "pause" | "done" | "longest" | "broken" | "nothing"}
                            the note holds the samples before `samples`. Sound after it belongs to the next note:
                            say `start` with a new id (up to 10 s of it is held until then). "longest": a note
                            is at most 10 minutes; go on with the next. "broken": the connection was gone for more
                            than 30 s; what had been received became the note. "nothing": nobody had spoken, there
                            is no note, nothing was written and neither `kept` nor `answer` follows
    {"kind": "kept", "note": "…", "job": "bakery", "date": "2026-03-02", "new": true, "samples": 249600}
                            recording and note are on the disk: the client may forget its own copy of the samples
                            before `samples`. Where it has more, that is to be sent as another note. `new` is false
                            where this note had been told before
    {"kind": "answer", "note": "…", "job": "bakery", "date": "2026-03-02", "said": "Suction is 118, …",
     "say": "Suction 118. …", "aloud": "Suction one eighteen. …"}
                            `said`: the words heard; `say`: the answer to show; `aloud`: the same for a voice, empty
                            where nothing needs saying (in hands-free, sound in which there were no words)
    {"kind": "problem", "problem": "…", "detail": "…", "fatal": false}
                            see PROBLEMS for the names. `fatal`: the connection closes after it. "not_heard" comes in
                            place of `answer`: the note is kept and will be heard later

The order of a note is: listening, speech_began, any number of heard_so_far, speech_ended, kept, answer. The next
note may begin, and be listened to, before the one before is answered.

A connection that breaks in mid-note: the note waits 30 s for a `start` with the same id, from this device, and goes
on where it was, `received` saying where. After that, or at once if the server stops, what was received is kept as
a recording and told as a note; a later `start` with that id is answered with speech_ended ("broken"), kept and
answer. A `start` for a note that was told already gets speech_ended, kept and answer again, and no sound is taken.

Limits: PROBLEMS. A sender faster than its sound can be heard is read more slowly; a client that does not read for
20 s is let go. A socket opened by a page from elsewhere is refused with 403 before it is open.
"""

from __future__ import annotations

from fastapi import APIRouter, WebSocket

from api.deps import Visitor
from api.listening import Connection

PROBLEMS = {
    "not_understood": "A message that is no JSON object of a known kind, with the fields that kind needs.",
    "not_started": "Sound, or `done`, before any `start`. Sound after the end of a note is held for 10 s.",
    "still_open": "A `start` with another id while a note is open: say `done` first.",
    "bad_sound": "A binary message with half a sample, or of more than 64 KiB; or a rate that is not 16000.",
    "elsewhere": "The note with that id is open on another connection, which was closed for this one.",
    "no_such_job": "There is no such job, or no such date.",
    "conflict": "That id was used before for a note that was told in another way, with other content.",
    "not_heard": "The recogniser failed or is missing; the note is kept and will be heard later.",
    "not_kept": "The store cannot be written: the note is NOT kept here. Keep the recording, and send it later.",
    "not_let_in": "The device was revoked in the meantime.",
    "too_many": "As many are listened to as can be, here or from this device. Try again later.",
    "too_slow": "The client does not read what it is sent.",
    "idle": "Neither sound nor a message for 10 minutes.",
}

MOST_OF_ONE = 4  # connections of one paired device

routes = APIRouter()


@routes.websocket("/listen")
async def listen(socket: WebSocket, who: Visitor) -> None:
    """Hear notes while they are spoken. The messages are described at the top of this file."""
    notes, settings = socket.app.state.spoken, socket.app.state.settings
    await socket.accept()
    too_many = who.device is not None and notes.connected[who.device] >= MOST_OF_ONE
    if too_many or notes.connected.total() >= settings.spoken_at_once:
        detail = "As many are listened to as can be. Try again later."
        await socket.send_json({"kind": "problem", "problem": "too_many", "detail": detail, "fatal": True})
        await socket.close(1013)
        return
    notes.connected[who.device] += 1
    try:
        await Connection(socket, who, notes, settings.end_pause_s).run()
    finally:
        notes.connected[who.device] -= 1
