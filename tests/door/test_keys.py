"""Keys: what they are, what is kept of them, how they end."""

from __future__ import annotations

import json
import logging
import os
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from service import keys
from service.door import known
from service.door.known import MOST_REMEMBERED, REMEMBERED_S
from service.keytext import KEY_PATTERN, key_in, new_key
from service.scopes import Scope, scopes_of
from service.settings import ROOT
from service.store import StoreUnavailable
from service.store.access import KeyThere, NewKey, NoSuchKey, SqlAccess
from tests.door.builders import House, bearer
from tests.door.conftest import Built
from tests.service.builders import body

READ = "/v1/profiles"
SCANNED = re.compile(r"\bapdk_[0-9a-f]{12}_[0-9a-f]{64}\b")


# --- the text ---


def test_a_key_has_256_random_bits_and_a_form_that_a_scanner_finds() -> None:
    asked: list[int] = []

    def entropy(length: int) -> bytes:
        asked.append(length)
        return os.urandom(length)

    made = new_key(entropy)
    assert asked == [6, 32]
    assert SCANNED.findall(f"key = '{made.text}'") == [made.text]
    assert made.identifier in made.text


def test_two_keys_are_never_alike() -> None:
    texts = {new_key(os.urandom).text for _ in range(1_000)}
    assert len(texts) == 1_000


@pytest.mark.parametrize("change", ["", "x", " ", "\n", "A"])
def test_what_is_not_the_text_of_a_key_is_none(change: str) -> None:
    text = new_key(os.urandom).text
    other = text + change if change else text[:-1]
    assert key_in(text) is not None
    assert key_in(other) is None


def test_a_key_does_not_show_its_text() -> None:
    made = new_key(os.urandom)
    assert made.text not in repr(made)
    assert made.digest not in repr(made)


@pytest.mark.parametrize("text", ["", "write", "read,open", "all"])
def test_a_scope_that_there_is_not_is_named(text: str) -> None:
    with pytest.raises(ValueError, match="must be of decide, read, admin"):
        scopes_of(text)


# --- what is kept ---


def test_the_store_has_nothing_of_a_secret_but_its_digest(closed: House, tmp_path: Path) -> None:
    key = closed.key()
    secret = key.text.rsplit("_", 1)[1]
    assert closed.asked(READ, key).status_code == 200
    files = sorted(tmp_path.glob("decisions.sqlite3*"))
    kept = b"".join(file.read_bytes() for file in files)
    assert key.identifier.encode() in kept
    assert key.digest.encode() in kept
    assert secret.encode() not in kept


def test_no_line_of_the_log_has_a_key_and_each_has_its_identifier(
    closed: House, caplog: pytest.LogCaptureFixture
) -> None:
    key = closed.key()
    wrong = new_key(os.urandom)
    with caplog.at_level(logging.DEBUG):
        closed.asked(READ, key)
        closed.asked(READ, wrong)
        closed.client.post("/v1/session", json={"key": key.text})
        closed.client.post("/v1/session", json={"key": key.text, "kye": key.text})
        closed.client.get(f"{READ}?key={key.text}", headers=bearer(key))
        closed.client.get("/v1/nothing", headers=bearer(key))
    lines = [json.dumps(vars(each), default=str) for each in caplog.records]
    requests = [each for each in caplog.records if each.name == "service.request"]
    assert len(requests) == 6
    assert requests[0].fields["caller"] == f"key:{key.identifier}"  # type: ignore[attr-defined]
    assert [line for line in lines if key.text in line or wrong.text in line] == []


def test_an_error_about_a_key_does_not_repeat_it(closed: House) -> None:
    key = closed.key()
    for sent in ({"key": key.text, "kye": 1}, {"key": key.text + "x"}, {"key": [key.text]}):
        answer = closed.client.post("/v1/session", json=sent)
        assert answer.status_code in (401, 422)
        assert key.text not in answer.text


