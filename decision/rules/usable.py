"""Runways of an aerodrome that wind and length allow: the others do not make planning minima lower.

A runway is left out only for what is known: what is not known of it stays to the rules on wind and
landing distance, which judge the runway of the attempt. The other runways are taken to be as
slippery, and as long to stop on, as that one.
"""

from __future__ import annotations

from decision.case import Runway
from decision.course import Attempt
from decision.profile.systems_effects import LimitName
from decision.quantities import WindComponents, wind_components
from decision.rules.registry import Context
from decision.weather.readings import WindReading


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
    across_kt = _crosswind_limit_kt(attempt, context)
    winds = [
        _on(runway, wind, gusts_count=limits.gust_included)
        for wind in attempt.weather.winds
        if wind.speed_kt is not None
    ]
    return all(
        -wind.headwind_kt <= limits.tailwind_limit_kt
        and (across_kt is None or wind.crosswind_kt <= across_kt)
        for wind in winds
    )


def _crosswind_limit_kt(attempt: Attempt, context: Context) -> float | None:
    """The limit for the surface, and that of a failure if stricter; None where there is none."""
    surface, limits = attempt.runway_condition, context.case.aircraft.profile.wind
    code = None if surface is None else surface.at_best if surface.code is None else surface.code
    known = [row.crosswind_limit_kt for row in limits.crosswind if row.condition_code == code]
    failed = attempt.capability.limit(LimitName.MAX_CROSSWIND_KT)
    return min(known if failed is None else (*known, failed.value), default=None)


def _on(runway: Runway, wind: WindReading, *, gusts_count: bool) -> WindComponents:
    """A wind on a runway; one without a direction may blow across and from behind."""
    gust_kt = wind.gust_kt if gusts_count or wind.gust_counts else None
    speed_kt = max(speed for speed in (wind.speed_kt, gust_kt) if speed is not None)
    if wind.from_true_deg is None:
        return WindComponents(headwind_kt=-speed_kt, crosswind_kt=speed_kt)
    return wind_components(
        wind_from_true_deg=wind.from_true_deg,
        wind_kt=speed_kt,
        direction_true_deg=runway.true_bearing_deg,
    )
