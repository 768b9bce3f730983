"""The bibliography: every figure in code, tables and tests cites a key of data/sources.toml.

A key that does not exist raises when it is used; a test fails on a key that nothing uses.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from decision.errors import DataError

DATA: Final = Path(__file__).parent / "data"
SOURCES_FILE: Final = "sources.toml"


class Confidence(StrEnum):
    """How well the project knows a figure."""

    FOUND = "found"
    QUOTED = "quoted"
    MEMORY = "memory"
    DERIVED = "derived"
    ASSUMED = "assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One entry of the bibliography."""

    key: str
    title: str
    edition: str
    confidence: Confidence


@cache
def sources() -> Mapping[str, Source]:
    """All sources by key. Raises DataError on a malformed entry."""
    with (DATA / SOURCES_FILE).open("rb") as file:
        table = tomllib.load(file)
    return MappingProxyType({key: _source(key, row) for key, row in table.items()})


def _source(key: str, row: Mapping[str, str]) -> Source:
    try:
        return Source(
            key=key,
            title=row["title"],
            edition=row["edition"],
            confidence=Confidence(row["confidence"]),
        )
    except (KeyError, ValueError) as error:
        raise DataError(SOURCES_FILE, key, f"missing or wrong field: {error}") from error


def source(key: str) -> Source:
    """The source behind a key. Raises DataError if the bibliography does not have it."""
    try:
        return sources()[key]
    except KeyError:
        raise DataError(SOURCES_FILE, key, "no such source") from None
