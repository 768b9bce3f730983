"""Where and when an approach is flown, how heavy, and what for: the question of an attempt."""

from __future__ import annotations

from datetime import datetime
from typing import Final

import msgspec

from decision.attempt.attempt import Attempt, Role
from decision.case import Leg
from decision.flight.situation import Situation
from decision.performance import Spread
from decision.windows import Window, around

WEATHER_AT_MINIMUM_MIN: Final = 15.0  # an approach is judged on a quarter of an hour of weather


class Arrival(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One arrival. `approach_id` and `runway_ident`: what is wanted there; None: any."""

    leg: Leg
    role: Role
    at: datetime
    window: Window
    mass_kg: float
    approach_id: str | None = None
    runway_ident: str | None = None


def window_of_approach(at: datetime) -> Window:
    """The weather that an approach is judged by whose minimum is reached then."""
    return around(at, before_min=0.0, after_min=WEATHER_AT_MINIMUM_MIN)


def window_of_alternate(situation: Situation, at: datetime, spread: Spread) -> Window:
    """The rulebook's window around the arrival, widened by how early or late it may be.

    It never reaches into the past, of which no report in force speaks.
    """
    book = situation.rulebook
    bar = situation.case.policy.alternate_bar
    whole = around(
        at,
        before_min=book.number(f"alternate_{bar}_before_min")
        + spread.time_p50_min
        - spread.time_p5_min,
        after_min=book.number(f"alternate_{bar}_after_min")
        + spread.time_p95_min
        - spread.time_p50_min,
    )
    return Window(max(whole.start_at, situation.case.as_of), whole.end_at)


def any_procedure(attempt: Attempt) -> Arrival:
    """The arrival of an attempt, whatever procedure and runway was planned."""
    return Arrival(
        leg=attempt.leg,
        role=attempt.role,
        at=attempt.at,
        window=attempt.window,
        mass_kg=attempt.mass_kg,
    )
