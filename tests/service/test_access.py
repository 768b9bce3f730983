"""Keys, sessions and the audit log in each kind of database."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest

from service.keytext import KeyText, digest_of, new_key
from service.scopes import Scope
from service.store import SqlDecisionLog
from service.store.access import KeyThere, NewKey, NoSuchKey, SqlAccess, remove_sessions
from service.store.audit import Deed, Event, remove_events
from service.store.engines import AlreadyThere, engine_for, writing
from service.store.upkeep import bring_up_to_date
from tests.service.builders import T0
from tests.service.test_store import draft

HOUR = timedelta(hours=1)
TOKEN = "0" * 64


@pytest.fixture
def access(address: str) -> Iterator[SqlAccess]:
    bring_up_to_date(address, timeout_s=5)
    opened = SqlAccess(engine_for(address, timeout_s=5))
    yield opened
    opened.close()


def made(access: SqlAccess, *, expires_at: datetime | None = None) -> KeyText:
    key = new_key(os.urandom)
    new = NewKey(
        identifier=key.identifier,
        name="a desk",
        scopes=frozenset({Scope.READ, Scope.ADMIN}),
        digest=key.digest,
        expires_at=expires_at,
    )
    access.create(new, by="test", at=T0)
    return key


def test_a_key_is_found_with_its_scopes_and_its_end(access: SqlAccess) -> None:
    key = made(access, expires_at=T0 + HOUR)
    [secret] = access.secrets_of(key.identifier)
    assert (secret.identifier, secret.digest) == (key.identifier, key.digest)
    assert secret.scopes == {Scope.READ, Scope.ADMIN}
    assert (secret.ends_at, secret.revoked) == ("2026-01-31T07:00:00.000000Z", False)
    assert access.secrets_of("none") == []


def test_the_first_end_of_a_secret_holds(access: SqlAccess) -> None:
    key = made(access, expires_at=T0 + 2 * HOUR)
    new = new_key(os.urandom, identifier=key.identifier)
    access.rotate(key.identifier, digest=new.digest, by="test", at=T0, until=T0 + HOUR)
    ends = {each.digest: each.ends_at for each in access.secrets_of(key.identifier)}
    assert ends == {
        key.digest: "2026-01-31T07:00:00.000000Z",
        new.digest: "2026-01-31T08:00:00.000000Z",
    }


def test_what_cannot_be_done_changes_nothing(access: SqlAccess) -> None:
    key = made(access)
    before = access.events(limit=10, before=None)
    same = NewKey(
        identifier=key.identifier, name="b", scopes=frozenset({Scope.READ}), digest="1" * 64
    )
    with pytest.raises(KeyThere):
        access.create(same, by="test", at=T0)
    with pytest.raises(NoSuchKey):
        access.rotate("none", digest="2" * 64, by="test", at=T0, until=T0)
    with pytest.raises(NoSuchKey):
        access.revoke("none", by="test", at=T0)
    assert [each.name for each in access.all_keys()] == ["a desk"]
    assert len(access.secrets_of(key.identifier)) == 1
    assert access.events(limit=10, before=None) == before


def test_a_store_opens_while_one_secret_does(access: SqlAccess) -> None:
    assert not access.opens(T0)
    key = made(access, expires_at=T0 + HOUR)
    assert access.opens(T0)
    assert not access.opens(T0 + HOUR)
    lasting = made(access)
    assert access.opens(T0 + HOUR)
    access.revoke(lasting.identifier, by="test", at=T0)
    assert not access.opens(T0 + HOUR)
    assert access.secrets_of(lasting.identifier)[0].revoked
    assert not access.secrets_of(key.identifier)[0].revoked


def test_the_last_use_is_a_minute_coarse(access: SqlAccess) -> None:
    key = made(access)
    seen = []
    for seconds in (0, 59, 60, 61):
        access.used(key.identifier, at=T0 + timedelta(seconds=seconds))
        seen.append(access.all_keys()[0].last_used_at)
    first, later = "2026-01-31T06:00:00.000000Z", "2026-01-31T06:01:00.000000Z"
    assert seen == [first, first, later, later]


def test_a_session_is_that_of_its_secret_and_is_forgotten(access: SqlAccess) -> None:
    key = made(access)
    [secret] = access.secrets_of(key.identifier)
    digest = digest_of(TOKEN)
    access.begin_session(digest, secret=secret, by="test", at=T0, until=T0 + HOUR)
    found = access.of_session(digest)
    assert found is not None
    assert (found.identifier, found.ends_at) == (key.identifier, "2026-01-31T07:00:00.000000Z")
    access.end_session(digest)
    access.end_session(digest)
    assert access.of_session(digest) is None
    access.begin_session(digest, secret=secret, by="test", at=T0, until=T0 + HOUR)
    with writing(access._engine) as connection:
        assert remove_sessions(connection, before=T0) == 0
        assert remove_sessions(connection, before=T0 + HOUR) == 1


def test_events_are_kept_in_order_and_removed_when_old(access: SqlAccess) -> None:
    for number in range(5):
        at = T0 + number * HOUR
        access.note(Event(at=at, caller="", what=Deed.REFUSED, subject=f"{number}" + "x" * 300))
    told = access.events(limit=3, before=None)
    assert [each.subject[0] for each in told] == ["4", "3", "2"]
    assert all(len(each.subject) == 255 for each in told)
    assert [each.subject[0] for each in access.events(limit=3, before=told[-1].id)] == ["1", "0"]
    with writing(access._engine) as connection:
        assert remove_events(connection, before=T0 + 2 * HOUR) == 2
    assert len(access.events(limit=10, before=None)) == 3


def test_a_record_and_its_entry_are_written_together_or_not_at_all(
    access: SqlAccess, address: str
) -> None:
    store = SqlDecisionLog.open(address, timeout_s=5)
    store.record(draft("d-1", caller="key:0"))
    store.record(draft("d-2"))
    with pytest.raises(AlreadyThere):
        store.record(draft("d-1", caller="key:1"))
    store.close()
    [event] = access.events(limit=10, before=None)
    assert (event.caller, event.what, event.subject) == ("key:0", "recorded", "d-1")
