"""Runways of an aerodrome that wind and length allow: the others do not make planning minima lower.

A runway is left out only for what is known: what is not known of it stays to the rules on wind and
landing distance, which judge the runway of the attempt. The other runways are taken to be as
slippery, and as long to stop on, as that one.
"""

from __future__ import annotations

from decision.attempt.runway_wind import gusts_count, runway_wind
from decision.case import Runway
from decision.course import Attempt
from decision.rules.registry import Context
from decision.rules.wind import crosswind_limit_kt


def usable_runways(attempt: Attempt, context: Context) -> frozenset[str]:
    """Idents of the open runways on which neither wind nor length is known to forbid a landing."""
    return frozenset(
        runway.ident
        for runway in attempt.leg.aerodrome.runways
        if not runway.closed
        and _long_enough(runway, attempt, context)
        and _wind_allows(runway, attempt, context)
    )


def _long_enough(runway: Runway, attempt: Attempt, context: Context) -> bool:
    distance_m = None if attempt.landing is None else attempt.landing.distance_m
    if distance_m is None:
        return True
    return distance_m * context.case.policy.landing_factor <= runway.lda_m


def _wind_allows(runway: Runway, attempt: Attempt, context: Context) -> bool:
    """Every wind of the window, with its gust where gusts count, inside both limits."""
    limits = context.case.aircraft.profile.wind
    wind = runway_wind(
        attempt.weather,
        true_bearing_deg=runway.true_bearing_deg,
        with_gusts=gusts_count(limits, context.rulebook),
    )
    if wind is None:
        return True
    across_kt = crosswind_limit_kt(attempt, context)
    return wind.tailwind_kt <= limits.tailwind_limit_kt and (
        across_kt is None or wind.crosswind_kt <= across_kt
    )
