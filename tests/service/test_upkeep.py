"""The form of a store: made, recognised, brought to the present one, and what is not understood.

`stores/` has a store of before the revisions, filled by the program of then from two demo cases:
an SQLite file, and what `pg_dump` told of a PostgreSQL database.
"""

from __future__ import annotations

import logging
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import select, text

from service.app import create_app
from service.settings import ROOT
from service.store import (
    Replay,
    SqlDecisionLog,
    StoreNotUnderstood,
    StoreUnavailable,
    engines,
    upkeep,
)
from service.store.__main__ import main
from service.store.port import digest
from service.store.tables import DECISIONS, METADATA, REVISION_TABLE
from service.store.upkeep import MIGRATIONS, PRESENT, REVISIONS, back_up, bring_up_to_date
from tests.service.builders import T0, old_file, plain_engine, service_settings

OPENERS = 4
OLD_PROGRAM_NEEDS = 1

Rows = list[tuple[str, bytes, bytes]]


@pytest.fixture
def kept(old_address: str) -> Rows:
    """What the old store has, read without any of our own code."""
    with closing_engine(old_address) as connection:
        found = connection.execute(
            text("SELECT decision_id, request, response FROM decisions ORDER BY decision_id")
        )
        return [(row[0], row[1], row[2]) for row in found]


class closing_engine:  # noqa: N801  # reads as a word
    def __init__(self, address: str) -> None:
        self._engine = engines.engine_for(address, timeout_s=5)

    def __enter__(self) -> Any:
        self._connection = self._engine.connect()
        return self._connection

    def __exit__(self, *_: object) -> None:
        self._connection.commit()
        self._connection.close()
        self._engine.dispose()


def copies(folder: Path) -> list[Path]:
    return sorted(folder.glob("decisions-*"))


# --- a new store ---


def test_a_new_store_has_the_tables_that_are_declared(address: str) -> None:
    SqlDecisionLog.open(address, timeout_s=5).close()
    with closing_engine(address) as connection:
        options = {"version_table": REVISION_TABLE, "compare_server_default": True}
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, METADATA) == []


def test_every_revision_is_known_in_its_order() -> None:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    walked = ScriptDirectory.from_config(config).walk_revisions()
    assert tuple(each.revision for each in walked) == REVISIONS[::-1]


def test_nothing_is_copied_of_a_new_store(address: str, tmp_path: Path) -> None:
    assert bring_up_to_date(address, timeout_s=5) is None
    assert copies(tmp_path) == []


# --- a store of before ---


def test_what_an_old_store_has_is_told_byte_for_byte(old_address: str, kept: Rows) -> None:
    store = SqlDecisionLog.open(old_address, timeout_s=5)
    assert len(kept) == store.count() == 2
    for identity, request, response in kept:
        found, told = store.find(identity), store.told(identity)
        assert found is not None
        assert told is not None
        assert (found.response, found.digest, found.format) == (response, digest(response), 1)
        assert (told.request, told.response, told.whole) == (request, response, None)
    store.close()


def test_a_key_of_an_old_store_is_replayed(old_address: str, kept: Rows) -> None:
    store = SqlDecisionLog.open(old_address, timeout_s=5)
    identity, request, response = kept[0]
    again = store.reserve(key="a-key", request=request, decision_id="d-2", at=T0)
    assert isinstance(again, Replay)
    assert (again.record.decision_id, again.record.response) == (identity, response)
    store.close()


def test_the_service_hands_an_old_decision_out_as_it_was_sent(tmp_path: Path) -> None:
    file = old_file(tmp_path)
    with closing(sqlite3.connect(file)) as connection:
        identity, sent = connection.execute(
            "SELECT decision_id, response FROM decisions"
        ).fetchone()
    client = create_app(service_settings(tmp_path), engine=plain_engine()).test_client()
    answer = client.get(f"/v1/decisions/{identity}")
    assert (answer.status_code, answer.data) == (200, sent)
    assert answer.headers["ETag"] == f'"{digest(sent)}"'


