"""Who may come in: devices with a token each, and the codes they are paired with.

A token is 256 bits by chance, is shown once and kept only as its SHA-256: long and random, it needs no slow hash.
A code lasts minutes, works once, and after a few wrong guesses none that is open works any more.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from time import monotonic

from api.kept import Kept, now

TECH, OFFICE, CALENDAR = "tech", "office", "calendar"

CODE_MINUTES = 10
_CODE_SIGNS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # none that is taken for another: no 0 and O, no 1, I and L
_CODE_LENGTH = 8  # 31**8, nearly 40 bits
_WRONG_GUESSES = 20  # by everybody together, until every open code is dropped
_SEEN_EVERY = timedelta(hours=1)  # how exactly it is kept when a device was last seen


@dataclass(frozen=True, slots=True)
class Who:
    """Who is asking."""

    name: str  # of the person or device; goes beside what it tells and corrects
    role: str  # tech | office
    device: str | None = None  # None on the machine itself


@dataclass(frozen=True, slots=True)
class Device:
    """One that was paired, or a link to the calendar."""

    id: str
    name: str
    role: str  # tech | office | calendar
    made_at: str  # ISO date-time with zone
    seen_at: str
    revoked_at: str | None = None


class Devices:
    """Every paired device. Looked up in memory, because it is done for each request; kept in the home folder."""

    def __init__(self, kept: Kept, days: int):
        self._kept, self._unseen = kept, timedelta(days=days)
        self._lock = threading.Lock()
        with kept.open() as db:
            rows = list(db.query("SELECT * FROM device WHERE revoked_at IS NULL ORDER BY made_at, id"))
        self._by_hash = {row.pop("token_sha256"): Device(**row) for row in rows}

    def add(self, name: str, role: str) -> tuple[Device, str]:
        """A new device, and its token, which cannot be had again. A name that is taken gets a number behind it."""
        token, at = secrets.token_urlsafe(32), now()
        with self._lock:
            taken = {device.name for device in self._by_hash.values()}
            names = (name, *(f"{name} {number}" for number in range(2, len(taken) + 3)))
            device = Device(secrets.token_hex(8), next(n for n in names if n not in taken), role, at, at)
            with self._kept.open() as db:
                row = (device.id, device.name, role, _hash(token), at, at)
                db.execute("INSERT INTO device VALUES (?, ?, ?, ?, ?, ?, NULL)", row)
            self._by_hash[_hash(token)] = device
        return device, token

    def of_token(self, token: str) -> Device | None:
        """Whose token that is; None for one that is unknown, revoked, or was not seen for too long."""
        key = _hash(token)
        device = self._by_hash.get(key)
        if device is None:
            return None
        unseen = datetime.now().astimezone() - datetime.fromisoformat(device.seen_at)
        if unseen > self._unseen:
            self.revoke(device.id)
            return None
        if unseen > _SEEN_EVERY:
            self._seen(key, device)
        return device

    def _seen(self, key: str, device: Device) -> None:
        at = now()
        with self._lock:
            if key in self._by_hash:  # not revoked in the meantime
                self._by_hash[key] = replace(device, seen_at=at)
                with self._kept.open() as db:
                    db.execute("UPDATE device SET seen_at = ? WHERE id = ?", (at, device.id))

    def listed(self) -> list[Device]:
        """Every device that may come in, the one paired last first."""
        return sorted(self._by_hash.values(), key=lambda device: device.made_at, reverse=True)

    def revoke(self, device: str) -> bool:
        """Let a device in no more, from this moment; False if there is none of that id."""
        with self._lock:
            key = next((key for key, each in self._by_hash.items() if each.id == device), None)
            if key is None:
                return False
            with self._kept.open() as db:
                db.execute("UPDATE device SET revoked_at = ? WHERE id = ?", (now(), device))
            del self._by_hash[key]
        return True


class Codes:
    """The pairing codes that are open. In memory alone: a restart closes them."""

    def __init__(self, clock=monotonic):
        self._clock, self._lock = clock, threading.Lock()
        self._open: dict[str, tuple[str, float]] = {}  # hash of the code → role, and when it ends
        self._wrong = 0

    def make(self, role: str) -> str:
        """A new code that lets one device in with that role: "K7QF-2M9T"."""
        signs = "".join(secrets.choice(_CODE_SIGNS) for _ in range(_CODE_LENGTH))
        with self._lock:
            self._drop_ended()
            self._wrong = 0 if not self._open else self._wrong
            self._open[_hash(signs)] = (role, self._clock() + CODE_MINUTES * 60)
        return f"{signs[:4]}-{signs[4:]}"

    def use(self, code: str) -> str | None:
        """The role a code gives, which is used up by it; None for a wrong, used or ended one."""
        key = _hash("".join(sign for sign in code.upper() if sign.isalnum()))
        with self._lock:
            self._drop_ended()
            role, _ = self._open.pop(key, (None, 0.0))
            if role is None:
                self._wrong += 1
                if self._wrong >= _WRONG_GUESSES:
                    self._open.clear()
            return role

    def _drop_ended(self) -> None:
        self._open = {key: (role, ends) for key, (role, ends) in self._open.items() if ends > self._clock()}


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
