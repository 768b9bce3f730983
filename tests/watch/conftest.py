"""Watches with the real engine and a clock that stands, on SQLite or on each kind of database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.service.conftest import address, postgresql
from tests.watch.world import World, opened

__all__ = ["address", "anywhere", "postgresql", "world"]


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    """A service with a store, and somebody who looks at what is due."""
    with opened(f"sqlite:///{tmp_path / 'decisions.sqlite3'}") as found:
        yield found


@pytest.fixture
def anywhere(address: str) -> Iterator[World]:
    """The same on each kind of database."""
    with opened(address) as found:
        yield found