def test_the_program_of_before_refuses_the_new_form(old_address: str) -> None:
    bring_up_to_date(old_address, timeout_s=5)
    with closing_engine(old_address) as connection:
        found = connection.scalar(text("SELECT schema_version FROM store"))
    assert found not in {None, OLD_PROGRAM_NEEDS}


def test_a_file_is_copied_as_it_was_before_it_is_changed(tmp_path: Path) -> None:
    file = old_file(tmp_path)
    with closing(sqlite3.connect(file)) as connection:
        before = list(connection.iterdump())
    at = datetime(2026, 1, 31, 6, 30, tzinfo=UTC)
    copy = bring_up_to_date(f"sqlite:///{file}", timeout_s=5, clock=lambda: at)
    assert copy == tmp_path / "decisions-20260131T063000.000000Z.sqlite3"
    with closing(sqlite3.connect(copy)) as connection:
        assert list(connection.iterdump()) == before


def test_of_postgresql_it_is_said_that_a_backup_is_due(
    old_address: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    bring_up_to_date(old_address, timeout_s=5)
    of_file = len(copies(tmp_path))
    said = [each.message for each in caplog.records if each.levelno == logging.WARNING]
    assert len(said) == 1
    assert ("a backup of your own is due" in said[0]) == (of_file == 0)


def test_a_store_is_brought_up_to_date_once(old_address: str, tmp_path: Path) -> None:
    bring_up_to_date(old_address, timeout_s=5)
    made = copies(tmp_path)
    assert bring_up_to_date(old_address, timeout_s=5) is None
    assert copies(tmp_path) == made


def test_a_change_that_fails_leaves_the_store_as_it_was(
    old_address: str, kept: Rows, monkeypatch: pytest.MonkeyPatch
) -> None:
    upgraded = command.upgrade

    def upgrade_and_fail(*given: Any) -> None:
        upgraded(*given)
        raise OSError("no space left")

    monkeypatch.setattr(command, "upgrade", upgrade_and_fail)
    with pytest.raises(StoreUnavailable, match="no space left"):
        bring_up_to_date(old_address, timeout_s=5)
    with closing_engine(old_address) as connection:
        assert upkeep.form_of(connection) == REVISIONS[0]
        rows = connection.execute(text("SELECT * FROM decisions ORDER BY decision_id")).all()
    assert [(row[0], row[5], row[7]) for row in rows] == kept


# --- many at once ---

OPEN_AND_RECORD = """
import sys
from service.clock import utc_now
from service.store import Draft, SqlDecisionLog
opened = SqlDecisionLog.open(sys.argv[1], timeout_s=20)
draft = Draft(
    decision_id=sys.argv[2], flight_id="XA 101", as_of="2026-01-31T06:00:00Z", verdict="GO",
    created_at=utc_now(), request=b"{}", response=b"{}",
)
opened.record(draft)
opened.close()
"""


def processes_that_open(address: str) -> Iterator[subprocess.Popen[bytes]]:
    for number in range(OPENERS):
        yield subprocess.Popen(
            [sys.executable, "-c", OPEN_AND_RECORD, address, f"d-{number}"],
            cwd=ROOT,
            stderr=subprocess.PIPE,
        )


def failures_of_many(address: str) -> list[bytes]:
    """What those processes say that fail to open a store and record."""
    started = list(processes_that_open(address))
    told = [(each.communicate(timeout=240)[1], each) for each in started]
    return [said for said, each in told if each.returncode != 0]


def test_many_processes_may_open_a_new_store_at_once(address: str) -> None:
    assert failures_of_many(address) == []
    left = SqlDecisionLog.open(address, timeout_s=5)
    assert left.count() == OPENERS
    left.close()


def test_many_processes_may_bring_an_old_store_up_to_date_at_once(
    old_address: str, kept: Rows, tmp_path: Path
) -> None:
    assert failures_of_many(old_address) == []
    left = SqlDecisionLog.open(old_address, timeout_s=5)
    assert left.count() == len(kept) + OPENERS
    left.close()
    assert len(copies(tmp_path)) == ("sqlite" in old_address)


def test_many_threads_may_bring_an_old_store_up_to_date_at_once(
    old_address: str, kept: Rows
) -> None:
    with ThreadPoolExecutor(OPENERS) as pool:
        opened = list(
            pool.map(lambda _: SqlDecisionLog.open(old_address, timeout_s=20), range(OPENERS))
        )
    assert [each.count() for each in opened] == [len(kept)] * OPENERS
    for each in opened:
        each.close()


def test_a_change_that_is_committed_between_two_looks_is_seen(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    SqlDecisionLog.open(address, timeout_s=5).close()
    before, look = iter([None]), upkeep._numbered
    monkeypatch.setattr(upkeep, "_numbered", lambda there: next(before, look(there)))
    with closing_engine(address) as connection:
        assert upkeep.form_of(connection) == upkeep.PRESENT


# --- what is not understood ---


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE store_revision SET version_num = '0099'",
        "DELETE FROM store_revision",
    ],
)
def test_a_store_of_a_newer_version_is_told_as_such(address: str, change: str) -> None:
    store = SqlDecisionLog.open(address, timeout_s=5)
    with closing_engine(address) as connection:
        connection.execute(text(change))
    with pytest.raises(StoreNotUnderstood, match="a newer one has made it"):
        SqlDecisionLog.open(address, timeout_s=5)
    with pytest.raises(StoreNotUnderstood):
        store.check()
    store.close()


