"""The second-best course, and what it costs or breaks beside the one that is chosen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from decision.course import CourseKind
from decision.decide.decision import Basis, Decision, Do
from decision.decide.judge import JudgedCourse
from decision.decide.measures import by_touchdown, lands_straight, minutes_to_touchdown
from decision.flight.situation import Situation
from decision.recommend.answer import Instead
from decision.recommend.words import broken_text, told_breaches
from decision.rules.finding import shown_up


def instead_of(
    decision: Decision, courses: Sequence[JudgedCourse], situation: Situation
) -> Instead | None:
    """The next course that ends elsewhere, or that does something else; None without any.

    Beside an urgent landing it is the next by touchdown.
    """
    if decision.basis is Basis.TIME_CRITICAL:
        courses = [*(each.judged for each in by_touchdown(courses, situation)), *courses]
    other = next((each for each in courses if _is_another(each, decision)), None)
    if other is None:
        return None
    return Instead(
        course=other,
        costs=tuple(_costs(other, _beside(decision, courses))),
        breaks=tuple(dict.fromkeys(map(broken_text, told_breaches(other)))),
    )


def _beside(decision: Decision, courses: Sequence[JudgedCourse]) -> JudgedCourse:
    """What its price is counted against: of an approach the landing that it is meant for."""
    if decision.do in (Do.APPROACH, Do.HOLD):
        here = (each for each in courses if each.course.kind is CourseKind.COMMIT_TO_LAND)
        return next(here, decision.chosen)
    return decision.chosen


def _is_another(judged: JudgedCourse, decision: Decision) -> bool:
    """Another landing than the one that is chosen: leaving for a place, or landing here."""
    course, chosen = judged.course, decision.chosen
    if not lands_straight(course) or course.label == chosen.course.label:
        return False
    approaches_here = decision.do in (Do.APPROACH, Do.HOLD)
    return not (approaches_here and course.kind is CourseKind.COMMIT_TO_LAND)


def _costs(other: JudgedCourse, chosen: JudgedCourse) -> Iterator[str]:
    """Minutes and fuel on landing that it costs."""
    minutes, least = minutes_to_touchdown(other.course), minutes_to_touchdown(chosen.course)
    if minutes is not None and least is not None and minutes > least:
        yield f"{shown_up(minutes - least, 'min')} later"
    ledger, own = other.course.ledger, chosen.course.ledger
    if ledger is not None and own is not None and ledger.landing_kg < own.landing_kg:
        yield f"{shown_up(own.landing_kg - ledger.landing_kg, 'kg')} less on landing"
