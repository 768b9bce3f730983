"""Obstacles under the missed approach: how far above each the aircraft passes, climbing as it can.

The climb begins at the minimum after a stretch flown level, over which thrust and attitude change,
and ends at the missed approach altitude.
"""

from __future__ import annotations

from typing import Final

from decision.attempt.attempt import Attempt, Clearance
from decision.flight.miss import missed_altitude_ft
from decision.flight.situation import Situation
from decision.performance.climb import altitude_at_distance

TRANSITION_S: Final = 15.0  # to the start of climb [PANS-OPS-I], from memory


def clearances(
    situation: Situation,
    drawn: Attempt,
    *,
    pressure_altitude_ft: float,
    isa_deviation_degc: float,
    headwind_kt: float,
) -> tuple[Clearance, ...]:
    """One for each obstacle of the procedure; none where its minimum is not known."""
    approach = drawn.approach
    if approach is None or approach.minimum_height_ft is None:
        return ()
    elevation_ft, minimum_ft = drawn.leg.aerodrome.elevation_ft, approach.minimum_height_ft
    start_ft = elevation_ft + minimum_ft
    return tuple(
        Clearance(
            obstacle=obstacle,
            altitude_ft=start_ft
            + altitude_at_distance(
                situation.case.aircraft.profile,
                configuration=situation.configurations.go_around,
                mass_kg=drawn.mass_kg,
                pressure_altitude_ft=pressure_altitude_ft + minimum_ft,
                isa_deviation_degc=isa_deviation_degc,
                distance_nm=obstacle.distance_nm,
                headwind_kt=headwind_kt,
                level_first_s=TRANSITION_S,
                most_gained_ft=max(0.0, missed_altitude_ft(drawn.leg, approach) - start_ft),
            ).height_gained_ft,
        )
        for obstacle in approach.obstacles
    )
