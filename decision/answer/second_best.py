"""The second-best course with its price, and the second-best runways with what they lack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from decision.answer import types as told
from decision.answer.words import broken_text, told_breaches
from decision.course import CourseKind
from decision.decide.attempts import JudgedAttempt
from decision.decide.decision import Decision, Do
from decision.decide.judge import JudgedCourse, first_of
from decision.decide.measures import minutes_to_touchdown
from decision.rules.finding import Outcome, shown_up

TELLS: Final = (Outcome.FAIL, Outcome.UNKNOWN)


def instead_told(
    other: JudgedCourse | None, decision: Decision, courses: Sequence[JudgedCourse]
) -> told.SecondBest | None:
    """The second-best course, what it costs beside the chosen one, and what it breaks."""
    if other is None:
        return None
    return told.SecondBest(
        course=other.course.label,
        aerodrome=other.course.icao,
        costs=tuple(_costs(other, _beside(decision, courses))),
        breaks=tuple(dict.fromkeys(map(broken_text, told_breaches(other)))),
    )


def _beside(decision: Decision, courses: Sequence[JudgedCourse]) -> JudgedCourse:
    """What its price is counted against: of an approach the landing that it is meant for."""
    if decision.do in (Do.APPROACH, Do.HOLD):
        return first_of(courses, CourseKind.COMMIT_TO_LAND) or decision.chosen
    return decision.chosen


def _costs(other: JudgedCourse, chosen: JudgedCourse) -> Iterator[str]:
    """Minutes and fuel on landing that it costs."""
    minutes, least = minutes_to_touchdown(other.course), minutes_to_touchdown(chosen.course)
    if minutes is not None and least is not None and minutes > least:
        yield f"{shown_up(minutes - least, 'min')} later"
    ledger, own = other.course.ledger, chosen.course.ledger
    if ledger is not None and own is not None and ledger.landing_kg < own.landing_kg:
        yield f"{shown_up(own.landing_kg - ledger.landing_kg, 'kg')} less on landing"


def runway_told(second: JudgedAttempt) -> told.OtherRunway:
    """The best procedure to another runway: a place fails only when every runway does."""
    attempt = second.attempt
    lacks = [broken_text(each) for each in second.findings if each.outcome in TELLS]
    return told.OtherRunway(
        aerodrome=attempt.icao,
        runway="" if attempt.runway is None else attempt.runway.ident,
        approach=None if attempt.approach is None else attempt.approach.id,
        lacks=tuple(dict.fromkeys(lacks)),
    )
