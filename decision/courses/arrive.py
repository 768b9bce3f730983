"""The approach at the destination, flown to its minimum by the procedure that is best there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from decision.course import Attempt, Role
from decision.courses.approach import (
    ApproachFlight,
    approach_flight,
    assigned_hold_min,
    present_flight,
)
from decision.courses.attempts import attempts
from decision.courses.choose import best_attempt
from decision.courses.flight import Flight
from decision.courses.situation import Situation
from decision.windows import around

WEATHER_AT_MINIMUM_MIN: Final = 15.0  # an approach is judged on a quarter of an hour of weather


@dataclass(frozen=True, slots=True, kw_only=True)
class Approaching:
    """The approach at the destination: its flight, and the attempt that is best there."""

    flight: ApproachFlight
    attempt: Attempt


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """What all courses begin with: the aircraft now, and the approach as planned.

    `approaching` is None when the distance to run is not known.
    """

    present: Flight
    approaching: Approaching | None


def departure_of(situation: Situation) -> Departure:
    """The beginning of every course, flown once."""
    present = present_flight(situation)
    hold_min = assigned_hold_min(situation)
    return Departure(
        present=present,
        approaching=approach_at_destination(situation, present, hold_min=hold_min),
    )


def approach_at_destination(
    situation: Situation, present: Flight, *, hold_min: float
) -> Approaching | None:
    """The approach flown to its minimum by the best procedure; None: distance not known."""
    flight = approach_flight(situation, present, hold_min=hold_min)
    if flight is None:
        return None
    minimum = flight.minimum.state
    candidates = attempts(
        situation,
        leg=situation.case.destination,
        role=Role.MISSED,
        at=minimum.at,
        window=around(minimum.at, before_min=0.0, after_min=WEATHER_AT_MINIMUM_MIN),
        mass_kg=minimum.mass_kg,
        approach_id=situation.case.plan.approach,
        runway_ident=situation.case.plan.runway,
    )
    return Approaching(flight=flight, attempt=best_attempt(situation, candidates))
