"""The ordinary way of a diversion: level and speed that a crew is given without asking for more.

The plan of least fuel may want FL200 at 190 kt, which traffic and habit do not always allow. So a
plan is priced at the profile's ordinary level and speed too, or as near to them as can be flown.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from decision.performance.configuration import Configuration, clean
from decision.performance.envelope import envelope
from decision.performance.level import known_level_flow_kg_per_h
from decision.performance.point import point
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


def normal_cruise_flow_kg_per_h(profile: Profile, *, mass_kg: float) -> float:
    """Fuel flow of a sound aircraft at its ordinary level and speed, standard day [kg/h].

    Taken for the "normal cruise consumption" of reserves in minutes [ASSUMED]: within a tenth of
    the flow at FL350 for both demo aircraft, and mostly above it.
    Raises OutOfTable where the operator's tables end before that.
    """
    sound = clean(profile)
    way = ordinary_way(profile, sound)
    at = point(
        pressure_altitude_ft=way.level_ft,
        cas_kt=way.cas_kt,
        isa_deviation_degc=0.0,
        mach_cap=envelope(profile, sound).mach_cap,
    )
    return known_level_flow_kg_per_h(profile, sound, mass_kg=mass_kg, at=at)


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
