"""From one place on to several aerodromes: each diversion with its approach and how sure it is.

The aircraft leaves in one state whatever the destination, so that all are flown together, and the
whole answer is remembered: flip points and rulebooks ask for the same again and again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from msgspec import Struct

from decision.flight.ledger import Diversion
from decision.flight.physics import approach_allowance, fly_diversions
from decision.performance import (
    CannotFly,
    Configuration,
    Flown,
    NotKnown,
    Objective,
    Spread,
    Track,
    need_spread,
)
from decision.profile import Profile

KEPT: Final = 128  # a spread holds its samples: some forty kilobytes for five aerodromes


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What was used between the point that fuel is counted from and the start of the diversion."""

    fuel_kg: float
    time_min: float


NOTHING_BEFORE: Final = Before(fuel_kg=0.0, time_min=0.0)


class Arrived(Struct, frozen=True, kw_only=True, gc=False):
    """A diversion, the approach at its end, and the spread of both with what came before."""

    flown: Flown
    approach: Flown
    diversion: Diversion
    spread: Spread


Onward = Arrived | CannotFly | NotKnown
"""A flight with its approach, or why there is none."""


@lru_cache(maxsize=KEPT)
def fly_onward(
    profile: Profile,
    *,
    configuration: Configuration,
    landing: Configuration,
    mass_kg: float,
    start_pressure_altitude_ft: float,
    tracks: tuple[Track, ...],
    leak_kg_per_h: float,
    before: Before,
    objective: Objective,
) -> tuple[Onward, ...]:
    """Fly each track in one configuration and approach in the other. Raises OutOfRange."""
    flights = fly_diversions(
        profile,
        configuration=configuration,
        mass_kg=mass_kg,
        start_pressure_altitude_ft=start_pressure_altitude_ft,
        tracks=tracks,
        leak_kg_per_h=leak_kg_per_h,
        objective=objective,
        ordinary=True,
    )
    answers: list[Onward] = []
    for track, flown in zip(tracks, flights, strict=True):
        if not isinstance(flown, Flown):
            answers.append(flown)
            continue
        approach = approach_allowance(
            profile,
            configuration=landing,
            mass_kg=flown.end_mass_kg,
            pressure_altitude_ft=track.end_pressure_altitude_ft,
            leak_kg_per_h=leak_kg_per_h,
        )
        diversion = Diversion(
            mass_kg=mass_kg,
            start_pressure_altitude_ft=start_pressure_altitude_ft,
            track=track,
            leak_kg_per_h=leak_kg_per_h,
            other_fuel_kg=before.fuel_kg + approach.fuel_kg,
            other_time_min=before.time_min + approach.time_min,
        )
        spread = _spread(profile, configuration, flown, diversion)
        answers.append(Arrived(flown=flown, approach=approach, diversion=diversion, spread=spread))
    return tuple(answers)


def _spread(
    profile: Profile, configuration: Configuration, flown: Flown, diversion: Diversion
) -> Spread:
    return need_spread(
        profile,
        configuration=configuration,
        flown=flown,
        mass_kg=diversion.mass_kg,
        start_pressure_altitude_ft=diversion.start_pressure_altitude_ft,
        air=diversion.track.air,
        leak_kg_per_h=diversion.leak_kg_per_h,
        other_fuel_kg=diversion.other_fuel_kg,
        other_time_min=diversion.other_time_min,
    )
