"""Receivers that fail, and senders that are killed: every event comes, the same each time."""

from __future__ import annotations

import json
import os
import signal
import socket
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from service.store.upkeep import bring_up_to_date
from service.store.webhook_secrets import SqlWebhookSecrets
from service.webhooks.vault import Vault, new_vault_key
from tests.counts import PROPERTY_CASES, QUICK
from tests.faults.conftest import Seen
from tests.faults.running import Running, running
from tests.streams.builders import store_of
from tests.webhooks.receivers import (
    Answering,
    Came,
    Receiver,
    endless,
    hangs,
    receiving,
    says,
    status,
    verified,
)
from tests.webhooks.test_delivering import SECRET, SECRET_ID, delivering_from, put, states

KEY = new_vault_key()
TRY_S = 3.0
KILLS = 1 if PROPERTY_CASES <= QUICK else 4
WATCHER = b"service.watching"


@contextmanager
def stored(folder: Path) -> Iterator[Engine]:
    """A store with a secret in it."""
    address = f"sqlite:///{folder / 'decisions.sqlite3'}"
    bring_up_to_date(address, timeout_s=5)
    with store_of(address) as engine:
        encrypted = Vault([KEY]).closed(SECRET)
        SqlWebhookSecrets(engine).create(SECRET_ID, encrypted=encrypted, at=datetime.now(UTC))
        yield engine


@contextmanager
def sending(folder: Path) -> Iterator[tuple[Running, Engine]]:
    """A service that may send to this machine, and its store with a secret in it."""
    settings = {
        "APPROACH_WEBHOOK_HOSTS": "127.0.0.1",
        "APPROACH_WEBHOOK_KEY": KEY,
        "APPROACH_MOST_WATCHES": "10",
        "APPROACH_WORKERS": "1",
    }
    with stored(folder) as engine, running(folder, **settings) as service:
        yield service, engine


def watcher_of(service: Running) -> int | None:
    """The process that sends."""
    for each in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = each.read_bytes().split(b"\0")
        except OSError:
            continue
        if WATCHER in words and str(service.process.pid).encode() in words:
            return int(each.parent.name)
    return None


def holds(condition: Callable[[], bool], *, within_s: float = 30.0) -> bool:
    until_s = time.monotonic() + within_s
    while not (held := condition()) and time.monotonic() < until_s:
        time.sleep(0.05)
    return held


def bodies(receiver: Receiver) -> dict[str, set[bytes]]:
    """What came of each event."""
    found: dict[str, set[bytes]] = defaultdict(set)
    for each in receiver.came:
        found[json.loads(each.body)["event_id"]].add(each.body)
    return found


BAD: dict[str, Answering] = {
    "fails": status(500),
    "hangs": hangs,
    "lies": says(b"HTTP/1.1 2OO OK\r\nContent-Length: 2\r\n\r\nok"),
    "breaks off": says(b""),
    "redirects": status(307, "Location: http://127.0.0.1:1/"),
    "answers without end": endless(b"", b"HTTP/1.1 100 Continue\r\n\r\n"),
    "drips": endless(b"HTTP/1.1 200 OK", b" ", every_s=0.1),
}


class Turning:
    """A receiver that is bad for a while, then good."""

    def __init__(self, bad: Answering, *, times: int) -> None:
        self.bad, self.left = bad, times

    def __call__(self, connection: socket.socket, came: Came) -> None:
        self.left -= 1
        (status(204) if self.left < 0 else self.bad)(connection, came)


@pytest.mark.fault(
    "webhook receivers that fail, hang, lie, break off, redirect, answer without end, drip",
    "each event comes again with the same id and bytes until it is taken; a good receiver is not"
    " held up",
)
def test_a_bad_receiver_gets_the_same_again_and_holds_up_no_other(
    tmp_path: Path, seen: Seen, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.webhooks.sending.TRY_S", TRY_S)
    with stored(tmp_path) as engine, receiving(status(200)) as good:
        bad = {name: Receiver(Turning(answering, times=1)) for name, answering in BAD.items()}
        for name, receiver in bad.items():
            put(engine, receiver.url, [f"{name} {number}" for number in range(2)])
        put(engine, good.url, [f"good {number}" for number in range(10)])
        begun_s = time.monotonic()
        with delivering_from(engine, key=KEY):
            assert holds(lambda: len(good.came) == 10)
            seen("ten to the good one within", time.monotonic() - begun_s, "s")
            assert time.monotonic() - begun_s < TRY_S
            assert holds(lambda: states(engine) == {"sent": 2 * len(BAD) + 10})
        for name, receiver in bad.items():
            receiver.close()
            assert {len(each) for each in bodies(receiver).values()} == {1}, name
            assert len(receiver.came) == len(bodies(receiver)) + 1 == 3, name
            assert all(verified(each, {f"{SECRET_ID}.1": SECRET}) for each in receiver.came)


@pytest.mark.fault(
    "kill -9 of the process that sends, while it sends",
    "every event comes, the same bytes each time; what was under way is taken over at once",
)
def test_what_a_killed_sender_had_is_sent_by_the_next(tmp_path: Path, seen: Seen) -> None:
    def slowly(connection: socket.socket, came: Came) -> None:
        time.sleep(0.2)
        status(204)(connection, came)

    with sending(tmp_path) as (service, engine), receiving(slowly) as receiver:
        put(engine, receiver.url, [f"e {number}" for number in range(60)])
        for number in range(1, KILLS + 1):
            assert holds(lambda n=number: len(receiver.came) > 8 * n)  # type: ignore[misc]
            sender = watcher_of(service)
            assert sender is not None
            os.kill(sender, signal.SIGKILL)
            killed_s, before = time.monotonic(), len(receiver.came)
            assert holds(lambda b=before: len(receiver.came) > b)  # type: ignore[misc]
            seen("sent again after", time.monotonic() - killed_s, "s")
            assert time.monotonic() - killed_s < 10.0  # a lease has thirty
        assert holds(lambda: states(engine) == {"sent": 60})
        found = bodies(receiver)
        seen("requests for sixty events", len(receiver.came), "")
    assert len(found) == 60
    assert all(len(each) == 1 for each in found.values())
