"""How long the aircraft can wait: two deadlines, one for leaving clean, one for trying and missing.

Both follow from fuel at the present holding flow, which takes the leak with it. A deadline of a way
that is not legal is None. Minutes count from the case and take in the hold that a way begins with.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Final

from decision.course import Course, CourseKind, Origin
from decision.courses.air import en_route_deviation_degc
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation
from decision.performance import holding_flow_kg_per_h
from decision.recommend.answer import Deadline, Holding
from decision.systems import LimitName
from decision.units import MIN_PER_H

TRY_AND_MISS: Final = (CourseKind.APPROACH_THEN_DIVERT, CourseKind.HOLD_THEN_APPROACH)


def holding_of(courses: Sequence[JudgedCourse], situation: Situation) -> Holding:
    """Both deadlines."""
    clean = [
        each
        for each in courses
        if each.course.kind is CourseKind.DIVERT_NOW and each.course.origin is Origin.PRESENT
    ]
    missed = [each for each in courses if each.course.kind in TRY_AND_MISS]
    return Holding(
        clean_diversion=_deadline(clean, situation),
        approach_and_miss=_deadline(missed, situation),
    )


def present_flow_kg_per_h(situation: Situation) -> float:
    """Flow of a hold at the present level in the present configuration, with the leak."""
    aircraft = situation.case.aircraft
    return situation.case.fuel.leak_kg_per_h + holding_flow_kg_per_h(
        aircraft.profile,
        configuration=situation.configurations.present,
        mass_kg=aircraft.mass_kg,
        pressure_altitude_ft=aircraft.pressure_altitude_ft,
        isa_deviation_degc=en_route_deviation_degc(situation.case, aircraft.pressure_altitude_ft),
    )


def _deadline(courses: Sequence[JudgedCourse], situation: Situation) -> Deadline | None:
    """The last to go of the legal courses decides, capped by what limits time in the air."""
    legal = [each.course for each in courses if each.legal is True]
    if not legal:
        return None  # nothing to hold for; without an engine there is no flow to divide by either
    flow_kg_per_h = present_flow_kg_per_h(situation)
    minutes, limited_by = max(
        _longest(course, situation, flow_kg_per_h) for course in legal if course.ledger is not None
    )
    return Deadline(
        minutes=minutes,
        until=situation.case.as_of + timedelta(minutes=minutes),
        limited_by=limited_by,
    )


def _longest(course: Course, situation: Situation, flow_kg_per_h: float) -> tuple[float, str]:
    """Minutes that one course can still be put off: by its fuel, or by the time left in the air."""
    margin_kg = 0.0 if course.ledger is None else course.ledger.margin_kg
    by_fuel = course.hold_min + margin_kg / flow_kg_per_h * MIN_PER_H, f"fuel for {course.icao}"
    aloft = situation.capability.limit(LimitName.MAX_TIME_ALOFT_MIN)
    if aloft is None or course.time_min is None:
        return by_fuel
    return min(by_fuel, (course.hold_min + aloft.value - course.time_min, aloft.because))
