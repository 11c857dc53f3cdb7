"""START HERE: the whole journey of a note, on one screen.

audio → transcript → statements → job log → calculations → verdicts and concerns → reply or report.
Only hearing and the store touch the world; everything on this page is a pure function of its arguments.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from assistant.compute import Instruments, work_out
from assistant.judge import weigh
from assistant.log.correcting import corrected
from assistant.log.settle import settle, start_job
from assistant.log.tasks import closes_something
from assistant.records import Correction, JobLog, Note, Transcript
from assistant.understand.read import read

__all__ = ["start_job", "take_note"]


def take_note(
    transcript: Transcript,
    note_id: str,
    date: str,
    job: JobLog,
    instruments: Instruments | None = None,
    corrections: Sequence[Correction] = (),
) -> tuple[Note, JobLog]:
    """One note, from its words to its findings. Nothing is saved here; the caller saves what it gets.

    note_id      unique within the store; date is the ISO day of the visit; job is the log before the note.
    instruments  accuracy of the technician's gauges and thermometers; the usual ones unless told.
    corrections  what persons set right in this note, oldest first
    """
    note, done = corrected(read(transcript, note_id, date, job), corrections)
    kept = tuple(task for task in note.tasks if task.status == "open" or closes_something(task, job.tasks))
    note = replace(note, tasks=kept)
    job = settle(replace(job, corrections=job.corrections + done), note)
    job = replace(job, calculations=work_out(job, instruments))
    job = weigh(job)
    note = replace(note, readings=tuple(r for r in job.readings if r.note == note.id))
    return note, job
