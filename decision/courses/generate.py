"""Every course there is: now, from the last clean point, after a miss, and staying.

One flight to the missed approach point is shared by all courses that begin with the approach. Each
course flies in the configuration that the aircraft will really have there; which one that is, the
configurations of the situation know, so no course treats the irreversible step as a special case.
"""

from __future__ import annotations

from decision.course import Course, CourseKind, Origin
from decision.courses.approach import assigned_hold_min
from decision.courses.arrive import Approaching, Departure, approach_at_destination
from decision.courses.distance import from_present_nm, onward_by
from decision.courses.divert import Way, divert, leave
from decision.courses.flight import Flight
from decision.courses.miss import go_around, missed_track_nm
from decision.courses.situation import Situation
from decision.courses.stay import commit, landing_of_unknown_way, second_approach


def generate(situation: Situation, departure: Departure) -> tuple[Course, ...]:
    """Every course of a case that does not wait for better weather."""
    courses = _now(situation, departure.present)
    approaching = departure.approaching
    if approaching is None:
        return (*courses, landing_of_unknown_way(situation, departure.present))
    kind, hold_min = CourseKind.APPROACH_THEN_DIVERT, assigned_hold_min(situation)
    courses += _after_miss(situation, approaching, kind, hold_min=hold_min)
    if not approaching.flight.passed:
        courses += _from_clean_point(situation, approaching)
    return (*courses, second_approach(situation, approaching), commit(situation, approaching))


def generate_after_hold(
    situation: Situation, departure: Departure, *, hold_min: float
) -> tuple[Course, ...]:
    """The approach after a longer hold than planned, and after a miss each alternate."""
    approaching = approach_at_destination(situation, departure.present, hold_min=hold_min)
    if approaching is None:
        return ()
    kind = CourseKind.HOLD_THEN_APPROACH
    return _after_miss(situation, approaching, kind, hold_min=hold_min)


def _now(situation: Situation, present: Flight) -> tuple[Course, ...]:
    case = situation.case
    onward = [(leg, from_present_nm(case, leg)) for leg in case.alternates]
    return leave(situation, present, onward, origin=Origin.PRESENT)


def _from_clean_point(situation: Situation, approaching: Approaching) -> tuple[Course, ...]:
    """Leave where the gear would go down: the miles on to the threshold are flown back too."""
    flight = approaching.flight
    return leave(
        situation,
        flight.last_clean,
        onward_by(situation.case, flight.extension_nm),
        origin=Origin.LAST_CLEAN_POINT,
        hold_min=assigned_hold_min(situation),
    )


def _after_miss(
    situation: Situation, approaching: Approaching, kind: CourseKind, *, hold_min: float
) -> tuple[Course, ...]:
    """After one go-around, to each alternate."""
    minimum, missed = approaching.flight.minimum, approaching.attempt
    way = Way(
        kind=kind,
        origin=Origin.MISSED_APPROACH,
        flight=go_around(situation, minimum, missed),
        configuration=situation.configurations.after_miss,
        at_missed_approach_kg=minimum.state.usable_kg,
        missed=(missed,),
        missed_at=minimum.state.at,
        hold_min=hold_min,
    )
    return divert(situation, way, onward_by(situation.case, missed_track_nm(missed)))
