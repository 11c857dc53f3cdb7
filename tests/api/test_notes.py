"""Telling notes over HTTP: typed, recorded, with photos; once, whatever is sent twice; and never what it is not."""

from __future__ import annotations

import errno
import io
import time
import uuid

import pytest
from fastapi.testclient import TestClient

from api.app import create_app
from api.headers import FILE_POLICY
from assistant import Assistant
from assistant.errors import RecordingError
from assistant.settings import Settings
from tests.api.conftest import client_of, told
from tests.door.sounds import tone

NOTES = "/api/v1/notes"


def recorded(client: TestClient, raw: bytes, name: str = "note.wav", media_type: str = "audio/wav", **fields):
    return client.post(NOTES, files={"audio": (name, raw, media_type)}, data={"job": "print-shop", **fields})


def heard(client: TestClient, note: str, seconds: float = 10.0) -> dict:
    ends = time.monotonic() + seconds
    while (state := client.get(f"{NOTES}/{note}").json())["state"] in ("waiting", "hearing"):
        assert time.monotonic() < ends, state
        time.sleep(0.01)
    return state


PICTURES = {  # as they begin; nothing here looks further
    "image/jpeg": b"\xff\xd8\xff\xe0" + b"\0" * 500,
    "image/png": b"\x89PNG\r\n\x1a\n" + b"\0" * 500,
    "image/webp": b"RIFF\0\0\0\0WEBP" + b"\0" * 500,
    "image/heic": b"\0\0\0\x18ftypheic" + b"\0" * 500,
}


# ---------------------------------------------------------------- typed


def test_a_typed_note_is_answered_at_once_with_what_it_said(shop):
    accepted = told(shop, "head pressure 345, liquid line 94")
    assert accepted == {**accepted, "job": "print-shop", "new": True, "state": "heard"}
    note = shop.get(f"{NOTES}/{accepted['note']}").json()
    assert note["said"] == "head pressure 345, liquid line 94"
    assert {r["quantity"]: r["value"] for r in note["content"]["readings"]} == {
        "liquid_pressure": 345.0,
        "liquid_line_temp": 94.0,
    }
    assert "345" in note["say"]
    assert note["recorded"] is False


def test_the_same_words_again_change_nothing(shop):
    first = shop.post(NOTES, data={"text": "head pressure 345, liquid line 94", "job": "a"})
    second = shop.post(NOTES, data={"text": "head pressure 345, liquid line 94", "job": "a"})
    assert (first.status_code, second.status_code) == (201, 200)
    assert second.json() == {**first.json(), "new": False}


def test_the_same_id_again_is_the_same_note_and_with_other_words_a_conflict(shop):
    sent = {"text": "94", "job": "a", "client_id": str(uuid.uuid4())}
    first, second = shop.post(NOTES, data=sent), shop.post(NOTES, data=sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json()["note"] == second.json()["note"]
    other = shop.post(NOTES, data={**sent, "text": "95"})
    assert other.status_code == 409
    assert other.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"text": ""},
        {"text": "   "},
        {"text": "x" * 50_001},
        {"text": "x", "date": "yesterday"},
        {"text": "x", "date": "0001-01-01"},
        {"text": "x", "job": "///"},
        {"text": "x", "job": "a" * 201},
        {"text": "x", "job": "a\x1b[31m"},
        {"text": "x", "client_id": "7"},
    ],
)
def test_what_is_no_note_is_refused_with_the_reason_and_nothing_is_kept(shop, fields):
    answer = shop.post(NOTES, data=fields)
    assert answer.status_code == 422
    assert answer.json()["detail"]
    assert shop.get("/api/v1/jobs").json() == []


def test_each_person_has_a_current_job_of_their_own(net):
    net.client.post(NOTES, data={"text": "head 345", "job": "bakery"}, headers=net.tech)
    net.client.post(NOTES, data={"text": "head 351", "job": "print-shop"}, headers=net.office)
    assert net.client.post(NOTES, data={"text": "suction 118"}, headers=net.tech).json()["job"] == "bakery"
    assert net.client.post(NOTES, data={"text": "suction 121"}, headers=net.office).json()["job"] == "print-shop"


EVIL = [
    "'; DROP TABLE note; --",
    "{{ 7 * 7 }}{% for x in ().__class__.__base__.__subclasses__() %}",
    "${7*7}<script>alert(1)</script>",
    "../../../../etc/passwd",
    "%00%2e%2e%2f",
    '"; rm -rf / #',
]


