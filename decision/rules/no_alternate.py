"""Sound aircraft that came without an alternate: the provision that each rulebook has for it.

It is a provision for planning; what is judged is whether it still holds as the aircraft arrives.
"""

from __future__ import annotations

from collections.abc import Iterator

from decision.attempt.attempt import Attempt
from decision.flight.ledger import Ledger
from decision.rules.combine import at_least, holds, unknown, worst_of
from decision.rules.finding import Judgement, Outcome
from decision.rules.registry import Context
from decision.units import MIN_PER_H
from decision.weather.readings import WeatherMet
from decision.weather.report import CeilingState


def came_without(context: Context) -> bool:
    """A sound aircraft of which the caller names no alternate; one that was proposed is none."""
    case = context.case
    return not (case.failures or case.came_with_alternates or case.fuel.leak_kg_per_h > 0.0)


def provision(
    attempt: Attempt,
    weather: WeatherMet,
    ledger: Ledger | None,
    context: Context,
    *,
    flow_kg_per_h: float | None,
) -> Judgement:
    """Whether the flight may come without an alternate: by weather and runways, or as isolated.

    `weather`: over the window of the provision around the landing. `ledger`: of the landing here,
    with `flow_kg_per_h` of normal cruise at its mass, None where it is not known. PASS by either
    way is enough.
    """
    by_weather = worst_of(_by_weather(attempt, weather, context))
    if by_weather.outcome is Outcome.PASS:
        return by_weather
    isolated = _as_isolated(attempt, ledger, context, flow_kg_per_h=flow_kg_per_h)
    return isolated if isolated.outcome is Outcome.PASS else by_weather


def _by_weather(attempt: Attempt, weather: WeatherMet, context: Context) -> Iterator[Judgement]:
    yield _ceiling(attempt, weather, context)
    yield _visibility(attempt, weather, context)
    if context.rulebook.flag("no_alternate_separate_runways"):
        yield holds(
            attempt.leg.aerodrome.separate_runways,
            yes=f"{attempt.icao} has separate runways",
            no=f"{attempt.icao} has one usable runway",
            unknown=f"separate runways at {attempt.icao} are not known",
        )


def _ceiling(attempt: Attempt, weather: WeatherMet, context: Context) -> Judgement:
    book, height_ft = context.rulebook, attempt.minimum_height_ft
    least_ft = book.number_or_none("no_alternate_ceiling_ft")
    above_ft = book.number_or_none("no_alternate_ceiling_above_circling_ft")
    limits = [] if least_ft is None else [least_ft]
    if above_ft is not None and height_ft is not None:
        limits.append(height_ft + above_ft)
    what = f"{attempt.icao} ceiling to come without an alternate"
    if not limits:
        return unknown(f"{what}: no figure and no minimum height are known")
    limit_ft, ceiling = max(limits), weather.ceiling
    reached = ceiling.reaches(limit_ft)
    if ceiling.state is CeilingState.NONE and reached:
        return holds(True, yes=f"{attempt.icao} has no ceiling", no="", unknown="")
    if reached is None:
        return unknown(f"{what} is not known")
    return at_least(what, ceiling.feet, limit_ft, unit="ft")


def _visibility(attempt: Attempt, weather: WeatherMet, context: Context) -> Judgement:
    book = context.rulebook
    what = f"{attempt.icao} visibility to come without an alternate"
    limit_m = book.number("no_alternate_visibility_m")
    if weather.visibility.reaches(limit_m) is None:
        return unknown(f"{what} is not known")
    return at_least(what, weather.visibility.metres, limit_m, unit="m")


def _as_isolated(
    attempt: Attempt, ledger: Ledger | None, context: Context, *, flow_kg_per_h: float | None
) -> Judgement:
    """An isolated aerodrome asks for fuel instead; a point of no return is the crew's to keep."""
    minutes = context.rulebook.number_or_none("isolated_reserve_min")
    if minutes is None or ledger is None or flow_kg_per_h is None:
        return unknown(f"{attempt.icao}: no reserve for an isolated aerodrome is known")
    return at_least(
        f"fuel on landing at {attempt.icao} against that of an isolated aerodrome",
        ledger.landing_kg,
        minutes * flow_kg_per_h / MIN_PER_H,
        unit="kg",
    )
