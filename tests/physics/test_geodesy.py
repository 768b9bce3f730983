"""Geodesics against their own laws and the plain sphere; published values stand in
`test_check_values`."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from decision.errors import OutOfRange
from decision.geodesy import (
    NAVIGATION_SPHERE,
    WGS84,
    bank_for_rate_deg,
    destination,
    distance_nm,
    inverse,
    turn_radius_nm,
    turn_rate_deg_per_s,
)
from decision.quantities import Position
from decision.units import m_to_nm

ACCURACY_M = 1e-7  # rounding of positions in degrees

latitudes = st.floats(-90.0, 90.0, allow_subnormal=False)
longitudes = st.floats(-180.0, 180.0, allow_subnormal=False)


def at(latitude_deg: float, longitude_deg: float) -> Position:
    return Position(
        latitude_deg=max(-90.0, min(90.0, latitude_deg)),
        longitude_deg=math.remainder(longitude_deg, 360.0),
    )


def on_unit_sphere(position: Position) -> tuple[float, float, float]:
    latitude, longitude = math.radians(position.latitude_deg), math.radians(position.longitude_deg)
    return (
        math.cos(latitude) * math.cos(longitude),
        math.cos(latitude) * math.sin(longitude),
        math.sin(latitude),
    )


@pytest.mark.parametrize(
    ("radius_m", "inverse_flattening"),
    [pytest.param(6_378_137.0, 298.257223563, id="GEOGRAPHICLIB-WGS84")],
)
def test_wgs84_has_its_defining_constants(radius_m: float, inverse_flattening: float) -> None:
    assert radius_m == WGS84.a
    assert pytest.approx(1.0 / inverse_flattening, rel=1e-15) == WGS84.f


@given(latitudes, longitudes, st.floats(0.0, 360.0), st.floats(1e3, 19.9e6))
def test_a_destination_is_as_far_away_as_was_flown(
    latitude: float, longitude: float, azimuth_deg: float, length_m: float
) -> None:
    start = at(latitude, longitude)
    reached = destination(start=start, initial_true_deg=azimuth_deg, distance_nm=m_to_nm(length_m))
    path = inverse(start=start, end=reached)
    assert path.distance_m == pytest.approx(length_m, abs=ACCURACY_M)


@given(latitudes, longitudes, latitudes, longitudes)
def test_a_sphere_has_the_great_circle_of_its_chord(
    latitude1: float, longitude1: float, latitude2: float, longitude2: float
) -> None:
    start, end = at(latitude1, longitude1), at(latitude2, longitude2)
    chord = math.dist(on_unit_sphere(start), on_unit_sphere(end))
    assume(chord < 1.99)  # the arc of a chord is ill-determined at the other end of the diameter
    arc_nm = 2.0 * math.degrees(math.asin(chord / 2.0)) * 60.0
    found_nm = distance_nm(start=start, end=end, ellipsoid=NAVIGATION_SPHERE)
    assert found_nm == pytest.approx(arc_nm, abs=m_to_nm(ACCURACY_M))


def test_there_is_no_way_from_a_point_to_itself() -> None:
    assert inverse(start=at(48.0, 11.0), end=at(48.0, 11.0)).distance_m == 0.0


@given(latitudes, longitudes, latitudes, longitudes)
def test_the_way_back_is_as_long_and_leaves_in_the_opposite_direction(
    latitude1: float, longitude1: float, latitude2: float, longitude2: float
) -> None:
    start, end = at(latitude1, longitude1), at(latitude2, longitude2)
    there, back = inverse(start=start, end=end), inverse(start=end, end=start)
    assert there.distance_m == pytest.approx(back.distance_m, abs=ACCURACY_M)
    assume(1e3 < there.distance_m < 19.9e6)  # nearer or farther, a direction is ill-determined
    assume(max(abs(latitude1), abs(latitude2)) < 89.9)
    turned = math.remainder(there.final_true_deg - back.initial_true_deg - 180.0, 360.0)
    assert abs(turned) < 1e-6


@pytest.mark.parametrize("distance", [-1.0, 10_820.0, math.nan])
def test_a_path_longer_than_half_the_equator_is_refused(distance: float) -> None:
    with pytest.raises(OutOfRange, match="distance_nm"):
        destination(start=at(0.0, 0.0), initial_true_deg=0.0, distance_nm=distance)


@given(st.floats(80.0, 400.0), st.floats(1.0, 60.0))
def test_a_turn_of_one_circle_takes_its_circumference_at_its_speed(
    speed_kt: float, bank_deg: float
) -> None:
    rate = turn_rate_deg_per_s(true_airspeed_kt=speed_kt, bank_deg=bank_deg)
    circle_nm = 2.0 * math.pi * turn_radius_nm(true_airspeed_kt=speed_kt, bank_deg=bank_deg)
    assert speed_kt / 3600.0 * 360.0 / rate == pytest.approx(circle_nm, rel=1e-9)
    assert bank_for_rate_deg(true_airspeed_kt=speed_kt, rate_deg_per_s=rate) == pytest.approx(
        bank_deg, rel=1e-9
    )


@pytest.mark.parametrize("bank_deg", [0.0, -5.0, 80.5])
def test_a_turn_without_a_possible_bank_is_refused(bank_deg: float) -> None:
    with pytest.raises(OutOfRange, match="bank_deg"):
        turn_radius_nm(true_airspeed_kt=200.0, bank_deg=bank_deg)