def test_who_asked_is_in_the_chain_of_records_and_in_the_audit_log(closed: House) -> None:
    key = closed.key()
    made = closed.client.post("/v1/decisions", json=body(), headers=bearer(key))
    lines = "\n".join([json.dumps(body()), json.dumps(body())])
    batch = closed.client.post(
        "/v1/decisions/batch?record=true",
        data=lines,
        headers=bearer(key) | {"Content-Type": "application/x-ndjson"},
    )
    ids = [made.get_json()["id"], *(json.loads(each)["id"] for each in batch.data.splitlines()[:2])]
    name = f"key:{key.identifier}"
    file = closed.settings.store.removeprefix("sqlite:///")
    with closing(sqlite3.connect(file)) as connection:
        linked = dict(connection.execute("SELECT decision_id, caller FROM chain"))
        written = connection.execute(
            "SELECT subject, caller FROM audit WHERE what = 'recorded' ORDER BY id"
        ).fetchall()
    assert linked == dict.fromkeys(ids, name)
    assert written == [(each, name) for each in ids]


def test_on_an_open_door_nobody_is_written_down(build: Built) -> None:
    there = build({})
    there.client.post("/v1/decisions", json=body())
    assert there.access.events(limit=10, before=None) == []


def test_keys_share_one_space_of_data(closed: House) -> None:
    one, other = closed.key(), closed.key()
    sent = {"Idempotency-Key": "k"}
    first = closed.client.post("/v1/decisions", json=body(), headers=bearer(one) | sent)
    again = closed.client.post("/v1/decisions", json=body(), headers=bearer(other) | sent)
    assert (first.status_code, again.data) == (201, first.data)
    assert closed.asked(first.headers["Location"], other).data == first.data


# --- how a key is looked up ---


