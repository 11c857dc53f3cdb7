"""The second step of the store: who told a note, what was sent, corrections, photos, searching, and forgetting."""

from __future__ import annotations

COUNTED = "INSERT INTO tally SELECT job, count(*), min(date), max(date), max(seq) FROM note GROUP BY job"
_TOLD = """
ALTER TABLE note ADD COLUMN by TEXT NOT NULL DEFAULT '';       -- who told it; nobody in particular on a command line
ALTER TABLE note ADD COLUMN named INTEGER NOT NULL DEFAULT 1;  -- whether the teller named its job
CREATE TABLE sent (
    client_id TEXT PRIMARY KEY,         -- made by the sender: sent again, it is the same note
    note TEXT NOT NULL REFERENCES note (id),
    content TEXT NOT NULL               -- SHA-256 of what was sent, words or recording
);
CREATE INDEX sent_by_note ON sent (note);
CREATE TABLE correction (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,  -- of several to one reading the newest rules
    note TEXT NOT NULL REFERENCES note (id),
    quantity TEXT NOT NULL,             -- with `said`, which reading of the note is meant
    said TEXT NOT NULL,
    was REAL NOT NULL,                  -- what was heard, in `was_unit`
    was_unit TEXT NOT NULL,
    action TEXT NOT NULL CHECK (action IN ('correct', 'confirm', 'discard')),
    value REAL,                         -- what it is, in `unit`; typed by `by`
    unit TEXT,
    by TEXT NOT NULL CHECK (by <> ''),
    at TEXT NOT NULL,
    CHECK ((action = 'correct') = (value IS NOT NULL)),
    CHECK ((value IS NULL) = (unit IS NULL))
);
CREATE INDEX correction_by_note ON correction (note, seq);
CREATE TABLE attachment (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    note TEXT NOT NULL REFERENCES note (id),
    sha256 TEXT NOT NULL,               -- of the file's bytes; the file is attachments/ab/<sha256>.<suffix>
    suffix TEXT NOT NULL,
    media_type TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    by TEXT NOT NULL,
    at TEXT NOT NULL,
    UNIQUE (note, sha256)
);
CREATE INDEX attachment_by_file ON attachment (sha256);
CREATE INDEX note_by_date ON note (date, seq);
CREATE TABLE unheard (seq INTEGER PRIMARY KEY);  -- of notes with a recording that has no transcript yet
INSERT INTO unheard (seq)
SELECT seq FROM note WHERE text IS NULL AND NOT EXISTS (SELECT 1 FROM transcript WHERE transcript.note = note.id);
CREATE TABLE tally (                    -- a job's notes, counted as they come in
    job TEXT PRIMARY KEY REFERENCES job (id),
    notes INTEGER NOT NULL,
    first TEXT NOT NULL,                -- ISO dates of the first and the last visit
    last TEXT NOT NULL,
    newest INTEGER NOT NULL             -- seq of the note told last
);
COUNTED;
CREATE TRIGGER note_is_counted AFTER INSERT ON note
BEGIN
    INSERT INTO tally VALUES (NEW.job, 1, NEW.date, NEW.date, NEW.seq)
    ON CONFLICT (job) DO UPDATE SET notes = notes + 1, first = min(first, excluded.first),
        last = max(last, excluded.last), newest = max(newest, excluded.newest);
END;
CREATE TRIGGER recording_is_told AFTER INSERT ON note WHEN NEW.text IS NULL
BEGIN INSERT INTO unheard (seq) VALUES (NEW.seq); END;
"""

_FORGOTTEN = """
CREATE TABLE forgotten (                -- that a job was deleted; not what was in it
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    salt TEXT NOT NULL,
    key_hash TEXT NOT NULL,             -- of salt and the job's key: it can be asked for by name, and not be read
    by TEXT NOT NULL,
    at TEXT NOT NULL,
    notes INTEGER NOT NULL
);
CREATE TABLE forgetting (               -- jobs that are being deleted; empty but within that one transaction
    job TEXT PRIMARY KEY,
    tombstone INTEGER NOT NULL REFERENCES forgotten (seq)
);
CREATE TABLE expired (                  -- recordings whose file was deleted by age; their transcripts stay
    sha256 TEXT PRIMARY KEY REFERENCES recording (sha256),
    by TEXT NOT NULL,
    at TEXT NOT NULL
);
CREATE TABLE to_delete (path TEXT PRIMARY KEY);  -- files of what was deleted, within the home, until they are gone
CREATE TABLE not_again (client_id TEXT PRIMARY KEY);  -- of notes that were deleted: not to be told anew
CREATE TRIGGER forgetting_takes_a_tombstone BEFORE INSERT ON forgetting
WHEN NEW.tombstone IS NOT (SELECT max(seq) FROM forgotten)
    OR (SELECT notes FROM forgotten WHERE seq = NEW.tombstone) IS NOT (SELECT count(*) FROM note WHERE job = NEW.job)
BEGIN SELECT RAISE(ABORT, 'a job is deleted with a tombstone of its own'); END;
CREATE TRIGGER forgetting_is_whole BEFORE DELETE ON forgetting
WHEN EXISTS (SELECT 1 FROM note WHERE job = OLD.job)
BEGIN SELECT RAISE(ABORT, 'a job is deleted whole'); END;
"""

