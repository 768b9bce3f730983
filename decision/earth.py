"""Shortest ways over the ellipsoid of the earth: how long they are and where they set out.

Geodesics are the library's [GEOGRAPHICLIB]: exact to 15 nanometres, for every pair of points,
coincident and antipodal ones included (where the direction is not unique, one of them is told).
"""

from __future__ import annotations

from typing import Final

from geographiclib.geodesic import Geodesic

from decision.quantities import FULL_CIRCLE_DEG, Position, TrueDeg
from decision.units import m_to_nm

WGS84: Final = Geodesic.WGS84
"""The World Geodetic System 1984 [GEOGRAPHICLIB]."""


def distance_nm(*, start: Position, end: Position) -> float:
    """Length of the shortest way between two points, in nautical miles."""
    return m_to_nm(_way(start, end, Geodesic.DISTANCE)["s12"])


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
