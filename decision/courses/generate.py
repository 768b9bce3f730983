"""Every course there is: now, from the last clean point, after a miss, and staying.

One flight to the missed approach point is shared by all courses that begin with the approach. Each
course flies in the configuration that the aircraft will really have there; which one that is, the
configurations of the situation know, so no course treats the irreversible step as a special case.
"""

from __future__ import annotations

from collections.abc import Iterator

from decision.case import Leg
from decision.course import Course, CourseKind, Origin
from decision.courses.arrive import Approaching, Departure, approach_at_destination
from decision.courses.distance import from_present_nm, onward_nm
from decision.courses.divert import Way, divert
from decision.courses.flight import Flight
from decision.courses.miss import go_around, missed_track_nm
from decision.courses.situation import Situation
from decision.courses.stay import commit, second_approach


def generate(situation: Situation, departure: Departure) -> tuple[Course, ...]:
    """Every course of a case that does not wait for better weather."""
    legs = situation.case.alternates
    courses = [_now(situation, departure.present, leg) for leg in legs]
    approaching = departure.approaching
    if approaching is None:
        return tuple(courses)
    kind, hold_min = CourseKind.APPROACH_THEN_DIVERT, situation.case.plan.hold_min
    courses += _after_miss(situation, approaching, kind, hold_min=hold_min)
    if not approaching.flight.passed:
        courses += [_from_clean_point(situation, approaching, leg) for leg in legs]
    courses += [second_approach(situation, approaching), commit(situation, approaching)]
    return tuple(courses)


def generate_after_hold(
    situation: Situation, departure: Departure, *, hold_min: float
) -> tuple[Course, ...]:
    """The approach after a longer hold than planned, and after a miss each alternate."""
    approaching = approach_at_destination(situation, departure.present, hold_min=hold_min)
    if approaching is None:
        return ()
    kind = CourseKind.HOLD_THEN_APPROACH
    return tuple(_after_miss(situation, approaching, kind, hold_min=hold_min))


def _now(situation: Situation, present: Flight, leg: Leg) -> Course:
    return divert(
        situation,
        leg,
        Way(
            kind=CourseKind.DIVERT_NOW,
            origin=Origin.PRESENT,
            flight=present,
            configuration=situation.configurations.clean,
            distance_nm=from_present_nm(situation.case, leg),
            at_missed_approach_kg=None,
            missed=(),
            missed_at=None,
            hold_min=0.0,
        ),
    )


def _from_clean_point(situation: Situation, approaching: Approaching, leg: Leg) -> Course:
    """Leave where the gear would go down: the miles on to the threshold are flown back too."""
    onward = onward_nm(situation.case, leg)
    return divert(
        situation,
        leg,
        Way(
            kind=CourseKind.DIVERT_NOW,
            origin=Origin.LAST_CLEAN_POINT,
            flight=approaching.flight.last_clean,
            configuration=situation.configurations.clean,
            distance_nm=None if onward is None else onward + approaching.flight.extension_nm,
            at_missed_approach_kg=None,
            missed=(),
            missed_at=None,
            hold_min=situation.case.plan.hold_min,
        ),
    )


def _after_miss(
    situation: Situation, approaching: Approaching, kind: CourseKind, *, hold_min: float
) -> Iterator[Course]:
    """After one go-around, to each alternate."""
    minimum, missed = approaching.flight.minimum, approaching.attempt
    away = go_around(situation, minimum, missed)
    miles = missed_track_nm(missed)
    for leg in situation.case.alternates:
        onward = onward_nm(situation.case, leg)
        way = Way(
            kind=kind,
            origin=Origin.MISSED_APPROACH,
            flight=away,
            configuration=situation.configurations.after_miss,
            distance_nm=None if onward is None else onward + miles,
            at_missed_approach_kg=minimum.state.usable_kg,
            missed=(missed,),
            missed_at=minimum.state.at,
            hold_min=hold_min,
        )
        yield divert(situation, leg, way)
