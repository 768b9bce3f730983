"""The ordinary way of a diversion: level and speed that a crew is given without asking for more.

The plan of least fuel may want FL200 at 190 kt, which traffic and habit do not always allow. So a
plan is priced at the profile's ordinary level and speed too, or as near to them as can be flown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from decision.performance.configuration import Configuration
from decision.profile import Profile
from decision.profile.types import OrdinaryOf


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelAndSpeed:
    """A pressure altitude and a calibrated airspeed."""

    level_ft: float
    cas_kt: float


@lru_cache(maxsize=512)
def ordinary_way(profile: Profile, configuration: Configuration) -> LevelAndSpeed:
    """The lowest level and the lowest speed that the profile has for what the aircraft is like."""
    states = set(_states(profile, configuration))
    rows = [row for row in profile.ordinary if row.state in states]
    return LevelAndSpeed(
        level_ft=min(row.level_ft for row in rows), cas_kt=min(row.cas_kt for row in rows)
    )


def _states(profile: Profile, configuration: Configuration) -> Iterator[OrdinaryOf]:
    yield OrdinaryOf.CLEAN
    if configuration.gear_down or configuration.gear_doors_open:
        yield OrdinaryOf.GEAR_DOWN
    if configuration.slats_out or profile.detent(configuration.flap).deflection_deg > 0.0:
        yield OrdinaryOf.FLAPS_OUT
    if configuration.engines_running < profile.engine.count:
        yield OrdinaryOf.ENGINE_OUT
    if not configuration.pressurised:
        yield OrdinaryOf.UNPRESSURISED
