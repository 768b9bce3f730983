"""Fixtures of the service: an application on a real SQLite file, with a plain engine."""

from __future__ import annotations

import lzma
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import make_url

from service.app import create_app
from service.store import SqlDecisionLog
from service.store.engines import engine_for
from tests.service.builders import (
    STORES,
    counting_entropy,
    old_file,
    plain_engine,
    service_settings,
    ticking_clock,
)
from tests.service.postgresql import running


@pytest.fixture
def log(tmp_path: Path) -> Iterator[SqlDecisionLog]:
    """A decision log in an SQLite file."""
    opened = SqlDecisionLog.open(f"sqlite:///{tmp_path / 'decisions.sqlite3'}", timeout_s=5)
    yield opened
    opened.close()


@pytest.fixture
def app(tmp_path: Path, log: SqlDecisionLog) -> Flask:
    """An application that answers at once."""
    return create_app(
        service_settings(tmp_path),
        clock=ticking_clock(),
        entropy=counting_entropy(),
        engine=plain_engine(),
        log=log,
    )


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A client of it."""
    return app.test_client()


@pytest.fixture
def real_app(tmp_path: Path, log: SqlDecisionLog) -> Flask:
    """The application with the engine and data of the installation, in this process only."""
    return create_app(service_settings(tmp_path, APPROACH_BATCH_PROCESSES="1"), log=log)


@pytest.fixture
def real_client(real_app: Flask) -> FlaskClient:
    """A client of it."""
    return real_app.test_client()


@pytest.fixture(scope="session")
def postgresql() -> Iterator[str | None]:
    """The address of a PostgreSQL server, or None if there can be none."""
    with running() as address:
        yield address


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """An empty database of each kind."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'decisions.sqlite3'}"
    found: str | None = request.getfixturevalue("postgresql")
    if found is None:
        pytest.skip("PostgreSQL is not installed and APPROACH_TEST_POSTGRES is not set")
    engine = engine_for(found, timeout_s=5)
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP SCHEMA public CASCADE")
        connection.exec_driver_sql("CREATE SCHEMA public")
    engine.dispose()
    return found


@pytest.fixture
def old_address(address: str) -> str:
    """A store of before the revisions, of each kind."""
    url = make_url(address)
    if url.database is not None and url.get_backend_name() == "sqlite":
        old_file(Path(url.database).parent)
        return address
    statements = lzma.decompress((STORES / "first.sql.xz").read_bytes()).decode()
    engine = engine_for(address, timeout_s=5)
    with engine.begin() as connection:
        connection.exec_driver_sql(statements)
    engine.dispose()
    return address
