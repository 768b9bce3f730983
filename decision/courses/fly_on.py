"""Placeholder until the flight room lands."""

from __future__ import annotations

from decision.course import Course, CourseKind, Origin
from decision.courses.arrive import Departure
from decision.courses.distance import from_present_nm
from decision.courses.divert import Way, divert
from decision.courses.hold import held
from decision.courses.situation import Situation


def leave_after(
    situation: Situation, departure: Departure, *, minutes: float
) -> tuple[Course, ...]:
    flight = held(
        situation,
        departure.present,
        minutes,
        configuration=situation.configurations.present,
        name="x",
    )
    way = Way(
        kind=CourseKind.DIVERT_NOW,
        origin=Origin.PRESENT,
        flight=flight,
        configuration=situation.configurations.clean,
        at_missed_approach_kg=None,
        missed=(),
        missed_at=None,
        hold_min=0.0,
    )
    return divert(
        situation,
        way,
        [(leg, from_present_nm(situation.case, leg)) for leg in situation.case.alternates],
    )
