"""What courses are measured by: fuel margins, and the clock of an urgent landing.

With a failure that asks for a landing as soon as possible the earliest touchdown decides, at the
destination and at alternates alike, after a few minutes for what each of them breaks. Nothing is
held for, and a miss is judged at neither place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from decision.course import COMMIT_TO_LAND, DIVERT_NOW, Course
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.flight.ways import PRESENT
from decision.rules.finding import UNKNOWN, Finding
from decision.rules.row import Figure, Means, Topic
from decision.systems import Urgency
from decision.units import MIN_PER_H
from decision.windows import minutes_between

MARGIN_HOLDING_MIN: Final = 5.0  # default of policy.margin_kg: five minutes of holding [ASSUMED]
SHARE_OF_EARLIEST: Final = 0.25  # what a missed limit may weigh, of the earliest time [ASSUMED]


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


def urgency_of(situation: Situation) -> Urgency:
    """As the failures have it; a leak asks for the nearest suitable aerodrome at least."""
    left = situation.capability
    leaks = situation.case.fuel.leak_kg_per_h > 0.0 or left.leak_rate_unknown
    if left.urgency is Urgency.NONE and leaks:
        return Urgency.NEAREST_SUITABLE
    return left.urgency


def leaks(situation: Situation) -> bool:
    """Whether fuel is being lost, at a rate that is known or not."""
    return situation.case.fuel.leak_kg_per_h > 0.0 or situation.capability.leak_rate_unknown


def leaves_now(course: Course) -> bool:
    """Whether it is a diversion from the present position."""
    return course.kind is DIVERT_NOW and course.origin is PRESENT


def lands_straight(course: Course) -> bool:
    """One course a place: landing here, or leaving now for an alternate."""
    return leaves_now(course) or course.kind is COMMIT_TO_LAND


def minutes_to_touchdown(course: Course) -> float | None:
    """Minutes from now to the landing at the end of the course; None where it is not flown."""
    if course.arrive_at is None:
        return None
    return minutes_between(course.start_at, course.arrive_at)


def broken_when_urgent(judged: JudgedCourse) -> tuple[Finding, ...]:
    """What counts against a course when a miss is not judged: its gradient does not."""
    return tuple(each for each in judged.breaches if each.by.figure is not Figure.MISSED_GRADIENT)


def is_suitable(judged: JudgedCourse) -> bool:
    """No endangering breach, fuel apart, which is told on its own; nothing advised against."""
    hazardous = any(each.by.topic is Topic.HAZARD for each in judged.advised_against)
    return is_safe(judged) and not hazardous and judged.course.limited_by is None


def is_safe(judged: JudgedCourse) -> bool:
    """No endangering breach, fuel apart."""
    return not any(
        each.breach.endangers and each.by.topic is not Topic.FUEL for each in judged.breaches
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """A course with its minutes to touchdown and those that its breaches add."""

    judged: JudgedCourse
    minutes: float
    added_min: float
    left_out: bool

    @property
    def weighed_min(self) -> float:
        """What is compared."""
        return self.minutes + self.added_min


def by_touchdown(courses: Iterable[JudgedCourse], situation: Situation) -> tuple[Weighed, ...]:
    """One course a place in the order of an urgent landing, those that are left out last."""
    flown = [
        (judged, minutes)
        for judged in courses
        if lands_straight(judged.course)
        and (minutes := minutes_to_touchdown(judged.course)) is not None
    ]
    candidates = [minutes for judged, minutes in flown if not _left_out(judged)]
    earliest_min = min(candidates or (minutes for _, minutes in flown), default=0.0)
    weighed = [
        Weighed(
            judged=judged,
            minutes=minutes,
            added_min=_added_min(judged, situation, earliest_min=earliest_min),
            left_out=_left_out(judged),
        )
        for judged, minutes in flown
    ]
    return tuple(sorted(weighed, key=_order))


def _order(weighed: Weighed) -> tuple[bool, int, float, str]:
    """Of those that are all left out the earliest among the lightest."""
    gravity = 0
    if weighed.left_out:
        gravity = -min(each.breach for each in broken_when_urgent(weighed.judged))
    return weighed.left_out, gravity, weighed.weighed_min, weighed.judged.course.label


def _left_out(judged: JudgedCourse) -> bool:
    return any(Means.LEFT_OUT in each.breach.means for each in broken_when_urgent(judged))


def _added_min(judged: JudgedCourse, situation: Situation, *, earliest_min: float) -> float:
    policy = situation.case.policy
    broken = {each.breach for each in broken_when_urgent(judged)}
    dangers = sum(each.endangers for each in broken) + _is_blind(judged.found)
    little_min = min(policy.time_critical_trade_min, SHARE_OF_EARLIEST * earliest_min)
    missed = any(Means.LITTLE in each.means for each in broken)
    return dangers * policy.endangering_trade_min + missed * little_min


def _is_blind(found: Sequence[Finding]) -> bool:
    """Whether weather or stopping is not known: it counts as a danger, at every place alike."""
    return any(
        each.judgement.outcome is UNKNOWN and (each.by.stops or each.by.topic.reported)
        for each in found
    )
