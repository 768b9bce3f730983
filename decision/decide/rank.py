"""The order of courses: legal limits first, then preferences, then tie-breaks.

Three tables, so that nothing in a later one can outvote an earlier one. The order is total: two
different courses never compare equal, whatever order they came in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from decision.course import CourseKind
from decision.decide.decision import Basis, Decision, Do
from decision.decide.judge import JudgedCourse
from decision.decide.measures import (
    by_touchdown,
    lands_straight,
    margin_p95_kg,
    minutes_to_touchdown,
    policy_margin_kg,
    urgency_of,
)
from decision.flight.situation import Situation
from decision.rules.finding import UNKNOWN, Judgement
from decision.rules.row import Breach
from decision.systems import Urgency
from decision.windows import minutes_between

Term = Callable[[JudgedCourse, Situation], float]
Key = tuple[tuple[float, ...], str]
Keys = dict[int, Key]

KIND_ORDER: Final = (
    CourseKind.APPROACH_THEN_DIVERT,
    CourseKind.HOLD_THEN_APPROACH,
    CourseKind.DIVERT_NOW,
    CourseKind.COMMIT_TO_LAND,
    CourseKind.SECOND_APPROACH,
)

NO_URGENCY: Final = Urgency.NONE
EXPOSURE_STEP_MIN: Final = 10.0  # finer differences do not outweigh fuel [ASSUMED]


def _only_a_figure(judged: JudgedCourse, _situation: Situation) -> float:
    """A second approach is a figure about the time after a miss, never a way to choose."""
    return float(judged.course.kind is CourseKind.SECOND_APPROACH)


def _illegal(judged: JudgedCourse, _situation: Situation) -> float:
    return {True: 0.0, None: 1.0, False: 2.0}[judged.legal]


def _advised_against(judged: JudgedCourse, _situation: Situation) -> float:
    return float(bool(judged.advised_against))


def _worst_breach(judged: JudgedCourse, _situation: Situation) -> float:
    """The less grave the worst breach, the better; nothing broken is best."""
    return 0.0 if judged.worst is None else float(len(Breach) - judged.worst)


def _amount_of_breach(judged: JudgedCourse, _situation: Situation) -> float:
    """How far the worst rule is missed, in its own unit, as part of its limit."""
    if not judged.breaches:
        return 0.0
    judgement = judged.breaches[0].judgement
    if judgement.margin is None or not judgement.limit:
        return math.inf
    return -judgement.margin / abs(judgement.limit)


def _time_when_urgent(judged: JudgedCourse, situation: Situation) -> float:
    """Minutes to the ground, where the failure asks for an early landing."""
    if urgency_of(situation) is NO_URGENCY:
        return 0.0
    minutes = minutes_to_touchdown(judged.course)
    return 0.0 if minutes is None else minutes


def _kind(judged: JudgedCourse, _situation: Situation) -> float:
    return float(KIND_ORDER.index(judged.course.kind))


def _thin(judged: JudgedCourse, situation: Situation) -> float:
    """Whether the margin at the policy's percentile misses what the policy wants."""
    margin_kg = margin_p95_kg(judged.course, situation)
    if margin_kg is None:
        return 1.0
    return float(margin_kg < policy_margin_kg(judged.course, situation))


def _unknowns(judged: JudgedCourse, _situation: Situation) -> float:
    """How many rules nobody can answer, and figures that nobody has."""
    lacking = 0  # of a legal course nothing is unknown
    if judged.legal is not True:
        lacking = [finding.judgement.outcome for finding in judged.found].count(UNKNOWN)
    return float(lacking + sum([len(attempt.unknown) for attempt in judged.course.attempts]))


def _weather_tight(judged: JudgedCourse, _situation: Situation) -> float:
    """Whether ceiling or visibility is hardly above its minimum: a report rounds more than that."""
    return _any_tight(
        [
            (share, judgement)
            for finding in judged.found
            if (judgement := finding.judgement).limit
            and (share := finding.stated.by.tight_weather_ratio) is not None
        ]
    )


def _runway_tight(judged: JudgedCourse, _situation: Situation) -> float:
    """Whether hardly any runway is left, or the wind is near a limit."""
    return _any_tight(
        [
            (share, judgement)
            for finding in judged.found
            if (judgement := finding.judgement).limit
            and (share := finding.stated.by.tight_runway_ratio) is not None
        ]
    )


