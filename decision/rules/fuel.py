"""Fuel on landing against the final reserve: the planned one, and the one of the stuck aircraft."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from decision.course import Course
from decision.flight.ledger import Ledger
from decision.rules.combine import at_least, doubtful, unknown
from decision.rules.finding import Judgement
from decision.rules.registry import Context, CourseRule
from decision.rules.row import Breach
from decision.units import MIN_PER_H

NEARLY_GONE_MIN: Final = 10.0  # minutes of fuel at touchdown below which people are in danger


def _missing(course: Course) -> str:
    if course.limited_by is not None:
        return "the way cannot be flown"
    return f"{', '.join(course.unknown) or 'the way'} not known"


def _judged(course: Course, reserve_kg: Callable[[Ledger], float], *, given: str = "") -> Judgement:
    """Too little is too little, whatever else is not known; enough is not known to be enough."""
    what, ledger = f"fuel on landing at {course.icao}", course.ledger
    if ledger is None:
        named = f"{what}, {given}" if given else what
        return unknown(f"{named}: {_missing(course)}", lacks=course.unknown)
    judged = at_least(what, ledger.landing_kg, reserve_kg(ledger), unit="kg", given=given)
    judged = judged.meaning(_breach(course, ledger))
    return doubtful(judged, _missing(course) if course.unknown else None, lacks=course.unknown)


def _breach(course: Course, ledger: Ledger) -> Breach:
    """Little fuel is worse the less of it is left."""
    if ledger.landing_kg <= 0.0:
        return Breach.ENGINES_STOP
    nearly_gone_kg = course.holding_flow_kg_per_h * NEARLY_GONE_MIN / MIN_PER_H
    nearly_gone = ledger.landing_kg < nearly_gone_kg
    return Breach.FUEL_NEARLY_GONE if nearly_gone else Breach.UNDER_RESERVE


def planned_reserve(course: Course, _context: Context) -> Judgement:
    """The legal limit: planned final reserve on landing."""
    return _judged(course, lambda ledger: ledger.planned_reserve_kg)


def configured_reserve(course: Course, _context: Context) -> Judgement:
    """Half an hour as the aircraft then flies: the greater of the two reserves governs."""
    given = f"half an hour with {course.configuration.label}"
    return _judged(course, lambda ledger: ledger.final_reserve_kg, given=given)


RULES: Final[tuple[CourseRule, ...]] = (
    CourseRule(
        "FU-01",
        "Planned final reserve on landing",
        "fuel_in_flight",
        Breach.UNDER_RESERVE,
        planned_reserve,
    ),
    CourseRule(
        "FU-02",
        "Final reserve in the configuration on arrival",
        "final_reserve_min",
        Breach.UNDER_RESERVE,
        configured_reserve,
        told_by="FU-01",
    ),
)
