"""What is in the outbox is sent: at once, again and again, by one at a time; given up in sight."""

from __future__ import annotations

import json
import os
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, select

from service.settings import SettingsError, settings_from
from service.store.engines import engine_for, reading, writing
from service.store.events import NewEvent, SendFirst, Sending, Webhook, write_events
from service.store.outbox import ToSend, remove_sent
from service.store.owners import owners_for
from service.store.tables import OUTBOX
from service.store.upkeep import bring_up_to_date
from service.store.webhook_secrets import SqlWebhookSecrets
from service.webhooks import delivering, sending
from service.webhooks.__main__ import main
from service.webhooks.delivering import (
    CLOSED,
    TAKEN_BACK,
    Deliverer,
    done_by,
    opened_deliverer,
    pause_s,
)
from service.webhooks.sending import OneTry
from service.webhooks.vault import Vault, new_vault_key
from tests.webhooks.receivers import Came, Receiver, endless, hangs, receiving, status, verified

KEY = new_vault_key()
SECRET = b"s" * 32
SECRET_ID = "whs-1"  # noqa: S105 - a name
NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    address = f"sqlite:///{tmp_path / 'decisions.sqlite3'}"
    bring_up_to_date(address, timeout_s=5)
    made = engine_for(address, timeout_s=5)
    SqlWebhookSecrets(made).create(SECRET_ID, encrypted=Vault([KEY]).closed(SECRET), at=NOW)
    yield made
    made.dispose()


def deliverer_of(engine: Engine, *, key: str = KEY) -> Deliverer:
    settings = settings_from(
        {"APPROACH_WEBHOOK_HOSTS": "127.0.0.1,localhost", "APPROACH_WEBHOOK_KEY": key}
    )
    made = opened_deliverer(settings, engine, owners_for(engine))
    assert made is not None
    return made


@contextmanager
def delivering_from(engine: Engine, *, key: str = KEY) -> Iterator[Deliverer]:
    made = deliverer_of(engine, key=key)
    made.start()
    try:
        yield made
    finally:
        made.stop()


def put(
    engine: Engine,
    url: str,
    names: Sequence[str],
    *,
    first: SendFirst = SendFirst.OTHER,
    at: datetime | None = None,
) -> None:
    events = [
        NewEvent(
            event_id=name,
            at=datetime.now(UTC) if at is None else at,
            watch_id="w-1",
            flight_id="XA 101",
            kind="changed",
            body=json.dumps({"event_id": name}),
            urgency=first,
            webhook=Webhook(url=url, secret_id=SECRET_ID),
        )
        for name in names
    ]
    with writing(engine) as connection:
        write_events(connection, events)


def states(engine: Engine) -> Counter[str]:
    with reading(engine) as connection:
        return Counter(connection.scalars(select(OUTBOX.c.state)))


def row(engine: Engine, name: str) -> dict[str, object]:
    with reading(engine) as connection:
        found = connection.execute(select(OUTBOX).where(OUTBOX.c.event_id == name)).mappings().one()
        return dict(found)


def holds(condition: Callable[[], bool], *, within_s: float = 15.0) -> bool:
    until_s = time.monotonic() + within_s
    while not (held := condition()) and time.monotonic() < until_s:
        time.sleep(0.02)
    return held


def names_in(receiver: Receiver) -> list[str]:
    return [json.loads(each.body)["event_id"] for each in receiver.came]


