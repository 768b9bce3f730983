"""Everything that weighs on a decision though no rule decides it.

Each source is one small function in the table below; the order is that in which cautions of one
weight are told. Codes are never reused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from decision.decide.concerns import aircraft, approach, notices, weather
from decision.decide.concerns.concern import HAZARD, Concern, Source
from decision.decide.judge import JudgedCourse
from decision.flight.second_miss import LeftAfterMiss
from decision.flight.situation import Situation
from decision.systems import Weight

__all__ = ["HAZARD", "Concern", "concerns_of", "left_out", "weak_climbs"]

SOURCES: Final[tuple[Source, ...]] = (
    weather.hazards,
    aircraft.policy,
    approach.conditions,
    approach.minima,
    aircraft.carried,
    aircraft.systems,
    aircraft.irreversible,
    approach.miss_is_likely,
    approach.barred_by_forecast,
    weather.observed_worse,
    aircraft.flow,
    approach.engine_out_margin,
    approach.engine_out_procedure,
    approach.gate_report,
    weather.strong_wind,
    approach.near_a_limit,
    weather.gusts,
    aircraft.bearings,
    aircraft.amended_release,
    aircraft.blocked,
    aircraft.rescue,
    aircraft.not_in_the_figures,
    weather.icing_with_drag_out,
    weather.hold_barred,
    aircraft.terrain,
    weather.winds,
    weather.winds_beyond,
    weather.reports,
    weather.not_at_hand,
    weather.nothing_fetched,
    weather.fetched,
    weather.set_aside,
    notices.unread,
    notices.reports_grown_old,
    notices.in_force,
    notices.elsewhere,
)


def concerns_of(situation: Situation, courses: Sequence[JudgedCourse]) -> tuple[Concern, ...]:
    """All of them, in the order of their sources."""
    return tuple(concern for source in SOURCES for concern in source(situation, courses))


def weak_climbs(second_misses: Mapping[str, LeftAfterMiss]) -> tuple[Concern, ...]:
    """One for each place where a second miss could not climb away; it bears on no verdict."""
    short: dict[str, Concern] = {}
    for label, left in second_misses.items():
        if left.climb_short:
            icao = label.split(":")[1]
            short.setdefault(icao, _no_climb_there(icao, left))
    return tuple(short.values())


def left_out(parts: Sequence[str]) -> tuple[Concern, ...]:
    """One for what the case asked for and that was too much to work out; it bears on no verdict."""
    return (Concern(code="LEFT_OUT", weight=Weight.INFO, quotes=tuple(parts)),) if parts else ()


def _no_climb_there(icao: str, left: LeftAfterMiss) -> Concern:
    return Concern(
        code="NO_CLIMB_THERE",
        weight=Weight.CAUTION,
        at=(icao,),
        figures={
            "climb_percent": left.gradient_percent or 0.0,
            "published_percent": left.published_gradient_percent or 0.0,
        },
    )
