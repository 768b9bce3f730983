"""Events of watches: their numbers, and what is to be sent."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from sqlalchemy import Engine, delete, select

from service.store import StoreDamaged
from service.store.engines import engine_for, reading, writing
from service.store.events import (
    MOST_EVENT_BYTES,
    NewEvent,
    SendFirst,
    Sending,
    Webhook,
    write_events,
)
from service.store.tables import EVENT_HEAD, EVENTS, OUTBOX
from service.store.upkeep import bring_up_to_date
from tests.service.builders import T0

WEBHOOK = Webhook(url="https://receiver.example/here", secret_id="s-1")  # noqa: S106 - a name


@pytest.fixture
def engine(address: str) -> Iterator[Engine]:
    bring_up_to_date(address, timeout_s=5)
    made = engine_for(address, timeout_s=5)
    yield made
    made.dispose()


def event(name: str, *, webhook: Webhook | None = None, body: str = "{}") -> NewEvent:
    return NewEvent(
        event_id=name,
        at=T0,
        watch_id="w-1",
        flight_id="XA 101",
        kind="changed",
        body=body,
        urgency=SendFirst.WORSE,
        webhook=webhook,
    )


def numbers(engine: Engine) -> list[tuple[int, str]]:
    with reading(engine) as connection:
        found = connection.execute(
            select(EVENTS.c.sequence, EVENTS.c.event_id).order_by(EVENTS.c.sequence)
        )
        return [(row[0], row[1]) for row in found]


def test_events_are_numbered_one_after_the_other(engine: Engine) -> None:
    with writing(engine) as connection:
        assert write_events(connection, [event("a"), event("b")]) == 2
    with writing(engine) as connection:
        assert write_events(connection, []) == 2
        assert write_events(connection, [event("c")]) == 3
    assert numbers(engine) == [(1, "a"), (2, "b"), (3, "c")]


def test_numbers_of_a_transaction_that_fails_are_given_again(engine: Engine) -> None:
    def fail() -> None:
        with writing(engine) as connection:
            write_events(connection, [event("lost")])
            raise LookupError

    with pytest.raises(LookupError):
        fail()
    with writing(engine) as connection:
        write_events(connection, [event("kept")])
    assert numbers(engine) == [(1, "kept")]


def test_a_later_number_is_not_seen_before_an_earlier_one(engine: Engine) -> None:
    begun, second_done = threading.Event(), threading.Event()

    def second() -> None:
        begun.wait(10)
        with writing(engine) as connection:
            write_events(connection, [event("second")])
        second_done.set()

    thread = threading.Thread(target=second)
    thread.start()
    with writing(engine) as connection:
        write_events(connection, [event("first")])
        begun.set()
        was_done = second_done.wait(0.3)
    thread.join(10)
    assert not was_done
    assert numbers(engine) == [(1, "first"), (2, "second")]


def test_only_what_has_a_webhook_is_to_be_sent(engine: Engine) -> None:
    with writing(engine) as connection:
        write_events(connection, [event("a"), event("b", webhook=WEBHOOK, body='{"b":1}')])
        (row,) = connection.execute(select(OUTBOX)).mappings().all()
    assert (row["event_id"], row["url"], row["secret_id"]) == ("b", WEBHOOK.url, "s-1")
    assert (row["body"], row["state"], row["tries"]) == ('{"b":1}', Sending.WAITING, 0)
    assert row["first_at"] == row["next_at"] == "2026-01-31T06:00:00.000000Z"


def test_a_body_that_is_too_large_is_refused(engine: Engine) -> None:
    with writing(engine) as connection, pytest.raises(ValueError, match="more than"):
        write_events(connection, [event("a", body="x" * (MOST_EVENT_BYTES + 1))])


def test_events_without_a_head_are_told_to_be_damaged(engine: Engine) -> None:
    with writing(engine) as connection:
        connection.execute(delete(EVENT_HEAD))
        with pytest.raises(StoreDamaged, match="no head"):
            write_events(connection, [event("a")])
