"""A real service in processes of its own, and what is sent to it byte by byte."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from service.alive import wait_until_ready
from service.keytext import KeyText
from service.settings import ROOT

START_S: Final = 120
ANSWER_S: Final = 60.0
OPENER: Final = urllib.request.build_opener(urllib.request.ProxyHandler({}))


def free_port() -> int:
    """A port of this machine on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What came back, and how long it took."""

    status: int
    content: bytes
    took_s: float
    headers: Mapping[str, str] = field(default_factory=dict)

    def json(self) -> Any:
        """The content read."""
        return json.loads(self.content)


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A service that runs: its port, its first process and what it logs."""

    port: int
    process: subprocess.Popen[bytes]
    log: Path

    @property
    def address(self) -> str:
        """What its addresses begin with."""
        return f"http://127.0.0.1:{self.port}"

    def ask(
        self,
        path: str,
        body: Any = None,
        *,
        headers: Mapping[str, str] | None = None,
        timeout_s: float = ANSWER_S,
    ) -> Answer:
        """Get, or post a value as JSON. Raises: OSError where nothing comes back."""
        content = body if body is None or isinstance(body, bytes) else json.dumps(body).encode()
        named = dict(headers or {})
        if content is not None:
            named.setdefault("Content-Type", "application/json")
        request = urllib.request.Request(f"{self.address}{path}", data=content, headers=named)
        begun_s = time.monotonic()
        try:
            with OPENER.open(request, timeout=timeout_s) as answer:
                return _told(answer, begun_s)
        except urllib.error.HTTPError as error:
            with error:
                return _told(error, begun_s)

    def connected(self, sent: bytes = b"") -> socket.socket:
        """A connection over which some bytes were sent."""
        caller = socket.create_connection(("127.0.0.1", self.port), timeout=ANSWER_S)
        caller.sendall(sent)
        return caller

    def children(self) -> tuple[int, ...]:
        """The processes that the first one has begun."""
        return children_of(self.process.pid)

    def workers(self) -> tuple[int, ...]:
        """Those of them that answer requests: forked, so that they have its command."""
        return tuple(each for each in self.children() if b"gunicorn" in _command(each))

    def stop(self) -> int:
        """End it as an operator does; its exit code."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(60)


def children_of(pid: int) -> tuple[int, ...]:
    """The processes that one has begun, whichever of its threads did."""
    found: list[int] = []
    for each in Path(f"/proc/{pid}/task").glob("*/children"):
        with suppress(OSError):  # it has just ended
            found += map(int, each.read_text().split())
    return tuple(sorted(found))


def _command(pid: int) -> bytes:
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:  # it has just ended
        return b""


def behind_its_door(key: KeyText) -> dict[str, str]:
    """Settings with which each caller must have a key, and one that opens everything."""
    return {
        "ready": "/healthz",
        "APPROACH_BEHIND_PROXY": "yes",
        "APPROACH_HOSTS": "127.0.0.1",
        "APPROACH_REQUESTS_PER_MINUTE": "0",
        "APPROACH_ADMIN_KEY": key.text,
    }


def _told(answer: Any, begun_s: float) -> Answer:
    content = answer.read()
    return Answer(
        status=answer.status,
        content=content,
        took_s=time.monotonic() - begun_s,
        headers=dict(answer.headers.items()),
    )


@contextmanager
def running(
    folder: Path, *, ready: str = "/readyz", module: str = "service", **settings: str
) -> Iterator[Running]:
    """A service with a store in a folder, ready; it is ended however the test ends.

    `ready`: what must be answered; behind its door it answers only `/healthz` to everybody.
    `module`: what is run as a program; the service itself, or it with another clock.
    """
    port, log = free_port(), folder / "log"
    environment = {
        "PATH": os.environ["PATH"],
        "HOME": "",
        "TMPDIR": str(folder),
        "APPROACH_PORT": str(port),
        "APPROACH_STORE": f"sqlite:///{folder / 'decisions.sqlite3'}",
        "APPROACH_STORE_TIMEOUT_S": "2",
        "APPROACH_WORKERS": "2",
        "APPROACH_BATCH_PROCESSES": "1",
        "APPROACH_MOST_WATCHES": "0",  # a process less; who tries watches asks for them
        **settings,
    }
    with log.open("ab") as out:
        process = subprocess.Popen(
            [sys.executable, "-m", module],
            cwd=ROOT,
            env=environment,
            stdout=out,
            stderr=out,
            start_new_session=True,
        )
    try:
        service = Running(port=port, process=process, log=log)
        alive = lambda: process.poll() is None  # noqa: E731 - no longer than its name
        if not wait_until_ready(service.address, seconds=START_S, alive=alive, path=ready):
            raise RuntimeError(log.read_text())
        yield service
    finally:
        if process.poll() is None:
            process.terminate()
        try:
            process.wait(40)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(10)
