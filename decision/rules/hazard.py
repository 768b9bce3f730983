"""Hazardous weather at the place of an attempt: what bars a landing, what advises against it."""

from __future__ import annotations

from typing import Final

from decision.course import Attempt
from decision.rules.breach import Breach
from decision.rules.combine import holds
from decision.rules.finding import Judgement
from decision.rules.registry import EVERY_ROLE, Context, Rule
from decision.weather.readings import Hazard, HazardWeight
from decision.weather.report import Element
from decision.windows import clock_text


def hazards_of(attempt: Attempt) -> tuple[Hazard, ...]:
    """The hazards of the window that concern the attempt's runway, the gravest first.

    Without a runway every one concerns it.
    """
    return tuple(each for each in attempt.weather.hazards if _concerns(each, attempt))


def _concerns(hazard: Hazard, attempt: Attempt) -> bool:
    """A report that names no side of parallel runways is of each of them."""
    if hazard.runway is None or attempt.runway is None:
        return True
    return attempt.runway.ident in (hazard.runway, *(hazard.runway + side for side in "LCR"))


def gravest_hazard(attempt: Attempt, _context: Context) -> Hazard | None:
    """The gravest hazard at the place, in the window and on the runway of an attempt."""
    return next(iter(hazards_of(attempt)), None)


def told(hazard: Hazard) -> str:
    """A hazard in words, with the group that says so and when it speaks."""
    until = "" if hazard.until_at is None else f" to {clock_text(hazard.until_at)}"
    return f"{hazard.words} ({hazard.kind} {hazard.text}, from {clock_text(hazard.from_at)}{until})"


def none_that_bars(attempt: Attempt, _context: Context) -> Judgement:
    """Nothing in which nobody lands: while it is reported or forecast the place is not usable."""
    return _none(attempt, HazardWeight.BAR, "bars a landing")


def none_advised_against(attempt: Attempt, _context: Context) -> Judgement:
    """Nothing in which landing is advised against, and which makes the place no way out."""
    return _none(attempt, HazardWeight.WARNING, "advises against a landing")


def _none(attempt: Attempt, weight: HazardWeight, what: str) -> Judgement:
    """Weather that cannot be told may be of any kind."""
    met = [each for each in hazards_of(attempt) if each.weight is weight]
    untold = Element.WEATHER in attempt.weather.unknown
    return holds(
        False if met else None if untold else True,
        yes=f"no weather at {attempt.icao} {what}",
        no=f"{attempt.icao}: {'; '.join(dict.fromkeys(map(told, met)))} {what}",
        unknown=f"hazardous weather at {attempt.icao} is not known",
    )


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="HZ-01",
        title="Weather that bars a landing",
        row="hazard_bar",
        breach=Breach.HAZARD,
        applies=EVERY_ROLE,
        check=none_that_bars,
    ),
    Rule(
        code="HZ-02",
        title="Weather that advises against a landing",
        row="hazard_warning",
        breach=Breach.GUIDANCE,
        applies=EVERY_ROLE,
        check=none_advised_against,
    ),
)