def test_an_old_store_of_an_unknown_number_is_told_as_such(old_address: str) -> None:
    with closing_engine(old_address) as connection:
        connection.execute(text("UPDATE store SET schema_version = 99"))
    with pytest.raises(StoreNotUnderstood, match="form schema 99"):
        SqlDecisionLog.open(old_address, timeout_s=5)


def test_a_service_whose_store_changes_under_it_is_not_ready_and_says_why(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    client = create_app(service_settings(tmp_path), engine=plain_engine(), log=log).test_client()
    with closing_engine(service_settings(tmp_path).store) as connection:
        connection.execute(text("UPDATE store_revision SET version_num = '0099'"))
    answer = client.get("/readyz")
    assert answer.status_code == 503
    assert "another version of the service" in answer.text


# --- the command ---


@pytest.fixture
def setting(old_address: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """The old store is the one that the settings name."""
    monkeypatch.setenv("APPROACH_STORE", old_address)
    return old_address


def test_the_command_checks_and_migrates(
    setting: str, kept: Rows, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check"]) == 1
    assert main(["migrate"]) == 0
    assert main(["check"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == f"form 0001; this version has form {PRESENT}"
    with closing_engine(setting) as connection:
        found = connection.execute(select(DECISIONS.c.response)).scalars().all()
    assert sorted(found) == sorted(response for _, _, response in kept)


def test_the_command_copies_a_file_and_says_that_it_does_not_copy_a_server(
    setting: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, made = main(["backup"]), copies(tmp_path)
    said = capsys.readouterr().out
    assert (code, said) == (
        (0, f"copied to {made[0]}\n") if made else (3, f"{upkeep.BACKUP_IS_DUE}\n")
    )
    assert len(made) == ("sqlite" in setting)


def test_the_command_names_what_is_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("APPROACH_STORE", "mysql://nowhere")
    assert main(["check"]) == 2
    (tmp_path / "folder.sqlite3").mkdir()
    monkeypatch.setenv("APPROACH_STORE", f"sqlite:///{tmp_path / 'folder.sqlite3'}")
    assert main(["check"]) == 3
    assert "APPROACH_STORE" in capsys.readouterr().err


def test_a_file_that_is_not_there_is_not_copied(tmp_path: Path) -> None:
    with pytest.raises(StoreUnavailable):
        back_up(f"sqlite:///{tmp_path / 'none.sqlite3'}", at=T0)
    assert not (tmp_path / "none.sqlite3").exists()


def test_the_command_runs_by_its_name(tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "service.store", "migrate"],
        cwd=ROOT,
        env=os.environ | {"APPROACH_STORE": f"sqlite:///{tmp_path / 'new.sqlite3'}"},
        capture_output=True,
        check=True,
        timeout=60,
    )
    assert ran.stdout.decode() == f"form {PRESENT}\n"
