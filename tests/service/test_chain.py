"""The chain of records: every change of what is recorded shows, and where."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Connection, delete, insert, select, update

from service.settings import ROOT
from service.store import Draft, Purged, SqlDecisionLog, StoreDamaged
from service.store.__main__ import main
from service.store.chain import GENESIS, NO_HEAD, Head, head_of, signing_with
from service.store.engines import engine_for, reading, writing
from service.store.moving import NotImported, lines_of, take_in
from service.store.port import digest
from service.store.proof import Proof, proof_of
from service.store.retention import remove_decisions, remove_keys
from service.store.sql import compressed
from service.store.tables import CHAIN, DECISIONS, HEAD
from tests.case.builders import demo
from tests.service.builders import T0

KEY = "k" * 32
MANY = 6


@pytest.fixture
def store(address: str) -> Iterator[SqlDecisionLog]:
    """A store with some decisions, each a day older than the one before it."""
    opened = SqlDecisionLog.open(address, timeout_s=5)
    for number in range(MANY):
        opened.record(draft(number))
    yield opened
    opened.close()


def draft(number: int) -> Draft:
    return Draft(
        decision_id=f"d-{number}",
        flight_id="XA 101",
        as_of="2026-01-31T06:00:00Z",
        verdict="GO",
        created_at=T0 + timedelta(days=number),
        request=f'{{"number": {number}}}'.encode(),
        response=f'{{"id": "d-{number}"}}\n'.encode(),
        whole=f'{{"id": "d-{number}", "all": "\u00e9"}}\n'.encode(),
        caller="desk-1",
    )


def proof(store: SqlDecisionLog, **given: Any) -> Proof:
    with reading(store._engine) as connection:
        return proof_of(connection, **given)


def head(store: SqlDecisionLog) -> Head:
    with reading(store._engine) as connection:
        return head_of(connection)


def broken(store: SqlDecisionLog, **given: Any) -> list[str]:
    return [str(each) for each in proof(store, **given).breaks]


def test_a_chain_that_nobody_touched_is_whole(store: SqlDecisionLog) -> None:
    found = proof(store)
    assert found.breaks == ()
    assert (found.head.sequence, found.decisions, found.unsigned) == (MANY, MANY, MANY)


def test_a_link_is_the_digest_of_the_one_before_and_of_the_record(store: SqlDecisionLog) -> None:
    """By hand, from what the page says: a list in JSON, without blanks, and its SHA-256."""
    with reading(store._engine) as connection:
        first = connection.execute(select(CHAIN).where(CHAIN.c.sequence == 1)).one()
    given = draft(0)
    assert given.whole is not None
    digests = [
        hashlib.sha256(each).hexdigest() for each in (given.request, given.response, given.whole)
    ]
    told = [GENESIS, 1, "d-0", *digests, "desk-1", "2026-01-31T06:00:00.000000Z", None]
    text_ = json.dumps(told, separators=(",", ":"))
    assert first.link == hashlib.sha256(text_.encode()).hexdigest()


def _response(connection: Connection) -> None:
    changed = {"response": compressed(b"{}"), "response_digest": digest(b"{}")}
    connection.execute(update(DECISIONS).where(DECISIONS.c.decision_id == "d-2").values(**changed))


def _whole(connection: Connection) -> None:
    changed = {"whole": None, "whole_digest": None}
    connection.execute(update(DECISIONS).where(DECISIONS.c.decision_id == "d-2").values(**changed))


def _bytes(connection: Connection) -> None:
    changed = {"request": b"\x00"}
    connection.execute(update(DECISIONS).where(DECISIONS.c.decision_id == "d-2").values(**changed))


def _link(connection: Connection) -> None:
    _response(connection)
    changed = {"response_digest": digest(b"{}")}
    connection.execute(update(CHAIN).where(CHAIN.c.sequence == 3).values(**changed))


def _caller(connection: Connection) -> None:
    connection.execute(update(CHAIN).where(CHAIN.c.sequence == 3).values(caller="nobody"))


def _time(connection: Connection) -> None:
    connection.execute(update(CHAIN).where(CHAIN.c.sequence == 3).values(at="2020"))


def _bodies_gone(connection: Connection) -> None:
    connection.execute(delete(DECISIONS).where(DECISIONS.c.decision_id == "d-2"))


def _link_gone(connection: Connection) -> None:
    connection.execute(delete(CHAIN).where(CHAIN.c.sequence == 3))


def _last_gone(connection: Connection) -> None:
    connection.execute(delete(CHAIN).where(CHAIN.c.sequence == MANY))
    connection.execute(delete(DECISIONS).where(DECISIONS.c.decision_id == f"d-{MANY - 1}"))


def _put_beside(connection: Connection) -> None:
    row = connection.execute(select(DECISIONS)).mappings().first()
    connection.execute(insert(DECISIONS).values({**dict(row or {}), "decision_id": "d-9"}))


def _no_head(connection: Connection) -> None:
    connection.execute(delete(HEAD))


@pytest.mark.parametrize(
    ("harm", "at"),
    [
        (_response, "at 3, decision d-2: its response is not what the link says"),
        (_whole, "at 3, decision d-2: its whole is not what the link says"),
        (_bytes, "at 3, decision d-2: its request is not what the link says"),
        (_link, "at 3, decision d-2: the link does not follow"),
        (_caller, "at 3, decision d-2: the link does not follow"),
        (_time, "at 3, decision d-2: the link does not follow"),
        (_bodies_gone, "at 3, decision d-2: its bodies are gone"),
        (_link_gone, "at 4, decision d-3: follows 2: records are missing"),
        (_last_gone, "at 6: the head is not the last link, which is 5"),
        (_put_beside, "at 0, decision d-9: it has no link"),
        (_no_head, "at 0: the head is not the last link, which is 6"),
    ],
    ids=lambda value: getattr(value, "__name__", None),
)
def test_what_is_changed_is_found_and_named(store: SqlDecisionLog, harm: Any, at: str) -> None:
    with writing(store._engine) as connection:
        harm(connection)
    found = broken(store)
    assert any(each.startswith(at) for each in found), found


def test_links_made_anew_show_against_a_head_that_was_noted_and_only_so(
    store: SqlDecisionLog,
) -> None:
    noted = head(store)
    store.record(draft(MANY))
    assert broken(store, known=noted) == []
    with writing(store._engine) as connection:
        _linked_anew(connection)
    assert broken(store) == []
    assert any("not the one that was noted" in each for each in broken(store, known=noted))


def _linked_anew(connection: Connection) -> None:
    """Change a record and make every link anew, as whoever can write can do."""
    lines = [json.loads(line) for line in lines_of(connection)]
    lines[2]["caller"] = "nobody"
    connection.execute(delete(CHAIN))
    connection.execute(delete(DECISIONS))
    before = GENESIS
    for each in lines:
        names = ("decision_id", "request_digest", "response_digest", "whole_digest", "caller", "at")
        said = [before, each["sequence"], *(each[name] for name in names), None]
        before = hashlib.sha256(json.dumps(said, separators=(",", ":")).encode()).hexdigest()
        each["link"] = before
    take_in(connection, map(json.dumps, lines))


def test_a_chain_that_was_cut_shows_against_a_head_that_was_noted(store: SqlDecisionLog) -> None:
    noted = head(store)
    with writing(store._engine) as connection:
        _last_gone(connection)
        last = connection.execute(select(CHAIN).where(CHAIN.c.sequence == MANY - 1)).one()
        connection.execute(update(HEAD).values(sequence=last.sequence, link=last.link))
    assert broken(store) == []
    assert broken(store, known=noted) == [
        "at 6: the chain ends at 5, before the head that was noted"
    ]


def test_a_signed_link_shows_who_had_the_key(address: str) -> None:
    signed = SqlDecisionLog.open(address, timeout_s=5, signing_key=KEY)
    signed.record(draft(0))
    assert proof(signed, sign=signing_with(KEY)).unsigned == 0
    assert broken(signed, sign=signing_with(KEY)) == []
    assert "the signature is not" in broken(signed, sign=signing_with("x" * 32))[0]
    signed.close()


def test_many_writers_make_one_chain(address: str) -> None:
    command = (
        "import sys\n"
        "from tests.service.test_chain import draft\n"
        "from tests.changing import replace\n"
        "from service.store import SqlDecisionLog\n"
        "log = SqlDecisionLog.open(sys.argv[1], timeout_s=20)\n"
        "for n in range(20):\n"
        "    log.record(replace(draft(n), decision_id=f'{sys.argv[2]}-{n}'))\n"
        "log.close()\n"
    )
    writers = [
        subprocess.Popen([sys.executable, "-c", command, address, name], cwd=ROOT)
        for name in ("a", "b", "c")
    ]
    assert [each.wait(120) for each in writers] == [0, 0, 0]
    left = SqlDecisionLog.open(address, timeout_s=5)
    found = proof(left)
    assert (found.breaks, found.decisions) == ((), 60)
    left.close()


# --- removing ---


def purge(store: SqlDecisionLog, days: int) -> int:
    with writing(store._engine) as connection:
        return remove_decisions(
            connection, before=T0 + timedelta(days=days), at=T0 + timedelta(days=90)
        )


def test_what_is_removed_leaves_its_link_and_the_removal_is_one(store: SqlDecisionLog) -> None:
    assert purge(store, 2) == 2
    found = proof(store)
    assert (found.breaks, found.decisions, found.head.sequence) == ((), MANY - 2, MANY + 1)
    for look in (store.find, store.told):
        with pytest.raises(Purged):
            look("d-1")
    assert store.find("d-2") is not None
    assert [each.decision_id for each in store.of_flight("XA 101", limit=9)][-1] == "d-2"


def test_a_removal_covers_only_what_is_as_old_as_it_says(store: SqlDecisionLog) -> None:
    purge(store, 2)
    with writing(store._engine) as connection:
        _bodies_gone(connection)
    assert broken(store) == [
        "at 3, decision d-2: its bodies are gone, and no removal of them is recorded"
    ]


def test_removing_nothing_is_no_record(store: SqlDecisionLog) -> None:
    assert purge(store, 0) == 0
    assert head(store).sequence == MANY


def test_old_keys_are_forgotten(store: SqlDecisionLog) -> None:
    for number, days in enumerate((0, 1, 5)):
        at = T0 + timedelta(days=days)
        store.reserve(key=f"k-{number}", request=b"", decision_id=f"x-{number}", at=at)
    with writing(store._engine) as connection:
        assert remove_keys(connection, before=T0 + timedelta(days=2)) == 2


def test_the_address_of_a_removed_decision_says_that_it_is_gone(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    log.record(draft(0))
    purge(log, 1)
    answer = client.get("/v1/decisions/d-0")
    assert answer.status_code == 410
    assert answer.get_json(force=True)["type"].endswith("/problems/removed")
    assert client.get("/v1/decisions/d-7").status_code == 404


def test_a_decision_without_a_link_is_not_taken_for_none(store: SqlDecisionLog) -> None:
    with writing(store._engine) as connection:
        _put_beside(connection)
    with pytest.raises(StoreDamaged, match="has no link"):
        store.find("d-9")


# --- out and in ---


def test_what_is_exported_comes_in_as_it_was(store: SqlDecisionLog, tmp_path: Path) -> None:
    purge(store, 1)
    with reading(store._engine) as connection:
        lines = list(lines_of(connection))
    other = SqlDecisionLog.open(f"sqlite:///{tmp_path / 'other.sqlite3'}", timeout_s=5)
    with writing(other._engine) as connection:
        assert take_in(connection, lines) == head(store)
    assert proof(other) == proof(store)
    for number in range(1, MANY):
        assert other.told(f"d-{number}") == store.told(f"d-{number}")
    with pytest.raises(Purged):
        other.find("d-0")
    other.close()


@pytest.mark.parametrize(
    ("harm", "why"),
    [
        (lambda lines: lines[1:], "line 1 does not follow"),
        (lambda lines: [lines[0], *lines[2:]], "line 2 does not follow"),
        (lambda lines: [lines[0].replace("desk-1", "desk-2")], "line 1 does not follow"),
        (lambda lines: [*lines, "{}"], "is none that was exported"),
        (lambda lines: [*lines, "what"], "is none that was exported"),
    ],
)
def test_what_was_changed_on_the_way_does_not_come_in(
    store: SqlDecisionLog, tmp_path: Path, harm: Any, why: str
) -> None:
    with reading(store._engine) as connection:
        lines = harm(list(lines_of(connection)))
    other = SqlDecisionLog.open(f"sqlite:///{tmp_path / 'other.sqlite3'}", timeout_s=5)
    with pytest.raises(NotImported, match=why), writing(other._engine) as connection:
        take_in(connection, lines)
    assert (other.count(), head(other)) == (0, NO_HEAD)
    other.close()


def test_nothing_comes_into_a_store_that_has_something(store: SqlDecisionLog) -> None:
    with pytest.raises(NotImported, match="not empty"), writing(store._engine) as connection:
        take_in(connection, [])


# --- a store of before, and the command ---


def test_the_decisions_of_an_old_store_begin_the_chain(old_address: str) -> None:
    store = SqlDecisionLog.open(old_address, timeout_s=5)
    found = proof(store)
    assert (found.breaks, found.head.sequence, found.decisions) == ((), 2, 2)
    store.record(draft(0))
    assert proof(store).breaks == ()
    store.close()


def command(*arguments: str, address: str, stdin: str = "", **more: str) -> tuple[int, str]:
    ran = subprocess.run(
        [sys.executable, "-m", "service.store", *arguments],
        cwd=ROOT,
        env=os.environ | {"APPROACH_STORE": address} | more,
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    return ran.returncode, ran.stdout


def test_the_command_notes_verifies_moves_and_removes(
    store: SqlDecisionLog, address: str, tmp_path: Path
) -> None:
    del store
    code, noted = command("head", address=address)
    assert (code, noted.split()[0]) == (0, str(MANY))
    code, said = command("verify", "--head", noted, address=address)
    assert (code, said.splitlines()[0]) == (
        0,
        f"whole: {MANY} links, {MANY} decisions with their bodies",
    )
    assert "Not all links are signed" in said
    code, lines = command("export", address=address)
    assert (code, len(lines.splitlines())) == (0, MANY)
    there = f"sqlite:///{tmp_path / 'there.sqlite3'}"
    assert command("import", address=there, stdin=lines) == (0, noted)
    assert command("import", address=there, stdin=lines)[0] == 3
    engine = engine_for(address, timeout_s=5)
    with writing(engine) as connection:
        _response(connection)
    engine.dispose()
    code, said = command("verify", address=address)
    assert code == 1
    assert said.startswith("at 3, decision d-2: its response")


def test_the_command_removes_what_is_older_than_the_settings_say(
    store: SqlDecisionLog, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("APPROACH_STORE", address)
    assert main(["purge"]) == 0
    assert store.count() == MANY, "nothing is removed unless that is asked for"
    monkeypatch.setenv("APPROACH_KEEP_DAYS", "1")
    assert main(["purge"]) == 0
    assert store.count() == sum(T0 + timedelta(days=n) > _yesterday() for n in range(MANY))


def _yesterday() -> datetime:
    return datetime.now(T0.tzinfo) - timedelta(days=1)


def test_a_head_that_is_none_is_a_wrong_argument(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["verify", "--head", "7 feed"])
    assert ended.value.code == 2
    assert "a number and a link" in capsys.readouterr().err


def test_the_command_names_a_store_of_another_form(
    old_address: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("APPROACH_STORE", old_address)
    assert main(["verify"]) == 3
    assert "form 0001" in capsys.readouterr().err


def test_a_damaged_record_leaves_the_rest_of_a_history_to_be_read(
    real_client: FlaskClient, log: SqlDecisionLog
) -> None:
    for _ in range(3):
        assert real_client.post("/v1/decisions", json=demo("gear-stuck")).status_code == 201
    history = "/v1/flights/VENTO 318/decisions"
    ids = [each["id"] for each in real_client.get(history).get_json()["decisions"]]
    with writing(log._engine) as connection:
        connection.execute(
            update(DECISIONS).where(DECISIONS.c.decision_id == ids[1]).values(response=b"{}")
        )
    told = real_client.get(history).get_json()
    assert [each["id"] for each in told["decisions"]] == [ids[0], ids[2]]
    assert [each["id"] for each in told["damaged"]] == [ids[1]]
    assert "does not have its digest" in told["damaged"][0]["why"]
    assert told["decisions"][0]["changed"] is not None, "beside the next that can be read"
    assert real_client.get("/v1/flights").get_json()["damaged"] == []
    assert real_client.get(f"/v1/decisions/{ids[1]}").status_code == 500


def test_a_store_without_a_head_records_nothing(store: SqlDecisionLog) -> None:
    with writing(store._engine) as connection:
        _no_head(connection)
    with pytest.raises(StoreDamaged, match="no head"):
        store.record(draft(MANY))
    assert store.count() == MANY
