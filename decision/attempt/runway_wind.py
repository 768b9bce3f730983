"""The winds of a window on one runway, each component at its worst, and how much counts."""

from __future__ import annotations

from decision.attempt.attempt import RunwayWind
from decision.case import Runway
from decision.profile.types import WindLimits
from decision.quantities import WindComponents, wind_components
from decision.rulebooks.rulebook import Rulebook
from decision.weather.readings import WeatherMet, WindReading

CALM_KT = 0.0


def gusts_count(limits: WindLimits, rulebook: Rulebook) -> bool:
    """Whether a gust has to be inside wind limits: by the aircraft's own, else by the rulebook."""
    return limits.gust_included or rulebook.flag("wind_limits_with_gust")


def wind_on(
    runway: Runway, weather: WeatherMet, *, limits: WindLimits, rulebook: Rulebook
) -> RunwayWind | None:
    """The wind on a runway that is held against those limits, gusts where they count."""
    return runway_wind(
        weather,
        true_bearing_deg=runway.true_bearing_deg,
        with_gusts=gusts_count(limits, rulebook),
    )


def runway_wind(
    weather: WeatherMet, *, true_bearing_deg: float, with_gusts: bool
) -> RunwayWind | None:
    """Worst head-, cross- and tailwind; None when no wind of the window is known.

    A wind without a single direction may blow across and from behind with its whole speed.
    `with_gusts`: cross- and tailwind are those of the gusts, which then count.
    """
    readings = [wind for wind in weather.winds if wind.speed_kt is not None]
    if not readings:
        return None
    mean = [_resolved(wind, wind.speed_kt or CALM_KT, true_bearing_deg) for wind in readings]
    limiting = mean
    if with_gusts and any(wind.gust_kt is not None for wind in readings):
        limiting = [_resolved(wind, _limiting_kt(wind), true_bearing_deg) for wind in readings]
    return RunwayWind(
        headwind_kt=min(wind.headwind_kt for wind in mean),
        crosswind_kt=max(wind.crosswind_kt for wind in limiting),
        tailwind_kt=max(CALM_KT, *(-wind.headwind_kt for wind in limiting)),
        possibly_worse=len(readings) < len(weather.winds)
        or any(wind.possibly_worse for wind in readings),
        text=weather.wind.governing.text,
    )


def _limiting_kt(wind: WindReading) -> float:
    return max(wind.speed_kt or CALM_KT, wind.gust_kt or CALM_KT)


def _resolved(wind: WindReading, speed_kt: float, true_bearing_deg: float) -> WindComponents:
    if wind.from_true_deg is None and speed_kt > CALM_KT:
        return WindComponents(headwind_kt=-speed_kt, crosswind_kt=speed_kt)
    return wind_components(
        wind_from_true_deg=wind.from_true_deg or 0.0,
        wind_kt=speed_kt,
        direction_true_deg=true_bearing_deg,
    )


def credited_headwind_kt(headwind_kt: float, *, rulebook: Rulebook) -> float:
    """The headwind that may be counted on: half of one, one and a half times a tailwind.

    Negative is from behind, before and after.
    """
    row = "headwind_credit" if headwind_kt >= 0.0 else "tailwind_debit"
    return headwind_kt * rulebook.number(row)
