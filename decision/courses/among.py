"""The courses beside each other: findings of the rules that weigh one against the others."""

from __future__ import annotations

from collections.abc import Sequence

from decision.course import Course, CourseKind, Origin
from decision.courses.judge import JudgedCourse, judged_course, legality
from decision.rules import AMONG_RULES
from decision.rules.among import Standing, judge_among, silent
from decision.rules.engine_out import ALL_RUN, engine_out
from decision.rules.finding import Finding
from decision.rules.registry import Context
from decision.windows import minutes_between


def compared(judged: Sequence[JudgedCourse], context: Context) -> tuple[JudgedCourse, ...]:
    """Each course with what the rules find of it among all of them."""
    if not any(engine_out(each.course, context) for each in judged):
        book, adopt = context.rulebook, context.case.policy.adopt
        return tuple(
            _with(each, silent(AMONG_RULES, each.course.icao, book, adopt, ALL_RUN))
            for each in judged
        )
    standings = _standings(judged)
    return tuple(
        _with(each, judge_among(AMONG_RULES, standing, standings, context))
        for each, standing in zip(judged, standings, strict=True)
    )


def _with(judged: JudgedCourse, found: tuple[Finding, ...]) -> JudgedCourse:
    return judged_course(judged.course, judged.approach_findings, (*judged.escape_findings, *found))


def _standings(judged: Sequence[JudgedCourse]) -> tuple[Standing, ...]:
    here = next(
        (
            each.course
            for each in judged
            if each.course.kind is CourseKind.APPROACH_THEN_DIVERT and each.course.attempts
        ),
        None,
    )
    return tuple(_standing(each, here) for each in judged)


def _standing(judged: JudgedCourse, here: Course | None) -> Standing:
    """How a course stands. One that leaves at the last clean point is on its way to the approach.

    It is weighed by that approach, which it gives up only if the place is no longer suitable.
    """
    first = judged.course
    if first.origin is Origin.LAST_CLEAN_POINT and here is not None:
        first = here
    first_at = first.missed_at or first.arrive_at
    suitable: bool | None = False
    if judged.approach_findings:
        suitable = legality(judged.approach_findings)
    elif first.origin is Origin.PRESENT:
        suitable = judged.legal
    return Standing(
        course=judged.course,
        place=first.attempts[0].icao if first.attempts else first.icao,
        first_min=None if first_at is None else minutes_between(first.start_at, first_at),
        suitable=suitable,
        legal=judged.legal,
        worst=judged.worst,
    )
