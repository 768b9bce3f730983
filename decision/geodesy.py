"""Shortest paths on the ellipsoid of the earth, inverse and direct, and the geometry of turns.

A geodesic is a great circle of the auxiliary sphere [GEOGRAPHICLIB]: `beta` is the reduced
latitude, `sigma` the arc from the node, `omega` the longitude on the sphere, `alpha0` the azimuth
at the node. Distance and longitude are smooth integrals over sigma; Gauss-Legendre quadrature
takes them to rounding, so there is no series to truncate. The inverse problem is one equation in
one unknown (the first direction) with exactly one root, found by Newton steps inside a bracket:
unlike the fixed-point iteration of Vincenty it also converges for nearly antipodal points.
Directions are carried as `north`, the angle from east towards north: paths close to the equator
need all its digits near zero, where an azimuth near 90 degrees has none to spare.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from decision.atmosphere import GRAVITY_MPS2
from decision.errors import require_range
from decision.quantities import FULL_CIRCLE_DEG, POLE_DEG, Position, TrueDeg
from decision.units import M_PER_NM, kt_to_mps, m_to_nm, nm_to_m

MAX_BANK_DEG: Final = 80.0  # [ASSUMED] beyond this a level turn is no transport manoeuvre

_NODES: Final = 12  # error below 1e-16 of the arc for half a turn at terrestrial flattening
_QUADRATURE: Final = tuple(
    (float(node), float(weight))
    for node, weight in zip(*np.polynomial.legendre.leggauss(_NODES), strict=True)
)
_LONGITUDE_TOLERANCE_RAD: Final = 4e-15  # 25 nm on the ground: the rounding of the angles
_SMALLEST_DEG: Final = 1e-13  # 11 nm on the ground; squares of smaller angles would underflow
_BRACKET_STEPS: Final = 64  # bisection alone leaves no bit open after 54
_ARC_STEPS: Final = 4  # Newton doubles the digits: 2e-3, 1e-6, 1e-12, rounding


@dataclass(frozen=True, slots=True, kw_only=True)
class Ellipsoid:
    """An oblate ellipsoid of revolution (a sphere when the flattening is zero)."""

    equatorial_radius_m: float
    flattening: float

    @property
    def polar_radius_m(self) -> float:
        """Distance from the centre to a pole."""
        return self.equatorial_radius_m * (1.0 - self.flattening)

    @property
    def second_eccentricity_squared(self) -> float:
        """(a^2 - b^2) / b^2."""
        ratio = self.equatorial_radius_m / self.polar_radius_m
        return ratio * ratio - 1.0


WGS84: Final = Ellipsoid(equatorial_radius_m=6_378_137.0, flattening=1.0 / 298.257223563)
"""Defining constants of the World Geodetic System 1984 [GEOGRAPHICLIB]."""

NAVIGATION_SPHERE: Final = Ellipsoid(
    equatorial_radius_m=FULL_CIRCLE_DEG / 2.0 * 60.0 / math.pi * M_PER_NM, flattening=0.0
)
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
    unique, one of the shortest paths is returned). Accuracy: 0.1 um against [GEOGRAPHICLIB].
    """
    view = _canonical(start, end, ellipsoid)
    if view.along_equator:
        equator_m = ellipsoid.equatorial_radius_m * view.lambda12_rad
        return view.restore(distance_m=equator_m, north1_rad=0.0, north2_rad=0.0)
    north1_rad = _first_direction_rad(view)
    crossing = _cross(view, north1_rad)
    return view.restore(
        distance_m=_arc_length_m(ellipsoid, crossing.node, crossing.sigma2_rad),
        north1_rad=north1_rad,
        north2_rad=crossing.north2_rad,
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
    half_equator_nm = m_to_nm(math.pi * ellipsoid.equatorial_radius_m)
    require_range("distance_nm", distance_nm, low=0.0, high=half_equator_nm)
    beta1_rad = _reduced_latitude_rad(start.latitude_deg, ellipsoid)
    node = _node(beta1_rad, math.radians(POLE_DEG - initial_true_deg), ellipsoid)
    sigma2_rad = _arc_end_rad(ellipsoid, node, nm_to_m(distance_nm))
    sin2, cos2 = math.sin(sigma2_rad), math.cos(sigma2_rad)
    omega2_rad = math.atan2(node.sin_alpha0 * sin2, cos2)
    lambda12_rad = omega2_rad - node.omega1_rad - _longitude_lag_rad(ellipsoid, node, sigma2_rad)
    tan_beta2 = node.cos_alpha0 * sin2 / math.hypot(node.sin_alpha0, node.cos_alpha0 * cos2)
    return Position(
        latitude_deg=math.degrees(math.atan(tan_beta2 / (1.0 - ellipsoid.flattening))),
        longitude_deg=_wrapped_deg(start.longitude_deg + math.degrees(lambda12_rad)),
    )


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


# --- the path from its node --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Node:
    """How a geodesic crosses the equator, and where on it the path starts."""

    sin_alpha0: float
    cos_alpha0: float
    sigma1_rad: float
    omega1_rad: float
    k_squared: float


def _node(beta1_rad: float, north1_rad: float, ellipsoid: Ellipsoid) -> _Node:
    sin_beta1, cos_beta1 = math.sin(beta1_rad), math.cos(beta1_rad)
    east1, north1 = math.cos(north1_rad), math.sin(north1_rad)
    sin_alpha0 = east1 * cos_beta1
    cos_alpha0 = math.hypot(north1, east1 * sin_beta1)
    return _Node(
        sin_alpha0,
        cos_alpha0,
        math.atan2(sin_beta1, north1 * cos_beta1),
        math.atan2(sin_alpha0 * sin_beta1, north1 * cos_beta1),
        ellipsoid.second_eccentricity_squared * cos_alpha0 * cos_alpha0,
    )


def _integral(integrand: Callable[[float], float], from_rad: float, to_rad: float) -> float:
    """Integral over sigma of a function of sin^2 sigma."""
    half, middle = (to_rad - from_rad) / 2.0, (to_rad + from_rad) / 2.0
    return half * sum(
        weight * integrand(math.sin(middle + half * abscissa) ** 2)
        for abscissa, weight in _QUADRATURE
    )


def _arc_length_m(ellipsoid: Ellipsoid, node: _Node, to_rad: float) -> float:
    k_squared = node.k_squared
    return ellipsoid.polar_radius_m * _integral(
        lambda sin_squared: math.sqrt(1.0 + k_squared * sin_squared), node.sigma1_rad, to_rad
    )


def _longitude_lag_rad(ellipsoid: Ellipsoid, node: _Node, to_rad: float) -> float:
    """How far the longitude on the ellipsoid stays behind the one on the auxiliary sphere."""
    f, k_squared = ellipsoid.flattening, node.k_squared
    lag_rad = _integral(
        lambda sin_squared: 1.0 / (1.0 + (1.0 - f) * math.sqrt(1.0 + k_squared * sin_squared)),
        node.sigma1_rad,
        to_rad,
    )
    return f * (2.0 - f) * node.sin_alpha0 * lag_rad


def _reduced_length_m(ellipsoid: Ellipsoid, node: _Node, to_rad: float) -> float:
    """Distance between two neighbouring geodesics from the start, per radian between them."""
    k_squared = node.k_squared
    sin1, cos1 = math.sin(node.sigma1_rad), math.cos(node.sigma1_rad)
    sin2, cos2 = math.sin(to_rad), math.cos(to_rad)
    bulge_rad = _integral(
        lambda sin_squared: k_squared * sin_squared / math.sqrt(1.0 + k_squared * sin_squared),
        node.sigma1_rad,
        to_rad,
    )
    return ellipsoid.polar_radius_m * (
        math.sqrt(1.0 + k_squared * sin2 * sin2) * cos1 * sin2
        - math.sqrt(1.0 + k_squared * sin1 * sin1) * sin1 * cos2
        - cos1 * cos2 * bulge_rad
    )


def _arc_end_rad(ellipsoid: Ellipsoid, node: _Node, distance_m: float) -> float:
    """The sigma at which the path has the given length; Newton, the slope is nearly constant."""
    sigma_rad = node.sigma1_rad + distance_m / ellipsoid.polar_radius_m
    for _ in range(_ARC_STEPS):
        slope_m = ellipsoid.polar_radius_m * math.sqrt(
            1.0 + node.k_squared * math.sin(sigma_rad) ** 2
        )
        sigma_rad -= (_arc_length_m(ellipsoid, node, sigma_rad) - distance_m) / slope_m
    return sigma_rad


# --- the inverse problem -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _View:
    """The pair seen so that beta1 <= 0, |beta2| <= |beta1| and 0 <= lambda12 <= pi."""

    ellipsoid: Ellipsoid
    beta1_rad: float
    beta2_rad: float
    lambda12_rad: float
    swapped: bool
    south_up: bool
    westward: bool

    @property
    def along_equator(self) -> bool:
        """Both points on the equator, and not so far apart that going round a pole is shorter."""
        reach_rad = (1.0 - self.ellipsoid.flattening) * math.pi
        return self.beta1_rad == 0.0 and self.lambda12_rad <= reach_rad

    @property
    def along_meridian(self) -> bool:
        """One meridian holds the path, or the path leaves a pole, where every direction is one."""
        return self.lambda12_rad in {0.0, math.pi} or self.beta1_rad <= -math.pi / 2.0

    def restore(self, *, distance_m: float, north1_rad: float, north2_rad: float) -> Geodesic:
        """The path as seen before swapping and mirroring."""
        first, last = (north2_rad, north1_rad) if self.swapped else (north1_rad, north2_rad)
        east = -1.0 if self.westward else 1.0
        north = -1.0 if self.swapped != self.south_up else 1.0
        return Geodesic(
            distance_m=distance_m,
            initial_true_deg=_azimuth_true_deg(first, east, north),
            final_true_deg=_azimuth_true_deg(last, east, north),
        )


def _canonical(start: Position, end: Position, ellipsoid: Ellipsoid) -> _View:
    step_deg = _rounded_deg(_wrapped_deg(end.longitude_deg - start.longitude_deg))
    swapped = abs(start.latitude_deg) < abs(end.latitude_deg)
    first, second = (end, start) if swapped else (start, end)
    south_up = first.latitude_deg > 0.0
    second_deg = -second.latitude_deg if south_up else second.latitude_deg
    return _View(
        ellipsoid,
        # a start on the equator must be -0.0: the node is then reached, not left, on the far side
        _reduced_latitude_rad(-abs(float(first.latitude_deg)), ellipsoid),
        _reduced_latitude_rad(second_deg, ellipsoid),
        math.radians(abs(step_deg)),
        swapped,
        south_up,
        step_deg < 0.0,
    )


def _azimuth_true_deg(north_rad: float, east: float, north: float) -> TrueDeg:
    azimuth_rad = math.atan2(east * math.cos(north_rad), north * math.sin(north_rad))
    return TrueDeg(math.degrees(azimuth_rad) % FULL_CIRCLE_DEG)


def _reduced_latitude_rad(latitude_deg: float, ellipsoid: Ellipsoid) -> float:
    tangent = math.tan(math.radians(_rounded_deg(latitude_deg)))
    return math.atan((1.0 - ellipsoid.flattening) * tangent)


def _rounded_deg(angle_deg: float) -> float:
    return angle_deg if abs(angle_deg) >= _SMALLEST_DEG else math.copysign(0.0, angle_deg)


def _wrapped_deg(angle_deg: float) -> float:
    return math.remainder(angle_deg, FULL_CIRCLE_DEG)


@dataclass(frozen=True, slots=True)
class _Crossing:
    """Where a path that starts in an assumed direction first reaches the second latitude."""

    node: _Node
    sigma2_rad: float
    north2_rad: float
    excess_rad: float  # of the longitude reached over the one wanted
    slope: float  # of the excess, per radian of the first direction turned from north to south


def _cross(view: _View, north1_rad: float) -> _Crossing:
    node = _node(view.beta1_rad, north1_rad, view.ellipsoid)
    sin_beta2 = math.sin(view.beta2_rad)
    northward2 = _northward2(view, north1_rad)
    sigma2_rad = math.atan2(sin_beta2, northward2)
    omega2_rad = math.atan2(node.sin_alpha0 * sin_beta2, northward2)
    reach_m = view.ellipsoid.equatorial_radius_m * northward2
    return _Crossing(
        node=node,
        sigma2_rad=sigma2_rad,
        north2_rad=math.atan2(northward2, node.sin_alpha0),
        excess_rad=omega2_rad
        - node.omega1_rad
        - _longitude_lag_rad(view.ellipsoid, node, sigma2_rad)
        - view.lambda12_rad,
        slope=_reduced_length_m(view.ellipsoid, node, sigma2_rad) / reach_m if reach_m else 0.0,
    )


def _northward2(view: _View, north1_rad: float) -> float:
    """cos(alpha2) cos(beta2), never negative in this view."""
    northward1 = math.sin(north1_rad) * math.cos(view.beta1_rad)
    # cos^2 beta2 - cos^2 beta1 as a product, so that it does not cancel near pole or equator
    beta1, beta2 = view.beta1_rad, view.beta2_rad
    return math.sqrt(northward1 * northward1 + math.sin(beta1 + beta2) * math.sin(beta1 - beta2))


def _first_direction_rad(view: _View) -> float:
    if view.along_meridian:
        return math.pi / 2.0 - view.lambda12_rad
    south_rad, north_rad = -math.pi / 2.0, math.pi / 2.0
    north1_rad, steps = _spherical_direction_rad(view), 0
    crossing = _cross(view, north1_rad)
    while abs(crossing.excess_rad) > _LONGITUDE_TOLERANCE_RAD and steps < _BRACKET_STEPS:
        if crossing.excess_rad > 0.0:
            south_rad = north1_rad
        else:
            north_rad = north1_rad
        north1_rad = _next_direction_rad(north1_rad, crossing, (south_rad, north_rad))
        crossing, steps = _cross(view, north1_rad), steps + 1
    return north1_rad


def _next_direction_rad(
    north1_rad: float, crossing: _Crossing, bracket_rad: tuple[float, float]
) -> float:
    """Newton's step if it stays inside the bracket, the middle of the bracket if not."""
    south_rad, north_rad = bracket_rad
    slope = crossing.slope
    newton_rad = north1_rad + crossing.excess_rad / slope if slope > 0.0 else north_rad
    if south_rad < newton_rad < north_rad:
        return newton_rad
    return (south_rad + north_rad) / 2.0


def _spherical_direction_rad(view: _View) -> float:
    sin1, cos1 = math.sin(view.beta1_rad), math.cos(view.beta1_rad)
    sin2, cos2 = math.sin(view.beta2_rad), math.cos(view.beta2_rad)
    return math.atan2(
        cos1 * sin2 - sin1 * cos2 * math.cos(view.lambda12_rad),
        cos2 * math.sin(view.lambda12_rad),
    )
