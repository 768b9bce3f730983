"""Small values that several rooms share: bounded readings, winds, positions.

Constructors raise `ValueError` on an impossible value: by the time one is built here, the input
has been checked at the edge, so a failure is a fault in the program and not in the request.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Annotated, Final, NewType, TypeVar

from msgspec import Struct

from decision.fields import about, sized

TrueDeg = NewType("TrueDeg", float)
"""A bearing from true north, in degrees, 0 to 360."""

PressureAltitudeFt = NewType("PressureAltitudeFt", float)
"""Altitude in the standard atmosphere at the ambient pressure, in feet (not above the ground)."""

Figure = TypeVar("Figure", int, float)

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


INDICATOR: Final = sized(
    "an ICAO location indicator in capitals", shortest=4, longest=4, pattern="[A-Z][A-Z0-9]{3}"
)
ICAO = Annotated[str, INDICATOR]
IDENT = Annotated[
    str,
    sized("an identifier", shortest=1, longest=40, pattern=r"[A-Za-z0-9][A-Za-z0-9 _./+-]*"),
]
FLAP = Annotated[
    str, sized("a flap detent of the profile", shortest=1, longest=8, pattern=r"[0-9A-Za-z]+")
]
RUNWAY_IDENT = Annotated[
    str,
    sized(
        'a runway such as "27" or "09L"',
        shortest=2,
        longest=3,
        pattern=r"(0[1-9]|[12][0-9]|3[0-6])[LCR]?",
    ),
]
# Ranges are those of the models' validity or of plain sense; a profile may narrow them.
ALTITUDE_FT = Annotated[float, about("an altitude", low=-2000, high=45_000, unit="ft")]
ELEVATION_FT = Annotated[float, about("a height of ground", low=-1500, high=16_000, unit="ft")]
HEIGHT_FT = Annotated[float, about("a height above ground", low=0, high=10_000, unit="ft")]
KG = Annotated[float, about("a mass", low=0, high=700_000, unit="kg")]
BEARING = Annotated[float, about("a bearing", low=0, high=360, unit="degrees true")]
TRACK_NM = Annotated[float, about("miles along a track", low=0, high=3000, unit="NM")]
METRES = Annotated[float, about("a visual range", low=0, high=20_000, unit="m")]
MINUTES = Annotated[float, about("a time", low=0, high=600, unit="min")]
WIND_KT = Annotated[float, about("a speed of wind", low=0, high=300, unit="kt")]
SLOPE_PERCENT = Annotated[float, about("a slope", low=-4, high=4, unit="percent")]
GRADIENT_PERCENT = Annotated[float, about("a gradient", low=0, high=15, unit="percent")]
CODE = Annotated[int, about("a runway condition code", low=0, high=6)]


class Position(Struct, frozen=True, kw_only=True, gc=False):
    """A point on the WGS84 ellipsoid."""

    latitude_deg: Annotated[
        float, about("Geodetic latitude, north positive.", low=-90, high=90, unit="degrees")
    ]
    longitude_deg: Annotated[
        float, about("Longitude, east positive.", low=-180, high=180, unit="degrees")
    ]

    def __post_init__(self) -> None:
        on_earth = (
            abs(self.latitude_deg) <= POLE_DEG and abs(self.longitude_deg) <= ANTIMERIDIAN_DEG
        )
        if not on_earth:  # NaN is nowhere
            raise ValueError(f"no such position: {self.latitude_deg}, {self.longitude_deg}")


class WindComponents(Struct, frozen=True, kw_only=True, gc=False):
    """A wind resolved on a direction: headwind positive against it, crosswind without a side."""

    headwind_kt: float
    crosswind_kt: float


def least_known(*figures: Figure | None) -> Figure | None:
    """The least of the figures that are known; None: none is."""
    return min((each for each in figures if each is not None), default=None)


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
