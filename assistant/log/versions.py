"""Which state each job's log is in, to see cheaply whether anything about it changed."""

from __future__ import annotations

from assistant.log.store import Store


def versions(store: Store) -> dict[str, str]:
    """Every job with a word that differs whenever its log does, the one told last first; "" before its first note.

    It is the chain of the newest note that was derived: rules, notes, transcripts and corrections are in it. Only as
    good as what has been derived.
    """
    newest = "SELECT job, chain, max(place) FROM derived GROUP BY job"  # SQLite takes `chain` from the row of the max
    sql = f"""
        SELECT job.id, coalesce(derived.chain, '') AS chain FROM job
        LEFT JOIN ({newest}) AS derived ON derived.job = job.id
        LEFT JOIN tally ON tally.job = job.id
        ORDER BY tally.newest DESC, job.opened_at DESC
    """
    return {row["id"]: row["chain"] for row in store.rows(sql)}
