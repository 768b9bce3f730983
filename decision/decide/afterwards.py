"""What is flown and drawn once more when it is decided.

The last clean point and what passing it costs; figures of robustness that decide nothing: a second
miss, a second runway, every sample of how the fuel may turn out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from msgspec import Struct

from decision.attempt.arrival import any_procedure
from decision.attempt.attempt import Attempt
from decision.course import Course
from decision.decide.attempts import JudgedAttempt, JudgedAttempts
from decision.decide.decision import Basis, CleanPoint, Decision
from decision.decide.facts import no_alternate
from decision.decide.judge import JudgedCourse
from decision.flight.approach import ApproachFlight
from decision.flight.irreversible import (
    gear_is_down_for_good,
    penalties,
    stuck_at_clean_point,
)
from decision.flight.second_miss import (
    LeftAfterMiss,
    MissedThere,
    There,
    climb_there_percent,
    left_after,
    missed_there,
)
from decision.flight.situation import Situation
from decision.flight.stretches import State
from decision.flight.ways import Origin
from decision.performance import Leaving, Spread, full_spread
from decision.profile import Profile
from decision.profile.operator_tables import OutOfTable
from decision.rules.climb import charted_percent
from decision.rules.finding import Judgement

NO_MISSES: Final[Mapping[str, MissedAgain]] = MappingProxyType({})
TOLD: Final = 2  # worked out for so many legal courses, and for the chosen one [ASSUMED]


def provision_of(decision: Decision, situation: Situation) -> Judgement | None:
    """The provision that an approach without an alternate rests on; None where none does."""
    if decision.basis is not Basis.NO_ALTERNATE:
        return None
    return no_alternate(decision.chosen, situation)


def second_misses_of(
    courses: Sequence[JudgedCourse], decision: Decision, situation: Situation, *, figures: bool
) -> Mapping[str, MissedAgain]:
    """The misses at the end of courses of which it is told what they leave, by name of the course.

    Without `figures` only where the climb there is too weak, which every answer says.
    """
    best = [each for each in courses[:TOLD] if each.legal is True]
    told = {each.course.label: each.course for each in (decision.chosen, *best)}
    found = {
        label: missed_again(course, situation)
        for label, course in told.items()
        if figures or _climbs_less_than_charted(course, situation)
    }
    return {label: missed for label, missed in found.items() if missed is not None}


def _climbs_less_than_charted(course: Course, situation: Situation) -> bool:
    there = _there(course)
    asked = None if there is None else charted_percent(course.attempts[-1], situation)
    return there is not None and asked is not None and climb_there_percent(situation, there) < asked


class MissedAgain(Struct, frozen=True, kw_only=True, gc=False):
    """A miss at the end of a course, and the gradient that is charted for it."""

    missed: MissedThere
    charted_percent: float | None


def missed_again(course: Course, situation: Situation) -> MissedAgain | None:
    """The miss; None where the course is no diversion that can be flown, or there is no climb."""
    there = _there(course)
    missed = None if there is None else missed_there(situation, there)
    if missed is None:
        return None
    charted = charted_percent(course.attempts[-1], situation)
    return MissedAgain(missed=missed, charted_percent=charted)


def left_after_each(
    misses: Mapping[str, MissedAgain], situation: Situation
) -> Mapping[str, LeftAfterMiss]:
    """What they leave, of those of which it is known."""
    left = left_after(situation, [each.missed for each in misses.values()])
    return {
        label: replace(each, published_gradient_percent=misses[label].charted_percent)
        for label, each in zip(misses, left, strict=True)
        if each is not None
    }


def _there(course: Course) -> There | None:
    """The approach at the end of a diversion that can be flown."""
    if course.diversion is None or course.ledger is None or course.arrive_at is None:
        return None
    last = course.attempts[-1]
    landing = State(
        at=course.arrive_at,
        mass_kg=last.mass_kg,
        usable_kg=course.ledger.landing_kg,
        pressure_altitude_ft=course.leg.aerodrome.elevation_ft,
    )
    return There(leg=course.leg, approach=last.approach, landing=landing)


def second_runways_of(
    here: Attempt | None, chosen: JudgedCourse, situation: Situation, attempts: JudgedAttempts
) -> tuple[JudgedAttempt, ...]:
    """At the destination, and at the place of the chosen landing where that is another."""
    last = chosen.course.attempts[-1:]
    places = {each.icao: each for each in (*last, here) if each is not None}
    return tuple(
        other
        for attempt in places.values()
        for other in _second_runway(attempt, situation, attempts)
    )


def _second_runway(
    attempt: Attempt, situation: Situation, attempts: JudgedAttempts
) -> Iterator[JudgedAttempt]:
    """The best procedure to another runway; none where there is only one."""
    if attempt.runway is None:
        return
    there = attempts.at(situation, any_procedure(attempt))
    other = there.best_elsewhere(attempt.runway.ident)
    if other is not None:
        yield other


def clean_point_of(
    courses: Sequence[JudgedCourse],
    situation: Situation,
    flight: ApproachFlight | None,
    misses: Mapping[str, MissedAgain] = NO_MISSES,
) -> CleanPoint:
    """The point where the aircraft would be changed for good, and what is legal from there.

    `misses` will be asked about in the same configuration, and are flown in the same search.
    """
    if not situation.configurations.irreversible:
        return _none("already_passed" if gear_is_down_for_good(situation) else "none_ahead")
    if flight is None:
        return _none("distance_unknown")
    if flight.passed:
        return _none("already_passed")
    leaving = [each for each in courses if each.course.origin is Origin.LAST_CLEAN_POINT]
    best = next((each for each in leaving if each.legal is True), None)
    state = flight.last_clean.state
    return CleanPoint(
        distance_to_go_nm=flight.extension_nm,
        at=state.at,
        fuel_kg=state.usable_kg,
        best=best,
        penalties=penalties(
            situation, flight, beside=[each.missed.leaving for each in misses.values()]
        ),
        reason=None if best is not None else "no_legal_clean_course",
    )


def priced_from(situation: Situation, flight: ApproachFlight | None) -> tuple[Leaving, ...]:
    """From where the price of passing it will be asked for; none where there is no such point."""
    if flight is None or flight.passed or flight.last_clean.stopped is not None:
        return ()
    if not situation.configurations.irreversible:
        return ()
    return (stuck_at_clean_point(situation, flight),)


def _none(reason: str) -> CleanPoint:
    return CleanPoint(
        distance_to_go_nm=None, at=None, fuel_kg=None, best=None, penalties=(), reason=reason
    )


def fully_sampled(profile: Profile, course: Course) -> Spread | None:
    """The spread of a course's diversion with every sample flown; None: no diversion in it.

    None too where an operator's table has no flow for some of the samples. What the course itself
    carries is an estimate from fewer samples, good to about half a percent.
    """
    plan, level_ft, cas_kt = course.diversion, course.cruise_level_ft, course.cruise_cas_kt
    if plan is None or level_ft is None or cas_kt is None:
        return None
    try:
        return full_spread(
            profile,
            configuration=course.configuration,
            mass_kg=plan.mass_kg,
            distance_nm=plan.track.distance_nm,
            start_pressure_altitude_ft=plan.start_pressure_altitude_ft,
            end_pressure_altitude_ft=plan.track.end_pressure_altitude_ft,
            pressure_altitude_ft=level_ft,
            cas_kt=cas_kt,
            air=plan.track.air,
            leak_kg_per_h=plan.leak_kg_per_h,
            other_fuel_kg=plan.other_fuel_kg,
            other_time_min=plan.other_time_min,
        )
    except OutOfTable:
        return None
