"""The order of courses: legal limits first, then preferences, then tie-breaks.

Three tables, so that nothing in a later one can outvote an earlier one. The order is total: two
different courses never compare equal, whatever order they came in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from decision.course import CourseKind
from decision.courses.judge import JudgedCourse
from decision.courses.margin import margin_p95_kg, policy_margin_kg
from decision.courses.situation import Situation
from decision.rules import DISTANCE_CODES, WEATHER_CODES, WIND_CODES
from decision.rules.breach import Breach
from decision.rules.finding import Outcome
from decision.systems import Urgency
from decision.windows import minutes_between

Term = Callable[[JudgedCourse, Situation], float]

KIND_ORDER: Final = (
    CourseKind.APPROACH_THEN_DIVERT,
    CourseKind.HOLD_THEN_APPROACH,
    CourseKind.DIVERT_NOW,
    CourseKind.COMMIT_TO_LAND,
    CourseKind.SECOND_APPROACH,
)

# Room as part of the limit below which one place is thought less of than another [ASSUMED].
TIGHT_WEATHER: Final = dict.fromkeys(WEATHER_CODES, 0.2)
TIGHT_RUNWAY: Final = dict.fromkeys(DISTANCE_CODES, 0.1) | dict.fromkeys(WIND_CODES, 0.2)
EXPOSURE_STEP_MIN: Final = 10.0  # finer differences do not outweigh fuel [ASSUMED]


def _illegal(judged: JudgedCourse, _situation: Situation) -> float:
    return {True: 0.0, None: 1.0, False: 2.0}[judged.legal]


def _worst_breach(judged: JudgedCourse, _situation: Situation) -> float:
    """The less grave the worst breach, the better; nothing broken is best."""
    return float(len(Breach) - judged.breaches[0].breach) if judged.breaches else 0.0


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
    minutes = judged.course.time_min
    return 0.0 if situation.capability.urgency is Urgency.NONE or minutes is None else minutes


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
    lacking = sum([finding.judgement.outcome is Outcome.UNKNOWN for finding in judged.found])
    return float(lacking + sum(len(attempt.unknown) for attempt in judged.course.attempts))


def _weather_tight(judged: JudgedCourse, _situation: Situation) -> float:
    """Whether ceiling or visibility is hardly above its minimum: a report rounds more than that."""
    return float(_has_less_room(judged, TIGHT_WEATHER))


def _runway_tight(judged: JudgedCourse, _situation: Situation) -> float:
    """Whether hardly any runway is left, or the wind is near a limit."""
    return float(_has_less_room(judged, TIGHT_RUNWAY))


def _has_less_room(judged: JudgedCourse, shares: Mapping[str, float]) -> bool:
    """Whether any of these rules has less room than its share of its limit."""
    for finding in judged.found:
        share = shares.get(finding.stated.rule)
        if share is None:
            continue
        margin, limit = finding.judgement.margin, finding.judgement.limit
        if margin is not None and limit and margin < share * abs(limit):
            return True
    return False


def _exposure(judged: JudgedCourse, _situation: Situation) -> float:
    """Minutes in the air after a miss, in the configuration it leaves, by tens."""
    course = judged.course
    if course.missed_at is None or course.arrive_at is None:
        return 0.0
    return minutes_between(course.missed_at, course.arrive_at) // EXPOSURE_STEP_MIN


def _margin(judged: JudgedCourse, situation: Situation) -> float:
    margin_kg = margin_p95_kg(judged.course, situation)
    return math.inf if margin_kg is None else -margin_kg


LIMITS: Final[tuple[Term, ...]] = (_illegal, _worst_breach, _amount_of_breach)
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


def ranked(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[JudgedCourse, ...]:
    """Best first."""
    return tuple(sorted(courses, key=lambda judged: _key(judged, situation)))


def _key(judged: JudgedCourse, situation: Situation) -> tuple[tuple[float, ...], str]:
    """Limits, preferences, and as tie-break the label, which is unique in an answer."""
    terms = (*LIMITS, *PREFERENCES)
    return tuple(term(judged, situation) for term in terms), judged.course.label
