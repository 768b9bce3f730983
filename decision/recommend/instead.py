"""The second-best course, and what it costs or breaks beside the one that is chosen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from decision.course import CourseKind
from decision.courses.judge import JudgedCourse
from decision.courses.urgent import lands_straight, minutes_to_touchdown
from decision.recommend.answer import Decision, Do, Instead
from decision.recommend.words import broken_text
from decision.rules.finding import shown_up


def instead_of(decision: Decision, courses: Sequence[JudgedCourse]) -> Instead | None:
    """The next course that ends elsewhere, or that does something else; None without any."""
    other = next((each for each in courses if _is_another(each, decision)), None)
    if other is None:
        return None
    return Instead(
        course=other,
        costs=tuple(_costs(other, _beside(other, decision, courses))),
        breaks=tuple(dict.fromkeys(map(broken_text, other.breaches))),
    )


def _beside(
    other: JudgedCourse, decision: Decision, courses: Sequence[JudgedCourse]
) -> JudgedCourse:
    """What its price is counted against: of an approach the landing that it is meant for."""
    if decision.do is Do.APPROACH and lands_straight(other.course):
        here = (each for each in courses if each.course.kind is CourseKind.COMMIT_TO_LAND)
        return next(here, decision.chosen)
    return decision.chosen


def _is_another(judged: JudgedCourse, decision: Decision) -> bool:
    """A way that ends the flight, is not the chosen one, and has another place or deed."""
    course, chosen = judged.course, decision.chosen.course
    if course.label == chosen.label or course.kind is CourseKind.SECOND_APPROACH:
        return False
    if decision.do is Do.APPROACH:  # landing from it is what the approach is for, nothing else
        elsewhere = lands_straight(course) and course.kind is not CourseKind.COMMIT_TO_LAND
        return elsewhere or course.kind is chosen.kind
    return lands_straight(course)


def _costs(other: JudgedCourse, chosen: JudgedCourse) -> Iterator[str]:
    """Minutes and fuel on landing that it costs."""
    minutes, least = minutes_to_touchdown(other.course), minutes_to_touchdown(chosen.course)
    if minutes is not None and least is not None and minutes > least:
        yield f"{shown_up(minutes - least, 'min')} later"
    ledger, own = other.course.ledger, chosen.course.ledger
    if ledger is not None and own is not None and ledger.landing_kg < own.landing_kg:
        yield f"{shown_up(own.landing_kg - ledger.landing_kg, 'kg')} less on landing"
