"""From one place on to several aerodromes: each diversion with its approach and how sure it is.

The aircraft leaves in one state whatever the destination, so that all are flown together, and those
from several places in one configuration with them. The answer for a place is remembered: flip
points and rulebooks ask for the same again and again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from msgspec import Struct

from decision.flight.ledger import Diversion
from decision.flight.physics import approach_allowance, fly_from_each
from decision.performance import (
    CannotFly,
    Configuration,
    Flown,
    Leaving,
    NotKnown,
    Objective,
    Spread,
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


class Outset(Struct, frozen=True, kw_only=True, gc=False):
    """Where diversions begin, and what was used before them."""

    leaving: Leaving
    before: Before


def fly_onward(
    profile: Profile,
    *,
    configuration: Configuration,
    landing: Configuration,
    outsets: Sequence[Outset],
    leak_kg_per_h: float,
    objective: Objective,
    beside: Sequence[Leaving] = (),
) -> tuple[tuple[Onward, ...], ...]:
    """From each place each track, in one configuration, and approach in the other.

    `beside`: from where else flights in that configuration will be asked for; they are searched
    with these. Raises OutOfRange.
    """
    leaving = [*[each.leaving for each in outsets], *beside]
    if len(leaving) > 1:  # in one search, of which each place then finds its part
        fly_from_each(
            profile,
            configuration=configuration,
            leaving=leaving,
            leak_kg_per_h=leak_kg_per_h,
            objective=objective,
        )
    return tuple(
        [
            _fly_onward(
                profile,
                configuration=configuration,
                landing=landing,
                outset=each,
                leak_kg_per_h=leak_kg_per_h,
                objective=objective,
            )
            for each in outsets
        ]
    )


@lru_cache(maxsize=KEPT)
def _fly_onward(
    profile: Profile,
    *,
    configuration: Configuration,
    landing: Configuration,
    outset: Outset,
    leak_kg_per_h: float,
    objective: Objective,
) -> tuple[Onward, ...]:
    leaving, before = outset.leaving, outset.before
    (flights,) = fly_from_each(
        profile,
        configuration=configuration,
        leaving=(leaving,),
        leak_kg_per_h=leak_kg_per_h,
        objective=objective,
    )
    answers: list[Onward] = []
    for track, flown in zip(leaving.tracks, flights, strict=True):
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
            mass_kg=leaving.mass_kg,
            start_pressure_altitude_ft=leaving.pressure_altitude_ft,
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
