"""Database engines. What SQLite and PostgreSQL do differently is said here and nowhere else."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, QueuePool, Table, create_engine, event, make_url
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.exc import DisconnectionError, IntegrityError, SQLAlchemyError

from service.spans import span
from service.store.port import StoreUnavailable

WRITES: Final = "writes"
FILE: Final = "file"
MS_PER_S: Final = 1_000


class AlreadyThere(StoreUnavailable):
    """A row of that key exists."""


def engine_for(address: str, *, timeout_s: int, make: bool = False) -> Engine:
    """An engine for an address such as `sqlite:///decisions.sqlite3`; connects on first use.

    `make`: make the file if there is none. Otherwise one that has vanished stays so, and is not
    followed by an empty one.
    """
    url = make_url(address)
    if url.get_backend_name() == "sqlite":
        return _sqlite(url, timeout_s, make=make)
    limits = f"-c statement_timeout={timeout_s * MS_PER_S} -c lock_timeout={timeout_s * MS_PER_S}"
    return create_engine(
        url,
        pool_pre_ping=True,
        pool_timeout=timeout_s,
        connect_args={"connect_timeout": timeout_s, "options": limits},
    )


def _sqlite(url: URL, timeout_s: int, *, make: bool) -> Engine:
    file = _file_of(url)
    if file is not None and make:
        file.parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(
        url,
        poolclass=QueuePool,
        pool_timeout=timeout_s,
        creator=partial(_connected, file, make=make),
    )

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, record: Any) -> None:  # noqa: ANN401  # driver's own types
        connection.isolation_level = None  # the driver would begin too late: see `begin`
        connection.execute(f"PRAGMA busy_timeout={timeout_s * MS_PER_S}")
        (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
        if mode != "wal":  # a refusal, on a network share for example, is otherwise silent
            raise OSError(f"SQLite journal mode is {mode!r}, not 'wal': use a local disk")
        connection.execute("PRAGMA synchronous=FULL")  # what is acknowledged is on the disk
        connection.execute("PRAGMA foreign_keys=ON")
        record.info[FILE] = None if file is None else (file, _identity(file))

    @event.listens_for(engine, "checkout")
    def look(_connection: object, record: Any, _proxy: object) -> None:  # noqa: ANN401
        if _has_vanished(record.info):
            raise DisconnectionError("another file has its name")  # the pool connects anew

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A read that turns into a write fails at once and ignores the busy timeout, so a writing
        # transaction takes the write lock from the start.
        writes = connection.get_execution_options().get(WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _file_of(url: URL) -> Path | None:
    """The file of a database; None for one in memory."""
    return Path(url.database).absolute() if url.database not in {None, "", ":memory:"} else None


def _connected(file: Path | None, *, make: bool) -> sqlite3.Connection:
    if file is None:
        return sqlite3.connect(":memory:", check_same_thread=False)
    address = f"{file.as_uri()}?mode={'rwc' if make else 'rw'}"
    return sqlite3.connect(address, uri=True, check_same_thread=False)


def _identity(file: Path) -> tuple[int, int] | None:
    """Which file has the name; None: none."""
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _has_vanished(info: Mapping[str, Any]) -> bool:
    """Whether its file has lost its name: what is written then ends with the connection."""
    known = info.get(FILE)
    return known is not None and _identity(known[0]) != known[1]


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that only reads. Raises: StoreUnavailable."""
    with span("store read"), named_failures(), engine.begin() as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes. Raises: StoreUnavailable."""
    writer = engine.execution_options(**{WRITES: True})
    with span("store write"), named_failures(), writer.begin() as connection:
        yield connection
        if _has_vanished(connection.info):
            connection.invalidate()
            raise StoreUnavailable("the file of the store was removed or replaced")


def insert_unless_there(
    connection: Connection, table: Table, rows: Sequence[Mapping[str, object]]
) -> None:
    """Insert rows; those of which a unique column is there already are left out."""
    if rows:
        made = sqlite if connection.dialect.name == "sqlite" else postgresql
        connection.execute(made.insert(table).on_conflict_do_nothing(), rows)


@contextmanager
def named_failures() -> Iterator[None]:
    """What fails in here fails as AlreadyThere or StoreUnavailable."""
    try:
        yield
    except IntegrityError as error:
        raise AlreadyThere(str(error.orig)) from error
    except (SQLAlchemyError, sqlite3.Error, OSError) as error:
        raise StoreUnavailable(str(error)) from error
