"""The second-best course: what there is to do instead."""

from __future__ import annotations

from collections.abc import Sequence

from decision.course import CourseKind
from decision.decide.decision import Basis, Decision, Do
from decision.decide.judge import JudgedCourse
from decision.decide.measures import by_touchdown, lands_straight
from decision.flight.situation import Situation


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
