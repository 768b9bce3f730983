"""What it costs to put the gear out early: the same approach, with it out at each distance."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from decision.courses.approach import approach_flight, extension_nm
from decision.courses.flight import Flight
from decision.courses.situation import Situation
from decision.quantities import GearPosition

PRICED_NM: Final = (10.0, 7.0, 5.0)  # [PRACTICE] early, by the alternate system, and late
SAME_NM: Final = 0.05  # closer than a tenth of a mile is one distance


@dataclass(frozen=True, slots=True, kw_only=True)
class Extension:
    """The gear out at a distance to the threshold, and the fuel that leaves at the minimum.

    `more_kg`: what it takes above the latest of those that are compared.
    """

    distance_to_go_nm: float
    planned: bool
    at: datetime
    at_missed_approach_kg: float
    more_kg: float


def extensions(situation: Situation, present: Flight, *, hold_min: float) -> tuple[Extension, ...]:
    """As planned and at each distance that is still ahead, the furthest out first.

    Empty where the gear is out or does not go down, or the way is not known or cannot be flown.
    """
    is_up = situation.case.aircraft.gear is GearPosition.UP
    if not (is_up and situation.configurations.gear_extends):
        return ()
    planned_nm = extension_nm(situation)
    wanted = {planned_nm, *(nm for nm in PRICED_NM if abs(nm - planned_nm) > SAME_NM)}
    flown = {}
    for gear_nm in sorted(wanted, reverse=True):
        flight = approach_flight(situation, present, hold_min=hold_min, gear_nm=gear_nm)
        if flight is not None and not flight.passed and flight.minimum.limited_by is None:
            flown[flight.extension_nm] = flight
    most_kg = max((each.minimum.state.usable_kg for each in flown.values()), default=0.0)
    return tuple(
        Extension(
            distance_to_go_nm=distance_nm,
            planned=distance_nm == planned_nm,
            at=flight.last_clean.state.at,
            at_missed_approach_kg=flight.minimum.state.usable_kg,
            more_kg=most_kg - flight.minimum.state.usable_kg,
        )
        for distance_nm, flight in flown.items()
    )
