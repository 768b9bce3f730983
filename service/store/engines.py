"""Database engines. What SQLite and PostgreSQL do differently is said here and nowhere else."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, QueuePool, create_engine, event, make_url
from sqlalchemy.exc import IntegrityError, SQLAlchemyError

from service.store.port import StoreUnavailable

WRITES: Final = "writes"
MS_PER_S: Final = 1_000


class AlreadyThere(StoreUnavailable):
    """A row of that key exists."""


def engine_for(address: str, *, timeout_s: int) -> Engine:
    """An engine for an address such as `sqlite:///decisions.sqlite3`; connects on first use."""
    url = make_url(address)
    if url.get_backend_name() == "sqlite":
        return _sqlite(url, timeout_s)
    limits = f"-c statement_timeout={timeout_s * MS_PER_S} -c lock_timeout={timeout_s * MS_PER_S}"
    return create_engine(
        url,
        pool_pre_ping=True,
        pool_timeout=timeout_s,
        connect_args={"connect_timeout": timeout_s, "options": limits},
    )


def _sqlite(url: URL, timeout_s: int) -> Engine:
    if url.database:
        Path(url.database).absolute().parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(url, poolclass=QueuePool, pool_timeout=timeout_s)

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: object) -> None:  # noqa: ANN401  # driver's own type
        connection.isolation_level = None  # the driver would begin too late: see `begin`
        connection.execute(f"PRAGMA busy_timeout={timeout_s * MS_PER_S}")
        (mode,) = connection.execute("PRAGMA journal_mode=WAL").fetchone()
        if mode != "wal":  # a refusal, on a network share for example, is otherwise silent
            raise OSError(f"SQLite journal mode is {mode!r}, not 'wal': use a local disk")
        connection.execute("PRAGMA synchronous=NORMAL")
        connection.execute("PRAGMA foreign_keys=ON")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A read that turns into a write fails at once and ignores the busy timeout, so a writing
        # transaction takes the write lock from the start.
        writes = connection.get_execution_options().get(WRITES, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that only reads. Raises: StoreUnavailable."""
    with named_failures(), engine.begin() as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that writes. Raises: StoreUnavailable."""
    writer = engine.execution_options(**{WRITES: True})
    with named_failures(), writer.begin() as connection:
        yield connection


@contextmanager
def named_failures() -> Iterator[None]:
    """What fails in here fails as AlreadyThere or StoreUnavailable."""
    try:
        yield
    except IntegrityError as error:
        raise AlreadyThere(str(error.orig)) from error
    except (SQLAlchemyError, sqlite3.Error, OSError) as error:
        raise StoreUnavailable(str(error)) from error
