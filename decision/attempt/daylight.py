"""Day or night at a place and an instant, from the height of the sun.

Night is the time between the ends of civil twilight: the centre of the sun is further below the
horizon than the rulebook's row says, refraction apart. The sun's place is the low-precision formula
of the almanac [USNO-SUN]: about one arc minute within two centuries of 2000, some seconds of time.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from typing import Final

from decision.errors import require_range
from decision.quantities import FULL_CIRCLE_DEG, Position
from decision.rulebooks.rulebook import Rulebook

# Coefficients of [USNO-SUN] in degrees and degrees per day from noon UT on 1 January 2000.
EPOCH: Final = datetime(2000, 1, 1, 12, tzinfo=UTC)
DAY: Final = timedelta(days=1)
FIRST_YEAR: Final = 1800
LAST_YEAR: Final = 2200
ANOMALY_DEG: Final = (357.529, 0.98560028)
MEAN_LONGITUDE_DEG: Final = (280.459, 0.98564736)
CENTRE_DEG: Final = (1.915, 0.020)
OBLIQUITY_DEG: Final = (23.439, -0.00000036)
# Sidereal time at Greenwich in hours and hours per day, same source.
SIDEREAL_H: Final = (18.697375, 24.065709824279)
DEG_PER_H: Final = 15.0


def solar_elevation_deg(position: Position, at: datetime) -> float:
    """Height of the centre of the sun above the horizon in degrees, without refraction.

    Valid: years 1800 to 2200, to about 0.02 degrees. Raises: OutOfRange outside them.
    Source: [USNO-SUN].
    """
    require_range("year", at.year, low=FIRST_YEAR, high=LAST_YEAR, source="USNO-SUN")
    days = (at - EPOCH) / DAY
    anomaly = math.radians(_linear(ANOMALY_DEG, days))
    longitude = math.radians(
        _linear(MEAN_LONGITUDE_DEG, days)
        + CENTRE_DEG[0] * math.sin(anomaly)
        + CENTRE_DEG[1] * math.sin(2.0 * anomaly)
    )
    obliquity = math.radians(_linear(OBLIQUITY_DEG, days))
    ascension = math.atan2(math.cos(obliquity) * math.sin(longitude), math.cos(longitude))
    declination = math.asin(math.sin(obliquity) * math.sin(longitude))
    sidereal_deg = _linear(SIDEREAL_H, days) * DEG_PER_H % FULL_CIRCLE_DEG
    hour_angle = math.radians(sidereal_deg + position.longitude_deg) - ascension
    latitude = math.radians(position.latitude_deg)
    height = math.sin(latitude) * math.sin(declination) + math.cos(latitude) * math.cos(
        declination
    ) * math.cos(hour_angle)
    return math.degrees(math.asin(max(-1.0, min(1.0, height))))  # rounding at the poles of the sine


def _linear(coefficients: tuple[float, float], days: float) -> float:
    constant, rate = coefficients
    return constant + rate * days


def is_night(position: Position | None, at: datetime, rulebook: Rulebook) -> bool | None:
    """Whether the sun is further below the horizon than the rulebook's row says.

    None where the place is not known.
    """
    if position is None:
        return None
    depression_deg = rulebook.number("night_sun_depression_degrees")
    return solar_elevation_deg(position, at) < -depression_deg