_DERIVED = """
CREATE TABLE settled (job TEXT PRIMARY KEY, rules TEXT NOT NULL);  -- what is derived of it holds, under those rules
CREATE TABLE mention (job TEXT NOT NULL, note TEXT NOT NULL, system TEXT NOT NULL, PRIMARY KEY (job, note, system));
CREATE INDEX mention_by_note ON mention (note, system);
CREATE INDEX verdict_by_about ON verdict (about, status);
CREATE INDEX concern_by_code ON concern (code);
CREATE TRIGGER correction_is_told AFTER INSERT ON correction
BEGIN DELETE FROM settled WHERE job = (SELECT job FROM note WHERE id = NEW.note); END;
"""

SEARCHED = (  # `said`'s rowid is note.seq
    """CREATE VIRTUAL TABLE said USING fts5 (text, tokenize = "porter unicode61 remove_diacritics 2")""",
    """INSERT INTO said (rowid, text)
SELECT seq, text FROM (
    SELECT note.seq, coalesce(note.text, json_extract(transcript.content, '$.text')) AS text
    FROM note
    LEFT JOIN transcript
        ON transcript.seq = (SELECT max(newest.seq) FROM transcript AS newest WHERE newest.note = note.id)
) WHERE text IS NOT NULL""",
)
_SAID = """
CREATE TRIGGER note_is_told AFTER INSERT ON note WHEN NEW.text IS NOT NULL
BEGIN
    INSERT INTO said (rowid, text) VALUES (NEW.seq, NEW.text);
    DELETE FROM settled WHERE job = NEW.job;
END;
CREATE TRIGGER transcript_is_told AFTER INSERT ON transcript
WHEN NEW.seq = (SELECT max(seq) FROM transcript WHERE note = NEW.note)
BEGIN
    DELETE FROM unheard WHERE seq = (SELECT seq FROM note WHERE id = NEW.note);
    DELETE FROM said WHERE rowid = (SELECT seq FROM note WHERE id = NEW.note);
    INSERT INTO said (rowid, text) SELECT seq, json_extract(NEW.content, '$.text') FROM note WHERE id = NEW.note;
    DELETE FROM settled WHERE job = (SELECT job FROM note WHERE id = NEW.note);
END;
CREATE TRIGGER note_is_gone AFTER DELETE ON note
BEGIN
    DELETE FROM said WHERE rowid = OLD.seq;
    DELETE FROM unheard WHERE seq = OLD.seq;
END;
"""

_NEVER_CHANGED = """
CREATE TRIGGER {table}_is_never_changed BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, 'a {table} is never changed'); END;
"""
_NEVER_REMOVED = """
CREATE TRIGGER {table}_is_never_removed BEFORE DELETE ON {table} WHEN NOT {unless}
BEGIN SELECT RAISE(ABORT, 'a {table} is never removed'); END;
"""
_WITH_ITS_JOB = "EXISTS (SELECT 1 FROM forgetting WHERE job = OLD.job)"
_WITH_ITS_NOTE = "EXISTS (SELECT 1 FROM forgetting JOIN note USING (job) WHERE note.id = OLD.note)"
_WITH_ITS_LAST_NOTE = """(
    EXISTS (SELECT 1 FROM forgetting) AND NOT EXISTS (SELECT 1 FROM note WHERE recording = OLD.sha256)
)"""
_REMOVED_ONLY = {
    "note": _WITH_ITS_JOB,
    "transcript": _WITH_ITS_NOTE,
    "sent": _WITH_ITS_NOTE,
    "correction": _WITH_ITS_NOTE,
    "attachment": _WITH_ITS_NOTE,
    "recording": _WITH_ITS_LAST_NOTE,
    "expired": _WITH_ITS_LAST_NOTE,
    "forgotten": "0",
    "not_again": "0",
}
_SINCE_THE_FIRST = ("recording", "note", "transcript")  # never changed, never removed

SECOND = (
    _TOLD.replace("COUNTED", COUNTED)
    + _FORGOTTEN
    + _DERIVED
    + ";\n".join(SEARCHED)
    + ";\n"
    + _SAID
    + "".join(f"DROP TRIGGER {table}_is_never_removed;\n" for table in _SINCE_THE_FIRST)
    + "".join(_NEVER_CHANGED.format(table=table) for table in _REMOVED_ONLY if table not in _SINCE_THE_FIRST)
    + "".join(_NEVER_REMOVED.format(table=table, unless=unless) for table, unless in _REMOVED_ONLY.items())
)
