"""A service with a door, on an SQLite file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

import pytest

from tests.door.builders import OUTSIDE, House, house

Built = Callable[..., House]


@pytest.fixture
def build(tmp_path: Path) -> Iterator[Built]:
    """Makes services with other settings, all on one store."""
    made: list[House] = []

    def built(environment: Mapping[str, str] = OUTSIDE, **more: str) -> House:
        made.append(house(tmp_path, {**environment, **more}))
        return made[-1]

    yield built
    for each in made:
        each.close()


@pytest.fixture
def closed(build: Built) -> House:
    """A service that is bound elsewhere than on loopback."""
    return build()
