"""The data that a case may name: aerodromes and profiles that are installed with the product.

An aerodrome file has the shape that a request uses, plus `source` and `version`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from decision.case.aerodromes import AERODROME, DESCRIPTION, faults_of, read_aerodrome
from decision.case.spec import BodyReading
from decision.case.types import Aerodrome
from decision.citations import DATA
from decision.errors import DataError
from decision.profile import Profile, load_profile, profile_ids

AERODROMES: Final = DATA / "aerodromes"


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """Installed aerodromes by indicator, and a way to get a profile by id."""

    aerodromes: Mapping[str, Aerodrome]
    profile_ids: tuple[str, ...]
    profile: Callable[[str], Profile]


@cache
def installed_library() -> Library:
    """The library of this installation. Raises DataError when a file of it is wrong."""
    loaded = (load_aerodrome(path) for path in sorted(AERODROMES.glob("*.toml")))
    return Library(
        aerodromes=MappingProxyType({aerodrome.icao: aerodrome for aerodrome in loaded}),
        profile_ids=profile_ids(),
        profile=load_profile,
    )


def load_aerodrome(path: Path) -> Aerodrome:
    """One aerodrome file. Raises DataError naming file, key and what would be accepted."""
    with path.open("rb") as file:
        table = tomllib.load(file)
    for key in ("source", "version"):
        if not table.pop(key, None):
            raise DataError(path.name, key, "is required")
    for key in DESCRIPTION:
        if key not in table:
            raise DataError(path.name, key, "is required")
    for fault in AERODROME.faults(table):
        raise DataError(path.name, fault.pointer, f"{fault.message}; accepted: {fault.accepted}")
    aerodrome = read_aerodrome(table, "", BodyReading())
    for fault in faults_of(aerodrome, ""):
        raise DataError(path.name, fault.pointer, fault.message)
    return aerodrome