@pytest.mark.parametrize("words", EVIL)
def test_words_are_only_ever_words(shop, words):
    note = told(shop, words, job="evil " + words.replace("\x00", ""))
    assert shop.get(f"{NOTES}/{note['note']}").json()["said"] == words
    log = shop.get("/api/v1/jobs/" + shop.get("/api/v1/jobs").json()[0]["key"] + "/log")
    assert log.json()["job"]["id"] == " ".join(("evil " + words).split())
    for path, params in (
        ("/api/v1/search", {"words": words}),
        ("/api/v1/search", {"words": "x", "system": words, "finding": words}),
        (
            f"/api/v1/jobs/{log.json()['job']['id'].replace('/', '-')[:50]}/trend.svg",
            {"quantity": words, "system": words},
        ),
    ):
        answer = shop.get(path, params=params)
        assert answer.status_code in (200, 404, 409, 422), answer.text
        assert "49" not in answer.text
    assert shop.post("/api/v1/ask", json={"question": words, "job": None}).status_code == 200
    for page in ("/office", "/office/search", "/ask"):
        shown = shop.get(page, params={"words": words, "question": words})
        assert shown.status_code == 200
        assert "<script>alert" not in shown.text
        assert "{{ 49" not in shown.text
    assert shop.get(f"{NOTES}/{note['note']}").status_code == 200  # the table is still there


@pytest.mark.parametrize(
    "path",
    [
        "/api/v1/notes/..%2f..%2fsuperheard.db",
        "/api/v1/notes/../../superheard.db",
        "/api/v1/notes/%2e%2e/recording",
        "/api/v1/photos/..%2f..%2fserver.db",
        "/api/v1/photos/" + "0" * 63 + "%00",
        "/api/v1/jobs/..%2f..%2fsuperheard.db/log",
        "/api/v1/jobs/%2e%2e/log.csv",
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e/%2e%2e/pyproject.toml",
        "/static/....//app.py",
    ],
)
def test_no_path_leads_out_of_where_it_is(shop, path):
    answer = shop.get(path)
    assert answer.status_code in (404, 422)
    assert "SQLite" not in answer.text
    assert "create_app" not in answer.text


# ---------------------------------------------------------------- recorded


def test_a_recording_is_on_the_disk_when_it_is_acknowledged_and_heard_in_its_turn(shop, assistant, slow_ears):
    slow_ears.go_on.clear()
    answer = recorded(shop, tone(440), client_id=str(uuid.uuid4()))
    assert answer.status_code == 201
    assert answer.json()["state"] == "waiting"
    note = answer.json()["note"]
    assert assistant.recording_file(note).read_bytes() == tone(440)
    assert assistant.waiting() == [note]
    assert shop.get(f"{NOTES}/{note}").json()["said"] is None
    slow_ears.go_on.set()
    state = heard(shop, note)
    assert state["said"] == slow_ears.says
    assert state["content"]["readings"][0]["value"] == 345.0
    assert state["recorded"] is True


def test_pages_and_answers_do_not_wait_for_what_is_being_heard(shop, slow_ears):
    told(shop, "suction 118, head 345")
    slow_ears.go_on.clear()
    note = recorded(shop, tone(440)).json()["note"]
    assert slow_ears.listening.wait(5)
    for path in (
        "/api/v1/jobs",
        "/api/v1/jobs/print-shop/log",
        "/",
        "/office",
        "/api/v1/tasks",
        "/api/v1/search?words=head",
    ):
        assert shop.get(path).status_code == 200
    assert told(shop, "liquid line 94")["state"] == "heard"
    assert shop.get(f"{NOTES}/{note}").json()["state"] == "hearing"  # still: its ears give up after a while
    slow_ears.go_on.set()


def test_recordings_are_heard_one_after_another(shop, slow_ears):
    notes = [recorded(shop, tone(300 + 10 * place)).json()["note"] for place in range(5)]
    assert [heard(shop, note)["state"] for note in notes] == ["heard"] * 5
    assert slow_ears.most_at_once == 1


@pytest.mark.parametrize(
    ("raw", "status"),
    [
        (b"", 415),
        (b"just words", 415),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", 415),
        (b"MZ\x90\x00", 415),
        (b"#EXTM3U\nfile:///etc/passwd", 415),
        (b"%PDF-1.7", 415),
        (b"RIFF\x24\x00\x00\x00WAVE" + b"\0" * 100, 422),
        (b"OggS" + b"\xff" * 500, 422),
        (b"ID3" + b"\0" * 500, 422),
        (b"\x1aE\xdf\xa3" + b"\0" * 500, 422),
        (tone(440)[:-16_000], 422),
    ],
)
def test_what_is_no_sound_is_refused_whatever_type_is_written_on_it(shop, raw, status):
    answer = recorded(shop, raw)
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert shop.get("/api/v1/jobs").json() == []


