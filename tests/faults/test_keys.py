"""Keys that are guessed, worn out or taken back, at a real server."""

from __future__ import annotations

import os
import time
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from http.client import HTTPConnection
from pathlib import Path

import pytest

from service.clock import utc_now
from service.keytext import KeyText, new_key
from service.scopes import GIVEN
from service.store.access import NewKey, SqlAccess
from service.store.engines import engine_for
from tests.counts import GUESSES, IS_LONG
from tests.faults.conftest import Seen
from tests.faults.running import Running, behind_its_door, running

SEEN_S = 5.0  # a key that is taken back opens nothing any more, in every process
QUICK_S = 2.0
IN_A_ROW = 40  # refusals, then every process has seen it


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Running, KeyText]]:
    key = new_key(os.urandom)
    with running(tmp_path_factory.mktemp("keys"), **behind_its_door(key)) as started:
        yield started, key


@pytest.fixture
def access(closed: tuple[Running, KeyText]) -> Iterator[SqlAccess]:
    """The keys of the store of the service, as the command sees them."""
    service, _ = closed
    store: Path = service.log.parent / "decisions.sqlite3"
    found = SqlAccess(engine_for(f"sqlite:///{store}", timeout_s=5))
    yield found
    found.close()


def bearer(text: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {text}"}


def made(access: SqlAccess, *, seconds: float) -> KeyText:
    """A key that opens for so long."""
    key = new_key(os.urandom)
    kept = NewKey(
        identifier=key.identifier,
        name="a desk",
        scopes=frozenset(GIVEN),
        digest=key.digest,
        expires_at=utc_now() + timedelta(seconds=seconds),
    )
    access.create(kept, by="test", at=utc_now())
    return key


def guesses(right: KeyText) -> Iterator[str]:
    """Keys of the right form, half of them with an identifier that is there."""
    for number in range(GUESSES):
        known = right.identifier if number % 2 else None
        yield new_key(os.urandom, identifier=known).text


@pytest.mark.fault(
    "keys guessed, half of them with an identifier that is there",
    "401 each time, the right one opens meanwhile, the audit log stays small",
)
def test_a_guessed_key_opens_nothing_and_fills_nothing(
    closed: tuple[Running, KeyText], seen: Seen
) -> None:
    service, right = closed
    caller = HTTPConnection("127.0.0.1", service.port, timeout=30)
    statuses: Counter[int] = Counter()
    begun_s = time.monotonic()
    for text in guesses(right):
        caller.request("GET", "/v1/profiles", headers=bearer(text))
        answer = caller.getresponse()
        answer.read()
        statuses[answer.status] += 1
    caller.close()
    took_s = time.monotonic() - begun_s
    answer_of_right = service.ask("/v1/profiles", headers=bearer(right.text))
    audit = service.ask("/v1/audit?limit=1000", headers=bearer(right.text)).json()
    seen("guesses", GUESSES, "")
    seen("a second", GUESSES / took_s, "")
    seen("entries of the audit log", len(audit["events"]), "")
    assert statuses == {401: GUESSES}
    assert answer_of_right.status == 200
    assert answer_of_right.took_s < QUICK_S
    minutes = 1 + took_s // 60.0
    assert len(audit["events"]) <= 2 * 61 * minutes + 3  # two processes, sixty a minute each


@pytest.mark.skipif(
    not IS_LONG, reason="waits for 5 s: the long tier; tests/door has a clock to move"
)
@pytest.mark.fault(
    "a key that expires, and one that is taken back, while they are used",
    "401 from its end, and 5 s after it was taken back at the latest, in every process",
)
def test_a_key_that_ends_opens_nothing_any_more(
    closed: tuple[Running, KeyText], access: SqlAccess, seen: Seen
) -> None:
    service, _ = closed
    short, lasting = made(access, seconds=1.5), made(access, seconds=3600)
    for key in (short, lasting):
        answers = {service.ask("/v1/profiles", headers=bearer(key.text)).status for _ in range(8)}
        assert answers == {200}
    access.revoke(lasting.identifier, by="test", at=utc_now())
    taken_back_s = time.monotonic()
    last_s, refused = taken_back_s, 0
    while refused < IN_A_ROW and time.monotonic() < taken_back_s + SEEN_S + 1.0:
        opened = service.ask("/v1/profiles", headers=bearer(lasting.text)).status == 200
        refused = 0 if opened else refused + 1
        last_s = time.monotonic() if opened else last_s
        time.sleep(0.02)
    assert refused
    seen("opened after it was taken back for", last_s - taken_back_s, "s")
    assert last_s - taken_back_s <= SEEN_S
    answers = {service.ask("/v1/profiles", headers=bearer(short.text)).status for _ in range(8)}
    assert answers == {401}, "it has expired long ago"
