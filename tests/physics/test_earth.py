"""Ways over the earth: their laws, the plain sphere and the library's way to a point.

Published values stand in `test_check_values`.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from decision.earth import (
    MANY_WITHIN_NM,
    MANY_WRONG_NM,
    WGS84,
    distance_nm,
    distances_nm,
    initial_true_deg,
    point_between,
)
from decision.quantities import Position
from decision.units import M_PER_NM

ACCURACY_NM = 1e-10  # rounding of positions in degrees
OBLATE = 0.006  # by how much the ellipsoid departs from a sphere of one mile a minute

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
def test_a_point_is_as_far_away_as_the_library_went_to_reach_it(
    latitude: float, longitude: float, azimuth_deg: float, length_m: float
) -> None:
    start = at(latitude, longitude)
    reached = WGS84.Direct(start.latitude_deg, start.longitude_deg, azimuth_deg, length_m)
    found_nm = distance_nm(start=start, end=at(reached["lat2"], reached["lon2"]))
    assert found_nm == pytest.approx(length_m / M_PER_NM, abs=ACCURACY_NM)


@given(latitudes, longitudes, latitudes, longitudes)
def test_a_way_is_nearly_as_long_as_the_great_circle_of_its_chord(
    latitude1: float, longitude1: float, latitude2: float, longitude2: float
) -> None:
    start, end = at(latitude1, longitude1), at(latitude2, longitude2)
    chord = math.dist(on_unit_sphere(start), on_unit_sphere(end))
    assume(chord < 1.99)  # the arc of a chord is ill-determined at the other end of the diameter
    arc_nm = 2.0 * math.degrees(math.asin(chord / 2.0)) * 60.0
    assert distance_nm(start=start, end=end) == pytest.approx(arc_nm, rel=OBLATE, abs=1e-5)


@given(latitudes, longitudes, latitudes, longitudes, st.floats(0.0, 1.0))
def test_a_point_between_divides_the_way_as_it_is_asked_to(
    latitude1: float, longitude1: float, latitude2: float, longitude2: float, share: float
) -> None:
    start, end = at(latitude1, longitude1), at(latitude2, longitude2)
    whole_nm = distance_nm(start=start, end=end)
    between = point_between(start=start, end=end, share=share)
    made_nm, left_nm = distance_nm(start=start, end=between), distance_nm(start=between, end=end)
    assert made_nm == pytest.approx(whole_nm * share, abs=1e-6)
    assert left_nm == pytest.approx(whole_nm * (1.0 - share), abs=1e-6)


def test_there_is_no_way_from_a_point_to_itself() -> None:
    assert distance_nm(start=at(48.0, 11.0), end=at(48.0, 11.0)) == 0.0


@given(latitudes, longitudes, latitudes, longitudes)
def test_the_way_back_is_as_long_and_sets_out_for_where_one_came_from(
    latitude1: float, longitude1: float, latitude2: float, longitude2: float
) -> None:
    start, end = at(latitude1, longitude1), at(latitude2, longitude2)
    there_nm = distance_nm(start=start, end=end)
    assert there_nm == pytest.approx(distance_nm(start=end, end=start), abs=ACCURACY_NM)
    assume(1.0 < there_nm < 10_700.0)  # nearer or farther, a direction is ill-determined
    assume(max(abs(latitude1), abs(latitude2)) < 89.9)
    back_deg, metres = initial_true_deg(start=end, end=start), there_nm * M_PER_NM
    home = WGS84.Direct(end.latitude_deg, end.longitude_deg, back_deg, metres)
    assert distance_nm(start=start, end=at(home["lat2"], home["lon2"])) < 1e-6


@given(latitudes, longitudes, st.floats(0.0, 360.0), st.floats(0.0, MANY_WITHIN_NM))
def test_many_distances_at_once_are_as_wrong_as_is_said_at_most(
    latitude: float, longitude: float, azimuth_deg: float, length_nm: float
) -> None:
    start = at(latitude, longitude)
    end = WGS84.Direct(start.latitude_deg, start.longitude_deg, azimuth_deg, length_nm * M_PER_NM)
    [found_nm] = distances_nm(
        start=start,
        latitudes_deg=np.array([end["lat2"]]),
        longitudes_deg=np.array([end["lon2"]]),
    )
    assert found_nm == pytest.approx(length_nm, abs=MANY_WRONG_NM)


def test_the_other_side_of_the_earth_is_far_and_oneself_is_near() -> None:
    there = distances_nm(
        start=at(0.0, 0.0),
        latitudes_deg=np.array([0.0, 0.0, 90.0]),
        longitudes_deg=np.array([0.0, 180.0, 0.0]),
    )
    assert there[0] == 0.0
    assert there[1] > MANY_WITHIN_NM
    assert there[2] > MANY_WITHIN_NM