def test_a_recording_that_cannot_be_heard_fails_with_the_reason_and_the_next_is_heard(shop, slow_ears):
    slow_ears.fails = RecordingError("It is damaged.")
    bad = recorded(shop, tone(440)).json()["note"]
    assert heard(shop, bad) == {**heard(shop, bad), "state": "failed", "reason": "It is damaged."}
    slow_ears.fails = None
    assert heard(shop, recorded(shop, tone(450)).json()["note"])["state"] == "heard"
    again = shop.post(f"{NOTES}/{bad}/hear")
    assert again.status_code == 202
    assert heard(shop, bad)["state"] == "heard"


def test_the_recording_comes_back_as_it_was_sent_and_from_any_second(shop, slow_ears):
    note = recorded(shop, tone(440), name="../../evil.html", media_type="text/html").json()["note"]
    whole = shop.get(f"{NOTES}/{note}/recording")
    assert whole.content == tone(440)
    assert whole.headers["content-type"] == "audio/wav"
    assert whole.headers["content-disposition"] == f'inline; filename="note-{note}.wav"'
    assert whole.headers["content-security-policy"] == FILE_POLICY
    piece = shop.get(f"{NOTES}/{note}/recording", headers={"range": "bytes=1000-1999"})
    assert piece.status_code == 206
    assert piece.content == tone(440)[1000:2000]
    assert shop.get(f"{NOTES}/{note}/recording", headers={"range": "bytes=999999-"}).status_code == 416


def test_a_recording_that_was_deleted_by_hand_is_not_found_and_its_words_stay(shop, assistant, slow_ears):
    note = recorded(shop, tone(440)).json()["note"]
    heard(shop, note)
    assistant.recording_file(note).unlink()
    assert shop.get(f"{NOTES}/{note}/recording").status_code == 404
    assert shop.get(f"{NOTES}/{note}").json()["said"] == slow_ears.says


def test_a_typed_note_has_nothing_to_play(shop):
    assert shop.get(f"{NOTES}/{told(shop, 'head 345')['note']}/recording").status_code == 404


def test_the_words_are_had_with_their_times(shop, slow_ears):
    note = recorded(shop, tone(440)).json()["note"]
    heard(shop, note)
    words = shop.get(f"{NOTES}/{note}/transcript").json()["words"]
    assert [word["text"] for word in words] == slow_ears.says.split()
    assert words[1]["start_s"] == 0.5


def test_a_full_disk_is_told_as_something_that_passes_and_not_as_a_bad_note(shop, monkeypatch):
    class Full(io.BytesIO):
        def write(self, _):
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("starlette.formparsers.SpooledTemporaryFile", lambda **_: Full())
    answer = recorded(shop, tone(440))
    assert answer.status_code == 503
    assert answer.headers["retry-after"]


# ---------------------------------------------------------------- photos


@pytest.mark.parametrize("media_type", PICTURES)
def test_a_photo_is_kept_and_shown_as_what_it_is(shop, media_type):
    note, raw = told(shop, "head 345")["note"], PICTURES[media_type]
    kept = shop.post(f"{NOTES}/{note}/photos", files={"photo": ("plate.html", raw, "text/html")})
    assert kept.status_code == 201
    assert kept.json()["media_type"] == media_type
    photo = shop.get(f"/api/v1/photos/{kept.json()['sha256']}")
    assert photo.content == raw
    assert photo.headers["content-type"] == media_type
    shown = "attachment" if media_type == "image/heic" else "inline"
    assert photo.headers["content-disposition"].startswith(f'{shown}; filename="photo-')
    assert photo.headers["x-content-type-options"] == "nosniff"
    assert photo.headers["content-security-policy"] == FILE_POLICY


@pytest.mark.parametrize(
    "raw",
    [b"", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", b"<html>", b"GIF89a", tone(440)],
)
def test_what_is_no_photo_is_refused(shop, raw):
    note = told(shop, "head 345")["note"]
    answer = shop.post(f"{NOTES}/{note}/photos", files={"photo": ("plate.jpg", raw, "image/jpeg")})
    assert answer.status_code == 415


def test_a_photo_larger_than_the_setting_is_refused():
    with Assistant() as assistant, client_of(create_app(Settings(max_photo_mb=0.1), assistant)) as client:
        note = told(client, "head 345")["note"]
        answer = client.post(f"{NOTES}/{note}/photos", files={"photo": ("p.jpg", b"\xff\xd8\xff" + b"x" * 200_000)})
    assert answer.status_code == 413


def test_a_photo_of_no_note_and_a_photo_that_is_none_are_not_found(shop):
    assert (
        shop.post(f"{NOTES}/{'0' * 12}/photos", files={"photo": ("p.jpg", PICTURES["image/jpeg"])}).status_code == 404
    )
    assert shop.get("/api/v1/photos/" + "0" * 64).status_code == 404
