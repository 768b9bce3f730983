"""The order of courses: legal limits first, then preferences, then tie-breaks.

Three tables, so that nothing in a later one can outvote an earlier one. The order is total: two
different courses never compare equal, whatever order they came in.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from decision.course import CourseKind
from decision.courses.judge import JudgedCourse
from decision.courses.margin import margin_p95_kg, policy_margin_kg
from decision.courses.situation import Situation
from decision.rules.registry import Breach
from decision.systems import Urgency

Term = Callable[[JudgedCourse, Situation], float]

KIND_ORDER: Final = (
    CourseKind.APPROACH_THEN_DIVERT,
    CourseKind.HOLD_THEN_APPROACH,
    CourseKind.DIVERT_NOW,
    CourseKind.COMMIT_TO_LAND,
    CourseKind.SECOND_APPROACH,
)


def _illegal(judged: JudgedCourse, _situation: Situation) -> float:
    return {True: 0.0, None: 1.0, False: 2.0}[judged.legal]


def _worst_breach(judged: JudgedCourse, _situation: Situation) -> float:
    """The less grave the worst breach, the better; nothing broken is best."""
    return float(len(Breach) - judged.breaches[0][0]) if judged.breaches else 0.0


def _amount_of_breach(judged: JudgedCourse, _situation: Situation) -> float:
    """How far the worst rule is missed, in its own unit, as part of its limit."""
    if not judged.breaches:
        return 0.0
    judgement = judged.breaches[0][1].judgement
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


def _margin(judged: JudgedCourse, situation: Situation) -> float:
    margin_kg = margin_p95_kg(judged.course, situation)
    return math.inf if margin_kg is None else -margin_kg


LIMITS: Final[tuple[Term, ...]] = (_illegal, _worst_breach, _amount_of_breach)
PREFERENCES: Final[tuple[Term, ...]] = (_thin, _time_when_urgent, _kind, _margin)


def ranked(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[JudgedCourse, ...]:
    """Best first."""
    return tuple(sorted(courses, key=lambda judged: _key(judged, situation)))


def _key(judged: JudgedCourse, situation: Situation) -> tuple[tuple[float, ...], str]:
    """Limits, preferences, and as tie-break the label, which is unique in an answer."""
    terms = (*LIMITS, *PREFERENCES)
    return tuple(term(judged, situation) for term in terms), judged.course.label
