"""From the minimum back up: the go-around in the configuration that the aircraft is stuck with.

And from there, for a second approach at the same place.
"""

from __future__ import annotations

from typing import Final

from decision.case import Approach, Leg
from decision.flight.physics import approach_allowance, fly_go_around
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, held
from decision.performance import CALM_STANDARD
from decision.systems import Drive

SECOND_APPROACH_MIN: Final = 10.0  # repositioning between two approaches [PRACTICE]
MISSED_HEIGHT_FT: Final = 3000.0  # where no missed approach altitude is published [ASSUMED]


def missed_track_nm(approach: Approach | None) -> float:
    """Miles of the missed approach before the diversion track is joined."""
    return 0.0 if approach is None else approach.missed_track_nm


def missed_altitude_ft(leg: Leg, approach: Approach | None) -> float:
    """Where the missed approach ends: as published, else by assumption."""
    published = None if approach is None else approach.missed_altitude_ft
    return leg.aerodrome.elevation_ft + MISSED_HEIGHT_FT if published is None else published


def go_around(
    situation: Situation,
    minimum: Flight,
    leg: Leg,
    approach: Approach | None,
    *,
    share: float = 1.0,
) -> Flight:
    """From the minimum to the missed approach altitude, flaps retracted as far as they will.

    `share`: how much of the climb and of a slow retraction is flown, for an approach that is broken
    off before its minimum.
    """
    if minimum.stopped is not None:
        return minimum
    case, plan = situation.case, situation.configurations
    level_ft = minimum.state.pressure_altitude_ft
    whole_ft = max(missed_altitude_ft(leg, approach), level_ft)
    top_ft = whole_ft * share + level_ft * (1.0 - share)
    flight = minimum.then(
        fly_go_around(
            case.aircraft.profile,
            configuration=plan.go_around,
            mass_kg=minimum.state.mass_kg,
            start_pressure_altitude_ft=minimum.state.pressure_altitude_ft,
            end_pressure_altitude_ft=top_ft,
            air=CALM_STANDARD,
            leak_kg_per_h=case.fuel.leak_kg_per_h,
        ),
        pressure_altitude_ft=top_ft,
    )
    return _slow_retraction(situation, flight, share)


def _slow_retraction(situation: Situation, flight: Flight, share: float) -> Flight:
    """The minutes in which a slow drive keeps the flaps out; no miles are credited for them."""
    flaps = situation.capability.flap
    plan = situation.configurations
    if flaps.drive is not Drive.SLOW or plan.go_around.flap == plan.after_miss.flap:
        return flight
    return held(
        situation,
        flight,
        situation.case.aircraft.profile.approach.flap_retraction_slow_min * share,
        configuration=plan.go_around,
        name="flap retraction by the slow drive",
    )


def second_approach(
    situation: Situation, minimum: Flight, leg: Leg, approach: Approach | None
) -> Flight:
    """Miss, reposition, and land from the next approach to the same place."""
    plan = situation.configurations
    again = held(
        situation,
        go_around(situation, minimum, leg, approach),
        SECOND_APPROACH_MIN,
        configuration=plan.after_miss,
        name="repositioning for a second approach",
    )
    if again.stopped is not None:
        return again
    return again.then(
        approach_allowance(
            situation.case.aircraft.profile,
            configuration=plan.landing,
            mass_kg=again.state.mass_kg,
            pressure_altitude_ft=again.state.pressure_altitude_ft,
            leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
        )
    )