def test_what_is_due_is_sent_signed_once_and_the_worse_first(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(delivering, "OF_ONE_HOST", 1)  # or they overtake each other
    with receiving(status(204)) as receiver:
        put(engine, receiver.url, [f"other-{n}" for n in range(20)])
        put(engine, receiver.url, [f"worse-{n}" for n in range(10)], first=SendFirst.WORSE)
        with delivering_from(engine):
            assert holds(lambda: states(engine) == {"sent": 30})
        names = names_in(receiver)
    assert len(names) == len(set(names)) == 30
    assert {name.partition("-")[0] for name in names[:10]} == {"worse"}
    assert verified(receiver.came[0], {f"{SECRET_ID}.1": SECRET})
    assert row(engine, "worse-0")["last_status"] == 204
    assert row(engine, "worse-0")["lease_owner"] is None


def test_what_is_not_taken_is_sent_again_with_the_same_id_and_bytes(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(delivering, "FIRST_PAUSE_S", 0.05)
    refusals = iter([500, 404, 302, 200])

    def stubborn(connection: object, came: Came) -> None:
        status(next(refusals))(connection, came)  # type: ignore[arg-type]

    with receiving(stubborn) as receiver:
        put(engine, receiver.url, ["e-1"])
        with delivering_from(engine):
            assert holds(lambda: states(engine) == {"sent": 1})
    assert len(receiver.came) == 4
    assert {each.body for each in receiver.came} == {b'{"event_id": "e-1"}'}
    assert all(verified(each, {f"{SECRET_ID}.1": SECRET}) for each in receiver.came)
    assert (row(engine, "e-1")["tries"], row(engine, "e-1")["last_why"]) == (4, None)


def test_a_receiver_that_hangs_or_answers_without_end_holds_up_no_other(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending, "TRY_S", 3.0)
    drip = endless(b"", b"H", every_s=0.2)
    with receiving(hangs) as dead, receiving(drip) as slow, receiving(status(200)) as good:
        for bad in (dead, slow):
            put(engine, bad.url, [f"{bad.port}-{n}" for n in range(40)], first=SendFirst.WORSE)
        with delivering_from(engine) as deliverer:
            assert holds(lambda: len(dead.came) + len(slow.came) == 32)
            begun_s = time.monotonic()
            put(engine, good.url, [f"good-{n}" for n in range(20)])
            deliverer.wake()
            # All senders wait for the bad ones for a whole try, once: then one each at most does.
            assert holds(lambda: len({*names_in(good)}) == 20)
            assert time.monotonic() - begun_s < 2 * sending.TRY_S
            begun_s = time.monotonic()
            put(engine, good.url, [f"again-{n}" for n in range(20)])
            assert holds(lambda: len({*names_in(good)}) == 40)
            assert time.monotonic() - begun_s < sending.TRY_S
            for each in (dead, slow):
                each.close()


def test_two_who_send_from_one_store_send_nothing_twice(engine: Engine) -> None:
    with receiving(status(200)) as receiver:
        put(engine, receiver.url, [f"e-{n}" for n in range(200)])
        one, other = deliverer_of(engine), deliverer_of(engine)
        # Two of one process would take each other for dead: each has a name of its own here.
        for number, each in enumerate((one, other)):
            each._owners = _Named(f"process {number}")  # type: ignore[assignment]
            each._outbox._owners = each._owners
            each.start()
        assert holds(lambda: states(engine) == {"sent": 200})
        one.stop()
        other.stop()
    names = names_in(receiver)
    assert len(names) == len(set(names)) == 200


class _Named:
    """An owner that lives."""

    def __init__(self, name: str) -> None:
        self._name = name

    def me(self) -> str:
        return self._name

    def is_dead(self, *_: object) -> bool:
        return False


def test_both_versions_sign_while_a_secret_is_being_changed(engine: Engine) -> None:
    now = datetime.now(UTC)
    secrets, vault = SqlWebhookSecrets(engine), Vault([KEY])
    known = {f"{SECRET_ID}.1": SECRET}
    for version in (2, 3):
        secret = os.urandom(32)
        until = now + timedelta(hours=1)
        made = secrets.rotate(SECRET_ID, encrypted=vault.closed(secret), at=now, until=until)
        assert made == version
        known[f"{SECRET_ID}.{version}"] = secret
    with receiving(status(200)) as receiver:
        put(engine, receiver.url, ["e-1"])
        with delivering_from(engine):
            assert holds(lambda: states(engine) == {"sent": 1})
    found = [each.parameters["keyid"] for each in verified(receiver.came[0], known)]
    assert found == [f"{SECRET_ID}.2", f"{SECRET_ID}.3"]  # the first has ended


def test_what_cannot_be_signed_is_not_sent_and_says_why(engine: Engine) -> None:
    with receiving(status(200)) as receiver:
        put(engine, receiver.url, ["e-1"])
        with delivering_from(engine, key=new_vault_key()):
            assert holds(lambda: row(engine, "e-1")["tries"] == 1)
        assert row(engine, "e-1")["last_why"] == CLOSED
        assert row(engine, "e-1")["state"] == "waiting"
        SqlWebhookSecrets(engine).revoke(SECRET_ID, at=datetime.now(UTC))
        put(engine, receiver.url, ["e-2"])
        with delivering_from(engine):
            assert holds(lambda: row(engine, "e-2")["state"] == "failed")
        assert row(engine, "e-2")["last_why"] == TAKEN_BACK
    assert receiver.came == []


def test_an_address_that_leads_inside_is_not_called(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.webhooks.target.is_loopback", lambda _host: False)
    with receiving(status(200)) as receiver:
        put(engine, f"https://localhost:{receiver.port}/", ["e-1"])
        with delivering_from(engine) as deliverer:
            deliverer._sender._hosts = frozenset({"localhost"})
            assert holds(lambda: row(engine, "e-1")["tries"] == 1)
        assert "not public" in str(row(engine, "e-1")["last_why"])
    assert receiver.came == []


TO_SEND = ToSend(event_id="e", url="", secret_id="", body="", tries=0, first_at=NOW.isoformat())


def refused_at(at: datetime, *, tries: int = 0, why: str = "no") -> object:
    before = ToSend(**{**{n: getattr(TO_SEND, n) for n in ToSend.__slots__}, "tries": tries})
    return done_by(before, OneTry(at=at, status=None, why=why), chance=lambda: 0.5)


def test_pauses_double_from_a_second_to_ten_minutes() -> None:
    middle = [pause_s(tries, chance=lambda: 0.5) for tries in range(1, 13)]
    assert middle == [1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 600, 600]
    for tries in (1, 2, 9, 10, 40, 10_000):
        low, high = (pause_s(tries, chance=lambda c=c: c) for c in (0.0, 1.0))  # type: ignore[misc]
        assert 1.0 <= low <= high <= 600.0


def test_what_nobody_takes_for_a_day_has_failed_and_is_seen() -> None:
    day = timedelta(hours=24)
    late = refused_at(NOW + day - timedelta(minutes=2), tries=100)
    assert (late.state, late.next_at) == (Sending.WAITING, NOW + day)  # type: ignore[attr-defined]
    over = refused_at(NOW + day, tries=101)
    assert (over.state, over.tries, over.why) == (Sending.FAILED, 102, "no")  # type: ignore[attr-defined]
    taken = done_by(TO_SEND, OneTry(at=NOW + day, status=200, why=None), chance=lambda: 0.5)
    assert taken.state is Sending.SENT


def test_a_day_of_refusals_is_a_bounded_number_of_tries() -> None:
    at, tries = NOW, 0
    while (done := refused_at(at, tries=tries)).state is Sending.WAITING:  # type: ignore[attr-defined]
        at, tries = done.next_at, tries + 1  # type: ignore[attr-defined]
    assert at == NOW + timedelta(hours=24)
    assert 140 < tries < 170


def test_what_is_old_is_forgotten_and_what_nobody_sent_has_failed(engine: Engine) -> None:
    old = datetime.now(UTC) - timedelta(hours=30)
    put(engine, "https://desk.example/", ["old"], at=old)
    put(engine, "https://desk.example/", ["new"])
    before, now = datetime.now(UTC) - timedelta(hours=24), datetime.now(UTC)
    with writing(engine) as connection:
        assert remove_sent(connection, before=before, at=now) == 0
    assert (row(engine, "old")["state"], row(engine, "new")["state"]) == ("failed", "waiting")
    assert row(engine, "old")["last_why"] == "nobody sent it in time"
    with writing(engine) as connection:
        assert remove_sent(connection, before=now + timedelta(seconds=1), at=now) == 1
    assert states(engine)["waiting"] + states(engine)["failed"] == 1


def test_without_hosts_or_a_key_nothing_is_sent(engine: Engine) -> None:
    for lacking in (
        {"APPROACH_WEBHOOK_KEY": KEY},
        {"APPROACH_WEBHOOK_HOSTS": "desk.example"},
    ):
        assert opened_deliverer(settings_from(lacking), engine, owners_for(engine)) is None
    for wrong in ("short", f"{KEY},x", "=" * 44):
        with pytest.raises(SettingsError, match="python -m"):
            settings_from({"APPROACH_WEBHOOK_KEY": wrong})


def test_the_command_makes_changes_and_takes_back_secrets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    address = f"sqlite:///{tmp_path / 'd.sqlite3'}"
    monkeypatch.setenv("APPROACH_STORE", address)
    assert main(["create"]) == 2
    assert "WEBHOOK_KEY" in capsys.readouterr().err
    assert main(["key"]) == 0
    first = capsys.readouterr().out.strip()
    monkeypatch.setenv("APPROACH_WEBHOOK_KEY", first)
    assert main(["create"]) == 0
    shown = capsys.readouterr()
    secret_id = shown.err.split()[1].rstrip(",")
    assert f"keyid {secret_id}.1" in shown.err
    assert main(["rotate", secret_id, "--overlap-hours", "1"]) == 0
    other = capsys.readouterr().out.strip()
    engine = engine_for(address, timeout_s=5)
    secrets, now = SqlWebhookSecrets(engine), datetime.now(UTC)
    opened = [Vault([first]).opened(each) for each in secrets.signing([secret_id], at=now)]
    texts = [shown.out.strip(), other]
    from service.webhooks.vault import text_of

    assert [text_of(each.secret) for each in opened] == texts
    second = new_vault_key()
    monkeypatch.setenv("APPROACH_WEBHOOK_KEY", f"{second},{first}")
    assert main(["encrypt-anew"]) == 0
    monkeypatch.setenv("APPROACH_WEBHOOK_KEY", second)
    assert main(["list"]) == 0
    told = capsys.readouterr().out
    assert not any(each in told for each in texts)
    again = [Vault([second]).opened(each) for each in secrets.signing([secret_id], at=now)]
    assert [each.secret for each in again] == [each.secret for each in opened]
    monkeypatch.setenv("APPROACH_WEBHOOK_KEY", first)
    assert main(["encrypt-anew"]) == 1
    assert main(["revoke", secret_id]) == 0
    assert not secrets.signing([secret_id], at=now)
    assert main(["rotate", secret_id]) == 1
    assert main(["revoke", "whs-none"]) == 1
    with pytest.raises(SystemExit):
        main(["rotate", secret_id, "--overlap-hours", "-1"])
    engine.dispose()
