"""Reads and checks `data/profiles/<id>.systems.toml`: the one door to an aircraft's systems."""

from __future__ import annotations

from functools import cache
from typing import Final

from decision.citations import DATA
from decision.profile.systems_model import SystemsData

PROFILES: Final = DATA / "profiles"


def systems_file(profile_id: str) -> str:
    """Name of the file that holds the systems of a profile."""
    return f"{profile_id}.systems.toml"


@cache
def load_systems(profile_id: str) -> SystemsData:
    """The systems of a profile, cached.

    Raises: DataError naming file and key on a malformed row, an unknown or repeated id, a cycle,
    a node that nothing can reach, a wrong unit or a value out of range.
    """
    raise NotImplementedError(PROFILES / systems_file(profile_id))
