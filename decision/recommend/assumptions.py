"""What was taken for granted: defaults of the request, and what nobody has reported."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from decision.case import Assumption
from decision.course import Attempt
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation
from decision.performance.level import beside_tables


def assumptions_of(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[Assumption, ...]:
    """Each assumption once: the case's own first, then those of runways and charts."""
    attempts = [attempt for judged in courses for attempt in judged.course.attempts]
    drawn = [each for attempt in attempts for each in _of(attempt, situation)]
    drawn += [each for judged in courses for each in _beside_tables(judged, situation)]
    unique = {each.field: each for each in reversed([*situation.case.assumptions, *drawn])}
    return tuple(reversed(unique.values()))


def _beside_tables(judged: JudgedCourse, situation: Situation) -> Iterator[Assumption]:
    """What the model answered for, where the operator has tables without rows for it."""
    profile = situation.case.aircraft.profile
    flown = beside_tables(profile, judged.course.configuration)
    if flown is not None:
        yield Assumption(
            field=f"fuel flow, {flown}",
            value="physics",
            text=f"the operator's fuel tables have no rows for {flown}: flow by the model",
        )
    if profile.tables.landing is not None:
        for flap in dict.fromkeys(filter(None, map(_flap_beside_table, judged.course.attempts))):
            yield Assumption(
                field=f"landing distance, flap {flap}",
                value="physics",
                text=f"the operator's landing table has no rows for flap {flap}:"
                " distance by the model",
            )


def _flap_beside_table(attempt: Attempt) -> str | None:
    """The flap of a landing whose distance is known, but not from a table."""
    landed = attempt.landing
    known = landed is not None and landed.unknown is None and landed.table_m is None
    return attempt.flap if known else None


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
