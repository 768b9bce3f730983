"""Which form a store has, and how it gets the present one.

One process at a time does the work, under a lock and in one transaction; the others wait and find
it done. An SQLite file is copied first, as it is then. For PostgreSQL the operator's own backup is
due, and that is said.
"""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Engine, column, func, inspect, make_url, select, table

from service.clock import Clock, utc_now
from service.store.engines import engine_for, named_failures, reading, writing
from service.store.port import StoreNotUnderstood
from service.store.tables import REVISION_TABLE, STORE

LOG: Final = logging.getLogger("service.store")
REVISIONS: Final = ("0001", "0002", "0003", "0004", "0005")
PRESENT: Final = REVISIONS[-1]
UNNUMBERED: Final = REVISIONS[0]  # the form whose stores have a schema_version, 1, instead
MIGRATIONS: Final = Path(__file__).parent / "migrations"
PATIENCE_S: Final = 600  # [ASSUMED] longer than the copy of a large file takes
REVISION: Final = "version_num"  # Alembic's own
LOCK: Final = 4_318_0001  # [ASSUMED] any number, the same in every version
BACKUP_IS_DUE: Final = "No copy is made of a PostgreSQL store: a backup of your own is due."


def form_of(connection: Connection) -> str | None:
    """The revision that a store has; None if it has no tables. Raises: StoreNotUnderstood."""
    found = _numbered(connection)
    if found is None and STORE.name in inspect(connection).get_table_names():
        version = connection.scalar(select(STORE.c.schema_version))
        # Another process may have numbered it since: the next statement sees what it committed.
        found = UNNUMBERED if version == 1 else _numbered(connection) or f"schema {version}"
    if found is None:
        return None
    if found not in REVISIONS:
        known = ", ".join(REVISIONS)
        raise StoreNotUnderstood(
            f"the store has form {found}, this version knows {known}: a newer one has made it"
        )
    return found


def _numbered(connection: Connection) -> str | None:
    """The revision that a store says it has."""
    if REVISION_TABLE not in inspect(connection).get_table_names():
        return None
    found = connection.scalar(select(column(REVISION)).select_from(table(REVISION_TABLE)))
    return str(found)


def require_present_form(connection: Connection) -> None:
    """Return if a store has the form that this version reads and writes."""
    found = form_of(connection)
    if found != PRESENT:
        raise StoreNotUnderstood(f"the store has form {found}, this version needs {PRESENT}")


def bring_up_to_date(address: str, *, timeout_s: int, clock: Clock = utc_now) -> Path | None:
    """Give a store the present form, if it has another; the copy that was made before, if any.

    Raises: StoreUnavailable, StoreNotUnderstood.
    """
    with _opened(address, timeout_s) as engine, reading(engine) as connection:
        if form_of(connection) == PRESENT:
            return None
    with _opened(address, PATIENCE_S) as engine, writing(engine) as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(select(func.pg_advisory_xact_lock(LOCK)))
        found = form_of(connection)  # another process may have been here in the meantime
        if found == PRESENT:
            return None
        copy = None if found is None else _copied_before(address, at=clock())
        _upgrade(connection, found)
    LOG.info("store brought from form %s to %s", found, PRESENT)
    return copy


def back_up(address: str, *, at: datetime) -> Path | None:
    """A copy of an SQLite file beside it, named with the time; None for any other store.

    Raises: StoreUnavailable.
    """
    url = make_url(address)
    if url.get_backend_name() != "sqlite" or url.database is None:
        return None
    source = Path(url.database)
    name = f"{source.stem}-{at.astimezone(UTC):%Y%m%dT%H%M%S.%fZ}{source.suffix}"
    copy, unfinished = source.with_name(name), source.with_name(f"{name}.part")
    there = f"{source.absolute().as_uri()}?mode=rw"  # never a new, empty file
    with named_failures():
        with (
            closing(sqlite3.connect(there, uri=True)) as kept,
            closing(sqlite3.connect(unfinished)) as made,
        ):
            kept.backup(made)
        unfinished.rename(copy)
    return copy


def _copied_before(address: str, *, at: datetime) -> Path | None:
    copy = back_up(address, at=at)
    LOG.warning(BACKUP_IS_DUE if copy is None else f"store copied to {copy} before it is changed")
    return copy


def _upgrade(connection: Connection, found: str | None) -> None:
    logging.getLogger("alembic.runtime.plugins").setLevel(logging.WARNING)  # it tells its imports
    from alembic import command  # noqa: PLC0415 - a tenth of a start, most of which need none
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    if found == UNNUMBERED:
        command.stamp(config, UNNUMBERED)
    command.upgrade(config, PRESENT)


@contextmanager
def _opened(address: str, timeout_s: int) -> Iterator[Engine]:
    engine = engine_for(address, timeout_s=timeout_s, make=True)
    try:
        yield engine
    finally:
        engine.dispose()