def test_digests_are_compared_in_constant_time(
    closed: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    key, compared = closed.key(), []

    def compare(kept: str, given: str) -> bool:
        compared.append((len(kept), len(given)))
        return kept == given

    monkeypatch.setattr(known, "compare_digest", compare)
    wrong = key.text[:-1] + ("0" if key.text[-1] != "0" else "1")
    assert closed.asked(READ, key).status_code == 200
    assert closed.client.get(READ, headers=bearer(wrong)).status_code == 401
    assert compared == [(64, 64)] * 4, "one of no key and one of the key, right or wrong"
    compared.clear()
    assert closed.asked(READ, new_key(os.urandom)).status_code == 401
    assert compared == [(64, 64)], "without a key of that identifier too"


def statements(access: SqlAccess) -> list[str]:
    """What an access asks of its database from now on."""
    seen: list[str] = []

    @event.listens_for(access._engine, "before_cursor_execute")
    def see(_c: Any, _u: Any, statement: str, *_more: Any) -> None:
        seen.append(statement.split(maxsplit=1)[0])

    return seen


def door_of(there: House) -> Any:
    """The door of a service, from the route of an address."""
    view = there.app.view_functions["alive"]
    cells = [cell.cell_contents for cell in view.__closure__ or ()]
    return next(each for each in cells if hasattr(each, "door")).door


def test_a_key_is_remembered_for_some_seconds_and_then_looked_up_again(closed: House) -> None:
    key, seen = closed.key(), statements(door_of(closed).access)
    for _ in range(3):
        assert closed.asked(READ, key).status_code == 200
    assert seen.count("SELECT") == 1
    closed.time.pass_by(seconds=REMEMBERED_S)
    assert closed.asked(READ, key).status_code == 200
    assert seen.count("SELECT") == 2


def test_a_key_that_is_not_one_is_looked_up_each_time(closed: House) -> None:
    key, seen = new_key(os.urandom), statements(door_of(closed).access)
    for _ in range(3):
        assert closed.asked(READ, key).status_code == 401
    assert seen.count("SELECT") == 3


def test_that_a_key_was_taken_back_is_seen_within_those_seconds(closed: House) -> None:
    key = closed.key()
    assert closed.asked(READ, key).status_code == 200
    closed.access.revoke(key.identifier, by="test", at=closed.time.at)
    closed.time.pass_by(seconds=REMEMBERED_S - 0.1)
    assert closed.asked(READ, key).status_code == 200
    closed.time.pass_by(seconds=0.1)
    assert closed.asked(READ, key).status_code == 401


def test_that_a_key_has_expired_is_seen_at_once(closed: House) -> None:
    key = closed.key(expires_at=closed.time.at + timedelta(seconds=2))
    assert closed.asked(READ, key).status_code == 200
    closed.time.pass_by(seconds=1.9)
    assert closed.asked(READ, key).status_code == 200
    closed.time.pass_by(seconds=0.1)
    assert closed.asked(READ, key).status_code == 401


def test_no_more_than_so_many_keys_are_remembered(closed: House) -> None:
    remembered = door_of(closed)._known
    first, *others = (closed.key() for _ in range(3))
    remembered._found.update((f"{number}", (9e9, None)) for number in range(MOST_REMEMBERED))
    for key in (first, *others):
        closed.asked(READ, key)
    assert len(remembered._found) == MOST_REMEMBERED


def test_the_last_use_is_written_once_a_minute(closed: House) -> None:
    key, seen = closed.key(), statements(door_of(closed).access)
    for _ in range(20):
        closed.asked(READ, key)
        closed.time.pass_by(seconds=3)
    closed.asked(READ, key)
    assert seen.count("UPDATE") == 2, "at 0 s and at 60 s"
    [kept] = closed.access.all_keys()
    assert kept.last_used_at == "2026-01-31T06:01:00.000000Z"


def test_two_processes_write_the_last_use_once_a_minute(build: Built) -> None:
    one, other = build(), build()
    key = one.key()
    one.asked(READ, key)
    other.time.pass_by(seconds=30)
    other.asked(READ, key)
    [kept] = one.access.all_keys()
    assert kept.last_used_at == "2026-01-31T06:00:00.000000Z"


def test_a_store_that_is_away_lets_nobody_in_who_is_not_remembered(
    closed: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = closed.key()
    url = "/v1/decisions?record=false"
    assert closed.client.post(url, json=body(), headers=bearer(key)).status_code == 200

    def gone(*_: object, **__: object) -> None:
        raise StoreUnavailable("gone")

    for name in ("secrets_of", "used", "note"):
        monkeypatch.setattr(SqlAccess, name, gone)
    closed.time.pass_by(seconds=REMEMBERED_S - 1)
    assert closed.client.post(url, json=body(), headers=bearer(key)).status_code == 200
    closed.time.pass_by(seconds=1)
    assert closed.client.post(url, json=body(), headers=bearer(key)).status_code == 503
    assert closed.client.get(READ).status_code == 401, "refused, though not written down"


# --- how a key changes ---


def test_both_secrets_open_while_a_key_is_rotated(closed: House) -> None:
    old = closed.key()
    new = new_key(os.urandom, identifier=old.identifier)
    at = closed.time.at
    until = at + timedelta(hours=1)
    closed.access.rotate(old.identifier, digest=new.digest, by="test", at=at, until=until)
    for key in (old, new):
        assert closed.asked(READ, key).status_code == 200
    closed.time.pass_by(hours=1)
    assert closed.asked(READ, old).status_code == 401
    assert closed.asked(READ, new).status_code == 200


def test_rotating_again_makes_no_overlap_longer(closed: House) -> None:
    old, at = closed.key(), closed.time.at
    for hours in (1, 5):
        new = new_key(os.urandom, identifier=old.identifier)
        until = at + timedelta(hours=hours)
        closed.access.rotate(old.identifier, digest=new.digest, by="test", at=at, until=until)
    closed.time.pass_by(hours=1)
    assert closed.asked(READ, old).status_code == 401


def test_a_key_that_was_taken_back_is_not_rotated_and_not_taken_back_twice(closed: House) -> None:
    key, at = closed.key(), closed.time.at
    closed.access.revoke(key.identifier, by="test", at=at)
    with pytest.raises(NoSuchKey):
        closed.access.rotate(key.identifier, digest="0" * 64, by="test", at=at, until=at)
    with pytest.raises(NoSuchKey):
        closed.access.revoke(key.identifier, by="test", at=at)


def test_a_key_is_made_once(closed: House) -> None:
    key = closed.key()
    again = NewKey(identifier=key.identifier, name="b", scopes=frozenset(Scope), digest="1" * 64)
    with pytest.raises(KeyThere):
        closed.access.create(again, by="test", at=closed.time.at)
    assert [each.name for each in closed.access.all_keys()] == ["a desk"]


# --- the command ---


@pytest.fixture
def setting(closed: House, monkeypatch: pytest.MonkeyPatch) -> House:
    """The store is the one that the settings name; the service's clock is that of the command."""
    monkeypatch.setenv("APPROACH_STORE", closed.settings.store)
    monkeypatch.setattr(keys, "utc_now", closed.time.clock)
    return closed


def shown(capsys: pytest.CaptureFixture[str]) -> str:
    """The text of a key that the command has shown."""
    text = capsys.readouterr().out.strip()
    assert KEY_PATTERN.fullmatch(text)
    return text


def test_the_command_makes_rotates_lists_and_takes_back(
    setting: House, capsys: pytest.CaptureFixture[str]
) -> None:
    assert keys.main(["create", "a desk", "--scope", "read,decide", "--days", "2"]) == 0
    old = shown(capsys)
    identifier = old.split("_")[1]
    assert setting.client.get(READ, headers=bearer(old)).status_code == 200
    assert keys.main(["rotate", identifier, "--overlap-hours", "1.5"]) == 0
    new = shown(capsys)
    assert keys.main(["list"]) == 0
    out = capsys.readouterr().out
    assert old not in out
    assert new not in out
    listed = json.loads(out)
    assert (listed["identifier"], listed["scopes"]) == (identifier, "decide read")
    assert listed["expires_at"] == "2026-02-02T06:00:00.000000Z"
    assert listed["last_used_at"] == "2026-01-31T06:00:00.000000Z"
    setting.time.pass_by(hours=1.4)
    assert setting.client.get(READ, headers=bearer(old)).status_code == 200
    setting.time.pass_by(hours=0.1)
    assert setting.client.get(READ, headers=bearer(old)).status_code == 401
    assert setting.client.get(READ, headers=bearer(new)).status_code == 200
    assert keys.main(["revoke", identifier]) == 0
    setting.time.pass_by(seconds=REMEMBERED_S)
    assert setting.client.get(READ, headers=bearer(new)).status_code == 401
    done = [(each.what, each.caller) for each in setting.access.events(limit=10, before=None)]
    assert [each for each in done if each[1] == "command"] == [
        ("revoked_key", "command"),
        ("rotated_key", "command"),
        ("created_key", "command"),
    ]


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["create", "a desk"],
        ["create", "a desk", "--scope", "write"],
        ["create", " ", "--scope", "read"],
        ["create", "a\nb", "--scope", "read"],
        ["create", "x" * 101, "--scope", "read"],
        ["create", "a", "--scope", "read", "--days", "0"],
        ["rotate", "0", "--overlap-hours", "-1"],
        ["rotate", "0", "--overlap-hours", "nan"],
        ["rotate", "0", "--overlap-hours", "soon"],
    ],
)
def test_a_wrong_argument_ends_with_2(setting: House, arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        keys.main(arguments)
    assert ended.value.code == 2
    assert setting.access.all_keys() == []


def test_the_command_names_what_it_cannot_do(
    setting: House, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert keys.main(["revoke", "000000000000"]) == 1
    assert keys.main(["rotate", "000000000000"]) == 1
    there = setting.key()
    monkeypatch.setattr(keys, "new_key", lambda _: there)
    assert keys.main(["create", "a desk", "--scope", "read"]) == 3
    monkeypatch.setenv("APPROACH_PORT", "x")
    assert keys.main(["list"]) == 2
    said = capsys.readouterr().err
    assert "000000000000: no key" in said
    assert "APPROACH_PORT" in said


def test_a_text_is_made_without_a_store(tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "service.keys", "text"],
        cwd=tmp_path,
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert KEY_PATTERN.fullmatch(ran.stdout.strip())
    assert list(tmp_path.iterdir()) == []
