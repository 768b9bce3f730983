"""A miss at the alternate as well, told for the best few courses: what is left, and the climb.

A figure of robustness that decides nothing; where the aircraft climbs less there than the missed
approach asks for, a caution says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from decision.course import AfterMissThere, Course
from decision.decide.decision import Decision
from decision.decide.judge import JudgedCourse
from decision.flight.second_miss import There, after_miss_there
from decision.flight.situation import Situation
from decision.flight.stretches import State
from decision.recommend.cautions import heaviest_first
from decision.rules.climb import charted_percent
from decision.rules.finding import shown, shown_down
from decision.systems import SystemCaution, Weight

TOLD: Final = 2  # worked out for so many legal courses, and for the chosen one [ASSUMED]


def second_misses_of(
    courses: Sequence[JudgedCourse], decision: Decision, situation: Situation
) -> Mapping[str, AfterMissThere]:
    """What a miss at its end leaves, by the name of the course."""
    best = [each for each in courses[:TOLD] if each.legal is True]
    told = {each.course.label: each.course for each in (decision.chosen, *best)}
    found = {label: missed_there(course, situation) for label, course in told.items()}
    return {label: left for label, left in found.items() if left is not None}


def missed_there(course: Course, situation: Situation) -> AfterMissThere | None:
    """What a miss at the end of a course leaves.

    None, too, where the course is no diversion that can be flown.
    """
    if course.diversion is None or course.ledger is None or course.arrive_at is None:
        return None
    last = course.attempts[-1]
    landing = State(
        at=course.arrive_at,
        mass_kg=last.mass_kg,
        usable_kg=course.ledger.landing_kg,
        pressure_altitude_ft=course.leg.aerodrome.elevation_ft,
    )
    there = There(leg=course.leg, approach=last.approach, landing=landing)
    left = after_miss_there(situation, there)
    return left and replace(left, published_gradient_percent=charted_percent(last, situation))


def with_second_misses(
    cautions: Sequence[SystemCaution], second_misses: Mapping[str, AfterMissThere]
) -> tuple[SystemCaution, ...]:
    """The cautions with one for each place where a second miss could not climb away."""
    short: dict[str, SystemCaution] = {}
    for label, left in second_misses.items():
        if left.climb_short:
            icao = label.split(":")[1]
            short.setdefault(icao, _caution(icao, left))
    return heaviest_first((*cautions, *short.values()))


def _caution(icao: str, left: AfterMissThere) -> SystemCaution:
    gradient = shown_down(left.gradient_percent or 0.0, "percent")
    published = shown(left.published_gradient_percent or 0.0, "percent")
    return SystemCaution(
        code="NO_CLIMB_THERE",
        text=f"Missing the approach at {icao} too: climb {gradient}, asked for {published}.",
        weight=Weight.CAUTION,
        because=(),
    )
