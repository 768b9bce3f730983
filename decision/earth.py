"""Shortest ways over the ellipsoid of the earth: how long they are and where they set out.

Geodesics are the library's [GEOGRAPHICLIB]: exact to 15 nanometres, for every pair of points,
coincident and antipodal ones included (where the direction is not unique, one of them is told).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import NDArray

from decision.quantities import FULL_CIRCLE_DEG, Position, TrueDeg
from decision.units import M_PER_NM, m_to_nm

WGS84: Final = Geodesic.WGS84
"""The World Geodetic System 1984 [GEOGRAPHICLIB]."""
MANY_WITHIN_NM: Final = 4000.0
MANY_WRONG_NM: Final = 0.03
"""By how much `distances_nm` may be wrong, up to the miles above."""
LEAST_MILES_PER_DEG: Final = 59.7
"""Of a degree of latitude: it is shortest at the equator, 110.57 km."""


def distance_nm(*, start: Position, end: Position) -> float:
    """Length of the shortest way between two points, in nautical miles."""
    return m_to_nm(_way(start, end, Geodesic.DISTANCE)["s12"])


def distances_nm(
    *, start: Position, latitudes_deg: NDArray[np.float64], longitudes_deg: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Length of the shortest way to each of many points, in nautical miles, all at once.

    Lambert's formula [LAMBERT]: a sphere of the reduced latitudes, corrected once for the
    flattening. Within MANY_WRONG_NM of the geodesic up to MANY_WITHIN_NM; beyond them it is told
    too, but only as far away.
    """
    own = np.arctan((1.0 - WGS84.f) * np.tan(np.radians(start.latitude_deg)))
    theirs = np.arctan((1.0 - WGS84.f) * np.tan(np.radians(latitudes_deg)))
    east = np.radians(longitudes_deg - start.longitude_deg)
    mean, half = (theirs + own) / 2.0, (theirs - own) / 2.0
    sin2 = np.sin(half) ** 2 + np.cos(own) * np.cos(theirs) * np.sin(east / 2.0) ** 2
    sin2 = np.clip(sin2, 0.0, 1.0)
    angle = 2.0 * np.arcsin(np.sqrt(sin2))
    near = np.where(sin2 > 0.0, sin2, 1.0)  # at the start itself its share is nothing
    far = np.where(sin2 < 1.0, 1.0 - sin2, 1.0)
    across = (angle - np.sin(angle)) * (np.sin(mean) * np.cos(half)) ** 2 / far
    along = (angle + np.sin(angle)) * (np.cos(mean) * np.sin(half)) ** 2 / near
    metres: NDArray[np.float64] = WGS84.a * (angle - WGS84.f / 2.0 * (across + along))
    return metres / M_PER_NM


def initial_true_deg(*, start: Position, end: Position) -> TrueDeg:
    """Direction in which the shortest way leaves its start."""
    return TrueDeg(_way(start, end, Geodesic.AZIMUTH)["azi1"] % FULL_CIRCLE_DEG)


def point_between(*, start: Position, end: Position, share: float) -> Position:
    """The point at a share of the shortest way from one point to another."""
    line = WGS84.InverseLine(
        start.latitude_deg, start.longitude_deg, end.latitude_deg, end.longitude_deg
    )
    point = line.Position(line.s13 * share, Geodesic.LATITUDE | Geodesic.LONGITUDE)
    return Position(latitude_deg=point["lat2"], longitude_deg=point["lon2"])


def _way(start: Position, end: Position, told: int) -> dict[str, float]:
    way: dict[str, float] = WGS84.Inverse(
        start.latitude_deg, start.longitude_deg, end.latitude_deg, end.longitude_deg, told
    )
    return way
