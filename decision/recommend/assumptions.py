"""What was taken for granted: defaults of the request, and what nobody has reported."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from decision.case import Assumption
from decision.course import Attempt
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation


def assumptions_of(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[Assumption, ...]:
    """Each assumption once: the case's own first, then those of runways and charts."""
    attempts = [attempt for judged in courses for attempt in judged.course.attempts]
    drawn = [each for attempt in attempts for each in _of(attempt, situation)]
    unique = {each.field: each for each in reversed([*situation.case.assumptions, *drawn])}
    return tuple(reversed(unique.values()))


def _of(attempt: Attempt, situation: Situation) -> Iterator[Assumption]:
    surface, runway, approach = attempt.runway_condition, attempt.runway, attempt.approach
    if surface is not None and runway is not None:
        for text in surface.assumptions:
            yield Assumption(
                field=f"{attempt.icao} runway {runway.ident} condition",
                value=surface.code,
                text=f"{attempt.icao} runway {runway.ident}: {text}",
            )
    if approach is not None and approach.missed_gradient_percent is None:
        percent = situation.rulebook.gradient_percent("missed_gradient")
        yield Assumption(
            field=f"{attempt.icao} {approach.id} missed approach gradient",
            value=percent,
            text=f"{attempt.icao} {approach.id}: no gradient is charted, {percent:.1f} percent",
        )
