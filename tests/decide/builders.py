"""Situations and courses of changed demo cases, without the rest of a decision."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from decision.attempt.arrival import Arrival
from decision.attempt.attempt import Attempt
from decision.attempt.draw import draw
from decision.case import Case, case_from_mapping
from decision.course import Course
from decision.decide.attempts import (
    Broken,
    JudgedAttempt,
    JudgedAttempts,
    Preference,
    breaks_of,
    preference,
)
from decision.decide.compose import best_here, courses_of, leaving
from decision.decide.judge import JudgedCourse
from decision.flight.approach import departure_of
from decision.flight.situation import Situation, situation_of
from decision.flight.ways import Ending
from decision.rules import findings_on
from tests.case.builders import demo, with_changes


def case_of(name: str = "clean", /, **changes: Any) -> Case:
    """A demo case with changes at JSON Pointers."""
    return case_from_mapping(with_changes(demo(name), changes))


def situation(name: str = "clean", /, **changes: Any) -> Situation:
    """What follows from that case before any course is thought of."""
    return situation_of(case_of(name, **changes))


def judged_in(seen: Situation) -> tuple[JudgedCourse, ...]:
    """Every course of a situation that does not wait, judged on its own."""
    departure, attempts = departure_of(seen), JudgedAttempts()
    here = best_here(seen, departure.approach, attempts)
    return courses_of(seen, departure, here, attempts)


def courses_in(seen: Situation) -> tuple[Course, ...]:
    """Every course of a situation that does not wait."""
    return tuple(each.course for each in judged_in(seen))


def courses(name: str = "clean", /, **changes: Any) -> dict[str, Course]:
    """Every course of that case by its label."""
    return {course.label: course for course in courses_in(situation(name, **changes))}


def judged_ways(seen: Situation, endings: Iterable[Ending]) -> tuple[JudgedCourse, ...]:
    """The courses of ways that leave without an approach, judged on their own."""
    return leaving(seen, endings, JudgedAttempts())


def judged(situation: Situation, attempts: Sequence[Attempt]) -> tuple[JudgedAttempt, ...]:
    """Every rule on each attempt."""
    return tuple(
        JudgedAttempt(attempt=each, findings=findings_on(each, situation)) for each in attempts
    )


def best_of(candidates: Sequence[JudgedAttempt]) -> JudgedAttempt:
    """The candidate that a crew would choose: it breaks least, then has the wind and length.

    Raises ValueError without candidates.
    """
    return candidates[0] if len(candidates) == 1 else min(candidates, key=_badness)


def _badness(judged: JudgedAttempt) -> tuple[Broken, Preference]:
    attempt = judged.attempt
    return breaks_of(judged), preference(attempt.approach, attempt.runway, attempt.wind)


def best_attempt(seen: Situation, candidates: Sequence[Attempt]) -> Attempt:
    """The one that is chosen."""
    return best_of(judged(seen, candidates)).attempt


def attempts(seen: Situation, **arrival: Any) -> tuple[Attempt, ...]:
    """What is drawn of an arrival."""
    return draw(seen, Arrival(**arrival))
