"""Shortest paths on the ellipsoid of the earth, inverse and direct, and the geometry of turns.

Geodesics are the library's [GEOGRAPHICLIB]: exact to 15 nanometres, for every pair of points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from geographiclib.geodesic import Geodesic as Ellipsoid

from decision.atmosphere import GRAVITY_MPS2
from decision.errors import require_range
from decision.quantities import FULL_CIRCLE_DEG, Position, TrueDeg
from decision.units import M_PER_NM, kt_to_mps, m_to_nm, nm_to_m

MAX_BANK_DEG: Final = 80.0  # [ASSUMED] beyond this a level turn is no transport manoeuvre

WGS84: Final = Ellipsoid.WGS84
"""The World Geodetic System 1984 [GEOGRAPHICLIB]."""

NAVIGATION_SPHERE: Final = Ellipsoid(FULL_CIRCLE_DEG / 2.0 * 60.0 / math.pi * M_PER_NM, 0.0)
"""The sphere on which one minute of arc is one nautical mile [AVIATION-FORMULARY]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Geodesic:
    """A shortest path: its length and its direction at both ends."""

    distance_m: float
    initial_true_deg: TrueDeg
    final_true_deg: TrueDeg

    @property
    def distance_nm(self) -> float:
        """Length in nautical miles."""
        return m_to_nm(self.distance_m)


def distance_nm(*, start: Position, end: Position, ellipsoid: Ellipsoid = WGS84) -> float:
    """Length of the shortest path between two points, in nautical miles."""
    return inverse(start=start, end=end, ellipsoid=ellipsoid).distance_nm


def inverse(*, start: Position, end: Position, ellipsoid: Ellipsoid = WGS84) -> Geodesic:
    """The shortest path between two points.

    Valid for every pair, coincident and antipodal ones included (where the direction is not
    unique, one of the shortest paths is returned).
    """
    path = ellipsoid.Inverse(
        start.latitude_deg, start.longitude_deg, end.latitude_deg, end.longitude_deg
    )
    return Geodesic(
        distance_m=path["s12"],
        initial_true_deg=TrueDeg(path["azi1"] % FULL_CIRCLE_DEG),
        final_true_deg=TrueDeg(path["azi2"] % FULL_CIRCLE_DEG),
    )


def destination(
    *,
    start: Position,
    initial_true_deg: float,
    distance_nm: float,
    ellipsoid: Ellipsoid = WGS84,
) -> Position:
    """The point reached by following a geodesic from a point in a given direction.

    Raises: OutOfRange unless 0 <= distance <= half the equator.
    """
    half_equator_nm = m_to_nm(math.pi * ellipsoid.a)
    require_range("distance_nm", distance_nm, low=0.0, high=half_equator_nm)
    end = ellipsoid.Direct(
        start.latitude_deg, start.longitude_deg, initial_true_deg, nm_to_m(distance_nm)
    )
    return Position(latitude_deg=end["lat2"], longitude_deg=end["lon2"])


def turn_radius_nm(*, true_airspeed_kt: float, bank_deg: float) -> float:
    """Radius of a level turn in still air, V^2 / (g tan bank).

    Raises: OutOfRange unless 0 < bank <= 80 degrees. Source: [AVIATION-FORMULARY].
    """
    speed_mps = kt_to_mps(true_airspeed_kt)
    return m_to_nm(speed_mps**2 / _turn_acceleration_mps2(bank_deg))


def turn_rate_deg_per_s(*, true_airspeed_kt: float, bank_deg: float) -> float:
    """Rate of a level turn, g tan bank / V. Raises and source as `turn_radius_nm`."""
    return math.degrees(_turn_acceleration_mps2(bank_deg) / kt_to_mps(true_airspeed_kt))


def bank_for_rate_deg(*, true_airspeed_kt: float, rate_deg_per_s: float) -> float:
    """Bank of a level turn at a given rate; the inverse of `turn_rate_deg_per_s`."""
    speed_mps = kt_to_mps(true_airspeed_kt)
    return math.degrees(math.atan(speed_mps * math.radians(rate_deg_per_s) / GRAVITY_MPS2))


def _turn_acceleration_mps2(bank_deg: float) -> float:
    require_range("bank_deg", bank_deg, low=math.ulp(0.0), high=MAX_BANK_DEG)
    return GRAVITY_MPS2 * math.tan(math.radians(bank_deg))