def _any_tight(shares: Sequence[tuple[float, Judgement]]) -> float:
    """Whether any of these has less room than that share of its limit."""
    for share, judgement in shares:
        margin, limit = judgement.margin, judgement.limit
        if margin is not None and limit and margin < share * abs(limit):
            return 1.0
    return 0.0


def _exposure(judged: JudgedCourse, _situation: Situation) -> float:
    """Minutes in the air after a miss, in the configuration it leaves, by tens."""
    course = judged.course
    if course.missed_at is None or course.arrive_at is None:
        return 0.0
    return minutes_between(course.missed_at, course.arrive_at) // EXPOSURE_STEP_MIN


def _margin(judged: JudgedCourse, situation: Situation) -> float:
    margin_kg = margin_p95_kg(judged.course, situation)
    return math.inf if margin_kg is None else -margin_kg


def _landing(judged: JudgedCourse, _situation: Situation) -> float:
    """More fuel on landing is better."""
    ledger = judged.course.ledger
    return math.inf if ledger is None else -ledger.landing_kg


LIMITS: Final[tuple[Term, ...]] = (
    _only_a_figure,
    _illegal,
    _advised_against,
    _worst_breach,
    _amount_of_breach,
)
PREFERENCES: Final[tuple[Term, ...]] = (
    _thin,
    _time_when_urgent,
    _kind,
    _unknowns,
    _weather_tight,
    _runway_tight,
    _exposure,
    _margin,
)
ORDER: Final = (*LIMITS, *PREFERENCES)
LEAST_BAD: Final[tuple[Term, ...]] = (_worst_breach, _amount_of_breach, _landing, _unknowns)


def ranked(
    courses: Sequence[JudgedCourse], situation: Situation, *, known: Keys | None = None
) -> tuple[JudgedCourse, ...]:
    """Best first. `known`: what courses that are kept weigh, by their identity; more is added."""
    keys = {} if known is None else known
    for each in courses:
        if id(each) not in keys:
            keys[id(each)] = _key(each, situation)
    return tuple(sorted(courses, key=lambda judged: keys[id(judged)]))


def _key(judged: JudgedCourse, situation: Situation) -> Key:
    """Limits, preferences, and as tie-break the label, which is unique in an answer."""
    return tuple([term(judged, situation) for term in ORDER]), judged.course.label


def least_bad(courses: Sequence[JudgedCourse], situation: Situation) -> JudgedCourse | None:
    """The landing that breaks least where none is legal; None where no place is known at all.

    The worst broken item decides, then by how much, then fuel on landing. Under nearest suitable
    the courses that endanger nobody go by touchdown, within the trade by what they break.
    """
    landings = [each for each in courses if lands_straight(each.course)] or list(courses)
    if not landings:
        return None
    if urgency_of(situation) is not Urgency.NONE:
        safe = [each for each in landings if not each.endangers]
        landings = _within_the_trade(safe, situation) or landings
    return min(landings, key=lambda judged: _badness(judged, situation))


def _within_the_trade(landings: Sequence[JudgedCourse], situation: Situation) -> list[JudgedCourse]:
    """The earliest landing, and those later by no more than the trade."""
    times = [(each, minutes_to_touchdown(each.course)) for each in landings]
    known = [minutes for _, minutes in times if minutes is not None]
    latest_min = min(known, default=math.inf) + situation.case.policy.nearest_trade_min
    return [each for each, minutes in times if minutes is not None and minutes <= latest_min]


def _badness(judged: JudgedCourse, situation: Situation) -> tuple[tuple[float, ...], str]:
    terms = tuple([term(judged, situation) for term in LEAST_BAD])
    return terms, judged.course.label


def second_best(
    decision: Decision, courses: Sequence[JudgedCourse], situation: Situation
) -> JudgedCourse | None:
    """The next course that ends elsewhere, or that does something else; None without any.

    Beside an urgent landing it is the next by touchdown.
    """
    if decision.basis is Basis.TIME_CRITICAL:
        courses = [*(each.judged for each in by_touchdown(courses, situation)), *courses]
    return next((each for each in courses if _is_another(each, decision)), None)


def _is_another(judged: JudgedCourse, decision: Decision) -> bool:
    """Another landing than the one that is chosen: leaving for a place, or landing here."""
    course = judged.course
    if not lands_straight(course) or course.label == decision.chosen.course.label:
        return False
    approaches_here = decision.do in (Do.APPROACH, Do.HOLD)
    return not (approaches_here and course.kind is CourseKind.COMMIT_TO_LAND)
