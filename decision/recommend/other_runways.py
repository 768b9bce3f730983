"""The second runway at a place, and what it lacks: a place fails only when every runway does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from decision.attempt.arrival import any_procedure
from decision.course import Attempt
from decision.decide.attempts import JudgedAttempts, best_of
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.recommend.answer import OtherRunway
from decision.recommend.words import broken_text
from decision.rules.finding import Outcome

TELLS: Final = (Outcome.FAIL, Outcome.UNKNOWN)


def other_runways_of(
    here: Attempt | None,
    chosen: JudgedCourse,
    situation: Situation,
    attempts: JudgedAttempts,
) -> tuple[OtherRunway, ...]:
    """For the destination, and for the place of the chosen landing where that is another."""
    last = chosen.course.attempts[-1:]
    places = {each.icao: each for each in (*last, here) if each is not None}
    return tuple(
        other for attempt in places.values() for other in _second(attempt, situation, attempts)
    )


def _second(
    attempt: Attempt, situation: Situation, attempts: JudgedAttempts
) -> Iterator[OtherRunway]:
    """The best procedure to another runway; none where there is only one."""
    if attempt.runway is None:
        return
    others = [
        each
        for each in attempts.at(situation, any_procedure(attempt))
        if each.attempt.runway is not None and each.attempt.runway.ident != attempt.runway.ident
    ]
    if not others:
        return
    best = best_of(others)
    second = best.attempt
    lacks = [broken_text(each) for each in best.findings if each.outcome in TELLS]
    yield OtherRunway(
        aerodrome=second.icao,
        runway="" if second.runway is None else second.runway.ident,
        approach=None if second.approach is None else second.approach.id,
        lacks=tuple(dict.fromkeys(lacks)),
    )
