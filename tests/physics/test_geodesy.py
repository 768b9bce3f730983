"""Geodesics against an independent library and their own laws; published examples stand in
`test_check_values`."""

from __future__ import annotations

import math

import pytest
from geographiclib.geodesic import Geodesic as Oracle
from hypothesis import assume, given
from hypothesis import strategies as st

from decision.errors import OutOfRange
from decision.geodesy import (
    WGS84,
    bank_for_rate_deg,
    destination,
    distance_nm,
    inverse,
    turn_radius_nm,
    turn_rate_deg_per_s,
)
from decision.quantities import Position
from decision.units import M_PER_NM, m_to_nm

ACCURACY_M = 1e-7  # stated by `inverse`
ORACLE_WIDE_M = 5e-7  # end points, through the oracle's own direct solution and back

latitudes = st.floats(-90.0, 90.0, allow_subnormal=False)
longitudes = st.floats(-180.0, 180.0, allow_subnormal=False)
SHORT_STEP_DEG = st.floats(-1e-3, 1e-3, allow_subnormal=False)
ANTIPODAL_STEP_DEG = st.floats(-1.0, 1.0, allow_subnormal=False)


def at(latitude_deg: float, longitude_deg: float) -> Position:
    return Position(
        latitude_deg=max(-90.0, min(90.0, latitude_deg)),
        longitude_deg=math.remainder(longitude_deg, 360.0),
    )


def oracle_m(start: Position, end: Position) -> float:
    line = Oracle.WGS84.Inverse(
        start.latitude_deg, start.longitude_deg, end.latitude_deg, end.longitude_deg
    )
    return float(line["s12"])


def miss_m(start: Position, end: Position) -> float:
    """How far the path that `inverse` returns ends from the second point, by the oracle."""
    path = inverse(start=start, end=end)
    reached = Oracle.WGS84.Direct(
        start.latitude_deg, start.longitude_deg, path.initial_true_deg, path.distance_m
    )
    return oracle_m(at(reached["lat2"], reached["lon2"]), end)


@pytest.mark.parametrize(
    ("radius_m", "inverse_flattening"),
    [pytest.param(6_378_137.0, 298.257223563, id="GEOGRAPHICLIB-WGS84")],
)
def test_wgs84_has_its_defining_constants(radius_m: float, inverse_flattening: float) -> None:
    assert radius_m == WGS84.equatorial_radius_m
    assert pytest.approx(1.0 / inverse_flattening, rel=1e-15) == WGS84.flattening


@given(latitudes, longitudes, latitudes, longitudes)
def test_any_pair_agrees_with_the_reference_library(
    latitude1: float, longitude1: float, latitude2: float, longitude2: float
) -> None:
    start, end = at(latitude1, longitude1), at(latitude2, longitude2)
    assert inverse(start=start, end=end).distance_m == pytest.approx(
        oracle_m(start, end), abs=ACCURACY_M
    )
    assert miss_m(start, end) < ORACLE_WIDE_M


@given(latitudes, longitudes, ANTIPODAL_STEP_DEG, ANTIPODAL_STEP_DEG)
def test_nearly_antipodal_pairs_agree_with_the_reference_library(
    latitude: float, longitude: float, north_deg: float, east_deg: float
) -> None:
    start = at(latitude, longitude)
    end = at(-latitude + north_deg, longitude + 180.0 + east_deg)
    assert inverse(start=start, end=end).distance_m == pytest.approx(
        oracle_m(start, end), abs=ACCURACY_M
    )
    assert miss_m(start, end) < ORACLE_WIDE_M


@given(latitudes, longitudes, SHORT_STEP_DEG, SHORT_STEP_DEG)
def test_neighbouring_pairs_agree_with_the_reference_library(
    latitude: float, longitude: float, north_deg: float, east_deg: float
) -> None:
    start, end = at(latitude, longitude), at(latitude + north_deg, longitude + east_deg)
    assert distance_nm(start=start, end=end) * M_PER_NM == pytest.approx(
        oracle_m(start, end), abs=ACCURACY_M
    )


SPECIAL_DEG = (-90.0, -45.0, -1e-9, -0.0, 0.0, 1e-7, 45.0, 90.0)
SPECIAL_STEP_DEG = (0.0, 1e-8, 90.0, 179.3, 179.39, 179.4, 179.9999, 180.0)


@pytest.mark.parametrize("latitude2", SPECIAL_DEG)
@pytest.mark.parametrize("latitude1", SPECIAL_DEG)
def test_poles_equator_and_opposite_meridians_agree_with_the_reference_library(
    latitude1: float, latitude2: float
) -> None:
    for step_deg in SPECIAL_STEP_DEG:
        start, end = at(latitude1, 170.0), at(latitude2, 170.0 + step_deg)
        assert inverse(start=start, end=end).distance_m == pytest.approx(
            oracle_m(start, end), abs=ACCURACY_M
        )
        assert miss_m(start, end) < ORACLE_WIDE_M


@given(latitudes, longitudes, st.floats(0.0, 360.0), st.floats(0.0, 20_000_000.0))
def test_a_destination_agrees_with_the_reference_library(
    latitude: float, longitude: float, azimuth_deg: float, length_m: float
) -> None:
    reached = destination(
        start=at(latitude, longitude), initial_true_deg=azimuth_deg, distance_nm=m_to_nm(length_m)
    )
    expected = Oracle.WGS84.Direct(
        latitude, at(latitude, longitude).longitude_deg, azimuth_deg, length_m
    )
    assert oracle_m(reached, at(expected["lat2"], expected["lon2"])) < ORACLE_WIDE_M


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
