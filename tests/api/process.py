"""`superheard serve` as a process of its own, for tests and for measures."""

from __future__ import annotations

import re
import signal
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx

ROOT = Path(__file__).parents[2]


class Served:
    """The process, what it says at the start, and a client that trusts its authority."""

    def __init__(self, home: Path, *arguments: str, program: str = "assistant"):
        command = [sys.executable, "-m", program, "serve", "--home", str(home), "--port", "0", *arguments]
        self.process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        self.greeting = ""
        while "Ctrl+C" not in self.greeting:
            line = self.process.stdout.readline()
            assert line, f"it ended before it was ready: {self.greeting}"
            self.greeting += line
        self.url = re.search(r"https?://localhost:\d+", self.greeting)[0]
        self.api = f"{self.url}/api/v1"
        authority = home / "certificate" / "authority.pem"
        trust = ssl.create_default_context(cafile=str(authority)) if authority.exists() else True
        self.http = httpx.Client(base_url=self.api, verify=trust, timeout=30)

    def stop(self, how: signal.Signals) -> int:
        self.process.send_signal(how)
        return self.process.wait(20)


@contextmanager
def served(home: Path, *arguments: str, program: str = "assistant") -> Iterator[Served]:
    """program: the module that is run; `tests.api.stand_in` is the same without a recogniser."""
    server = Served(home, *arguments, program=program)
    try:
        yield server
    finally:
        server.http.close()
        server.process.kill()
        server.process.wait(20)
        server.process.stdout.close()
