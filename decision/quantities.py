"""Small values that several rooms share: bounded readings, winds, positions.

Constructors raise `ValueError` on an impossible value: by the time one is built here, the input
has been checked at the edge, so a failure is a fault in the program and not in the request.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NewType

TrueDeg = NewType("TrueDeg", float)
"""A bearing from true north, in degrees, 0 to 360."""

PressureAltitudeFt = NewType("PressureAltitudeFt", float)
"""Altitude in the standard atmosphere at the ambient pressure, in feet (not above the ground)."""

FULL_CIRCLE_DEG: Final = 360.0
POLE_DEG: Final = 90.0
ANTIMERIDIAN_DEG: Final = 180.0


class Bound(StrEnum):
    """How a reported figure bounds the true one."""

    EXACT = "="
    AT_LEAST = ">="
    ABOVE = ">"
    BELOW = "<"
    UNKNOWN = "unknown"


class GearPosition(StrEnum):
    """Where the landing gear is."""

    UP = "up"
    DOWN = "down"
    IN_TRANSIT = "in_transit"
    UNSAFE = "unsafe"


class SlatPosition(StrEnum):
    """Where the slats are."""

    IN = "in"
    OUT = "out"


class DoorPosition(StrEnum):
    """Whether the gear doors stand in the airflow after the gear has moved."""

    CLOSED = "closed"
    OPEN = "open"


class AntiSkid(StrEnum):
    """How the wheel brakes are modulated; words of [CFR-25] 25.109(c)(2)."""

    FULL = "full"
    QUASI = "quasi"
    ON_OFF = "on_off"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """A point on the WGS84 ellipsoid."""

    latitude_deg: float
    longitude_deg: float

    def __post_init__(self) -> None:
        on_earth = (
            abs(self.latitude_deg) <= POLE_DEG and abs(self.longitude_deg) <= ANTIMERIDIAN_DEG
        )
        if not on_earth:  # NaN is nowhere
            raise ValueError(f"no such position: {self.latitude_deg}, {self.longitude_deg}")


@dataclass(frozen=True, slots=True, kw_only=True)
class WindComponents:
    """A wind resolved on a direction: headwind positive against it, crosswind without a side."""

    headwind_kt: float
    crosswind_kt: float


def wind_components(
    *, wind_from_true_deg: float, wind_kt: float, direction_true_deg: float
) -> WindComponents:
    """Head- and crosswind of a wind on a runway or track.

    Raises: ValueError on a negative speed. Source: plane trigonometry; check value of
    [FAA-KT] in the tests.
    """
    if wind_kt < 0.0:
        raise ValueError(f"wind speed must not be negative: {wind_kt}")
    angle = math.radians(wind_from_true_deg - direction_true_deg)
    return WindComponents(
        headwind_kt=wind_kt * math.cos(angle), crosswind_kt=abs(wind_kt * math.sin(angle))
    )
