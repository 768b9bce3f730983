"""Hazardous weather at the place of an attempt: what bars a landing, what advises against it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Final

from decision.attempt.attempt import Scene
from decision.rules.combine import holds
from decision.rules.finding import Judgement
from decision.rules.registry import Context, Rule
from decision.rules.row import Breach, Mend
from decision.weather.hazards import GRAVEST_FIRST
from decision.weather.readings import Hazard, HazardWeight
from decision.weather.report import Element, PeriodKind, ReportKind
from decision.windows import clock_text


def hazards_of(attempt: Scene, context: Context) -> tuple[Hazard, ...]:
    """The hazards of the window, the gravest first.

    The operator's policy may weigh them otherwise. What concerns another runway of the place is no
    more than a caution for this one; without a runway every one concerns it.
    """
    weighed = [
        _weighed(each, context)
        if _concerns(each, attempt)
        else replace(each, weight=HazardWeight.CAUTION)
        for each in attempt.weather.hazards
    ]
    return tuple(sorted(weighed, key=lambda each: GRAVEST_FIRST.index(each.weight)))


def _weighed(hazard: Hazard, context: Context) -> Hazard:
    own = [
        each.weight
        for each in context.case.policy.hazard_weights
        if each.phenomenon == hazard.phenomenon
    ]
    return replace(hazard, weight=min(own, key=GRAVEST_FIRST.index)) if own else hazard


def _concerns(hazard: Hazard, attempt: Scene) -> bool:
    """A report that names no side of parallel runways is of each of them."""
    if hazard.runway is None or attempt.runway is None:
        return True
    return attempt.runway.ident in (hazard.runway, *(hazard.runway + side for side in "LCR"))


def gravest_hazard(attempt: Scene, context: Context) -> Hazard | None:
    """The gravest hazard at the place, in the window and on the runway of an attempt."""
    return next(iter(hazards_of(attempt, context)), None)


def told(hazard: Hazard) -> str:
    """A hazard in words, with the group that says so and when it speaks."""
    return f"{hazard.words} ({quoted(hazard)})"


def quoted(hazard: Hazard) -> str:
    """The group that speaks of a hazard, and when."""
    return f"{_text(hazard)}, {span_text(hazard.from_at, hazard.until_at)}"


def _text(hazard: Hazard) -> str:
    """The words of a group; a group of a forecast begins with its own kind."""
    if hazard.kind == PeriodKind.BASE:
        return f"{ReportKind.TAF} {hazard.text}"
    return hazard.text if hazard.kind in OWN_KIND else f"{hazard.kind} {hazard.text}"


OWN_KIND: Final = frozenset(PeriodKind)


def span_text(from_at: datetime, until_at: datetime | None) -> str:
    """From when to when, with the day where it is another one."""
    if until_at is None:
        return f"from {clock_text(from_at)}, no end is told"
    if until_at.date() == from_at.date():
        return f"from {clock_text(from_at)} to {clock_text(until_at)}"
    return f"from {clock_text(from_at)} to {clock_text(until_at)} on day {until_at.day}"


def none_that_bars(attempt: Scene, context: Context) -> Judgement:
    """Nothing in which nobody lands: while it is reported or forecast the place is not usable."""
    return _none(attempt, context, HazardWeight.BAR, "bars", "barred")


def none_advised_against(attempt: Scene, context: Context) -> Judgement:
    """Nothing in which landing is advised against, and which makes the place no way out."""
    return _none(attempt, context, HazardWeight.WARNING, "advises against", "advised against")


def _none(
    attempt: Scene, context: Context, weight: HazardWeight, does: str, done: str
) -> Judgement:
    """Weather that cannot be told may be of any kind; each kind is quoted from one group."""
    met = [each for each in hazards_of(attempt, context) if each.weight is weight]
    if not met:
        return holds(
            None if Element.WEATHER in attempt.weather.unknown else True,
            yes=f"no weather at {attempt.icao} {does} a landing",
            no="",
            unknown=f"hazardous weather at {attempt.icao} is not known",
        )
    kinds = {each.phenomenon: each for each in reversed(met)}
    first = [told(each) for each in met if kinds[each.phenomenon] is each]
    what = f"a landing at {attempt.icao} is {done}: {'; '.join(first)}"
    return holds(False, yes="", no=what, unknown="")


RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "HZ-01",
        "Weather that bars a landing",
        "hazard_bar",
        Breach.HAZARD,
        none_that_bars,
        of_scene=none_that_bars,
        mend=Mend.WAITING,
    ),
    Rule(
        "HZ-02",
        "Weather that advises against a landing",
        "hazard_warning",
        Breach.GUIDANCE,
        none_advised_against,
        of_scene=none_advised_against,
        mend=Mend.WAITING,
    ),
)
