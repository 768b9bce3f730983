"""Fuel margins of a course: at the policy's percentile, and what the policy wants."""

from __future__ import annotations

from typing import Final

from decision.course import Course
from decision.courses.situation import Situation
from decision.units import MIN_PER_H

MARGIN_HOLDING_MIN: Final = 5.0  # default of policy.margin_kg: five minutes of holding [ASSUMED]


def margin_p95_kg(course: Course, situation: Situation) -> float | None:
    """Fuel above the final reserve when the flight needs as much as at the policy's percentile."""
    if course.ledger is None:
        return None
    return course.ledger.margin_at_kg(situation.case.policy.margin_percentile)


def policy_margin_kg(course: Course, situation: Situation) -> float:
    """What the policy wants above the final reserve."""
    wanted = situation.case.policy.margin_kg
    if wanted is not None:
        return wanted
    return course.holding_flow_kg_per_h * MARGIN_HOLDING_MIN / MIN_PER_H


def minutes_left(course: Course) -> float | None:
    """Minutes of holding that the fuel on landing would last; None when not flown."""
    if course.ledger is None or course.holding_flow_kg_per_h <= 0.0:
        return None
    return course.ledger.landing_kg / course.holding_flow_kg_per_h * MIN_PER_H
