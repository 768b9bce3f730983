"""The second runway at a place, and what it lacks: a place fails only when every runway does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from decision.course import Attempt
from decision.courses.attempts import attempts
from decision.courses.choose import best_attempt
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation
from decision.recommend.answer import OtherRunway
from decision.recommend.words import broken_text
from decision.rules import findings_on
from decision.rules.finding import Outcome

TELLS: Final = (Outcome.FAIL, Outcome.UNKNOWN)


def other_runways_of(
    here: Attempt | None, chosen: JudgedCourse, situation: Situation
) -> tuple[OtherRunway, ...]:
    """For the destination, and for the place of the chosen landing where that is another."""
    last = chosen.course.attempts[-1:]
    places = {each.icao: each for each in (*last, here) if each is not None}
    return tuple(other for attempt in places.values() for other in _second(attempt, situation))


def _second(attempt: Attempt, situation: Situation) -> Iterator[OtherRunway]:
    """The best procedure to another runway; none where there is only one."""
    if attempt.runway is None:
        return
    drawn = attempts(
        situation,
        leg=attempt.leg,
        role=attempt.role,
        at=attempt.at,
        window=attempt.weather.window,
        mass_kg=attempt.mass_kg,
    )
    others = [
        each
        for each in drawn
        if each.runway is not None and each.runway.ident != attempt.runway.ident
    ]
    if not others:
        return
    second = best_attempt(situation, others)
    lacks = [
        broken_text(each)
        for each in findings_on(second, situation.context)
        if each.outcome in TELLS
    ]
    yield OtherRunway(
        aerodrome=second.icao,
        runway="" if second.runway is None else second.runway.ident,
        approach=None if second.approach is None else second.approach.id,
        lacks=tuple(dict.fromkeys(lacks)),
    )
