"""The outbox, its secrets and the journal of events, on both kinds of store."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import timedelta

import pytest
from sqlalchemy import Connection, Engine

from service.store.engines import engine_for, writing
from service.store.events import NewEvent, SendFirst, Sending, Webhook, write_events
from service.store.journal import SqlJournal, remove_watch_events
from service.store.outbox import LEASE, SendingDone, SqlOutbox, ToSend
from service.store.upkeep import bring_up_to_date
from service.store.webhook_secrets import NoSuchSecret, SqlWebhookSecrets
from tests.service.builders import T0

URL = "https://receiver.example/here"


@pytest.fixture
def engine(address: str) -> Iterator[Engine]:
    bring_up_to_date(address, timeout_s=5)
    made = engine_for(address, timeout_s=5)
    yield made
    made.dispose()


class Known:
    """Owners of whom the dead are known."""

    def __init__(self, *dead: str) -> None:
        self.dead = dead

    def me(self) -> str:
        return "me"

    def is_dead(self, owner: str | None, connection: Connection) -> bool:
        del connection
        return owner in self.dead

    def close(self) -> None:
        """Nothing is kept open."""


def put(engine: Engine, *names: str, first: SendFirst = SendFirst.OTHER) -> None:
    webhook = Webhook(url=URL, secret_id="s-1")  # noqa: S106 - a name
    events = [
        NewEvent(
            event_id=name,
            at=T0,
            watch_id=f"w-{name}",
            flight_id="XA 101",
            kind="changed",
            body=json.dumps({"event_id": name}),
            urgency=first,
            webhook=webhook,
        )
        for name in names
    ]
    with writing(engine) as connection:
        write_events(connection, events)


def claimed(
    outbox: SqlOutbox,
    owner: str,
    *,
    after: timedelta = timedelta(0),
    done: Sequence[SendingDone] = (),
    held: Sequence[str] = (),
    most: int = 10,
) -> list[ToSend]:
    return outbox.exchange(
        done,
        owner=owner,
        at=T0 + after,
        held=held,
        choose=lambda due: [event for event, _ in due][:most],
    )


def ids(rows: Sequence[ToSend]) -> list[str]:
    return [each.event_id for each in rows]


def done(name: str, *, state: Sending = Sending.SENT, next_s: float = 0.0) -> SendingDone:
    return SendingDone(
        event_id=name,
        state=state,
        tries=1,
        at=T0,
        next_at=T0 + timedelta(seconds=next_s),
        status=200 if state is Sending.SENT else None,
        why=None if state is Sending.SENT else "no" * 500,
    )


def test_a_row_is_had_by_one_until_its_lease_ends_or_its_owner_is_dead(engine: Engine) -> None:
    put(engine, "a", "b", "c")
    owners = Known()
    outbox = SqlOutbox(engine, owners)
    assert not outbox.is_due(at=T0 - timedelta(seconds=1))
    assert outbox.is_due(at=T0)
    assert ids(claimed(outbox, "one", most=2)) == ["a", "b"]
    assert ids(claimed(outbox, "two")) == ["c"]
    assert claimed(outbox, "two", held=["c"]) == []
    owners.dead = ("one",)
    assert ids(claimed(outbox, "two", held=["c"], most=1)) == ["a"]
    owners.dead = ()
    assert ids(claimed(outbox, "three", after=LEASE)) == ["a", "b", "c"]


def test_who_has_lost_a_row_writes_nothing_of_it(engine: Engine) -> None:
    put(engine, "a")
    outbox = SqlOutbox(engine, Known("one"))
    assert ids(claimed(outbox, "one")) == ["a"]
    assert ids(claimed(outbox, "two")) == ["a"]
    claimed(outbox, "one", done=[done("a", state=Sending.FAILED)], most=0)
    assert outbox.count() == {Sending.WAITING: 1, Sending.SENT: 0, Sending.FAILED: 0}
    claimed(outbox, "two", done=[done("a")], most=0)
    assert outbox.count() == {Sending.WAITING: 0, Sending.SENT: 1, Sending.FAILED: 0}


def test_what_is_to_be_tried_again_is_due_then_and_the_worse_comes_first(engine: Engine) -> None:
    put(engine, "a", "b")
    put(engine, "w", first=SendFirst.WORSE)
    outbox = SqlOutbox(engine, Known())
    (first, *_) = rows = claimed(outbox, "me")
    assert ids(rows) == ["w", "a", "b"]
    assert (first.url, first.body, first.tries) == (URL, '{"event_id": "w"}', 0)
    later = [done(each, state=Sending.WAITING, next_s=5.0) for each in ("w", "a")]
    assert claimed(outbox, "me", done=[*later, done("b")]) == []
    assert not outbox.is_due(at=T0 + timedelta(seconds=4))
    again = claimed(outbox, "me", after=timedelta(seconds=5))
    assert [(each.event_id, each.tries) for each in again] == [("w", 1), ("a", 1)]
    outbox.release([done("w")], owner="me")
    assert ids(claimed(outbox, "other", after=timedelta(seconds=5))) == ["a"]


def test_a_secret_has_two_versions_at_most_and_then_one(engine: Engine) -> None:
    secrets, hour = SqlWebhookSecrets(engine), timedelta(hours=1)
    secrets.create("s-1", encrypted="x1", at=T0)
    assert secrets.rotate("s-1", encrypted="x2", at=T0, until=T0 + hour) == 2
    assert [each.encrypted for each in secrets.signing(["s-1"], at=T0)] == ["x1", "x2"]
    assert secrets.rotate("s-1", encrypted="x3", at=T0, until=T0 + hour) == 3
    assert [each.encrypted for each in secrets.signing(["s-1"], at=T0)] == ["x2", "x3"]
    assert [each.version for each in secrets.signing(["s-1"], at=T0 + hour)] == [3]
    secrets.revoke("s-1", at=T0)
    assert not secrets.signing(["s-1"], at=T0)
    assert "x3" not in repr(secrets.all())
    for change in (
        lambda: secrets.rotate("s-1", encrypted="x4", at=T0, until=T0),
        lambda: secrets.revoke("s-1", at=T0),
    ):
        with pytest.raises(NoSuchSecret):
            change()


def test_the_journal_tells_what_is_behind_a_number_and_whether_all_of_it_is_there(
    engine: Engine,
) -> None:
    journal = SqlJournal(engine)
    assert (journal.head(), journal.after(0, limit=5), journal.keeps_after(0)) == (0, [], True)
    put(engine, "a", "b", "c")
    assert journal.head() == 3
    assert [(each.sequence, each.watch_id) for each in journal.after(1, limit=1)] == [(2, "w-b")]
    assert [journal.keeps_after(number) for number in range(5)] == [True] * 4 + [False]
    with writing(engine) as connection:
        assert remove_watch_events(connection, before=T0 + timedelta(seconds=1)) == 3
    assert [journal.keeps_after(number) for number in range(5)] == [False] * 3 + [True, False]
    put(engine, "d")
    assert [journal.keeps_after(number) for number in range(5)] == [False] * 3 + [True, True]
    assert journal.present(flights=(), watches=()) == (4, '{"watches":[]}')
