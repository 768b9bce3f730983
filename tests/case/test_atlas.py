"""The search among places finds what asking the geodesic library about each one finds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.case.atlas import Atlas, Placed, atlas_of
from decision.earth import MANY_WRONG_NM, WGS84, distance_nm
from decision.errors import OutOfRange
from decision.quantities import Position

LATITUDES = st.floats(-90.0, 90.0) | st.sampled_from([-90.0, 0.0, 90.0])
LONGITUDES = st.floats(-180.0, 180.0) | st.sampled_from([-180.0, 0.0, 180.0])
POSITIONS = st.builds(
    lambda latitude, longitude: Position(latitude_deg=latitude, longitude_deg=longitude),
    LATITUDES,
    LONGITUDES,
)


def at(latitude_deg: float, longitude_deg: float) -> Position:
    return Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg)


def atlas(*positions: Position) -> Atlas:
    return atlas_of(Placed(f"X{index:03d}", each) for index, each in enumerate(positions))


@settings(max_examples=100)
@given(st.lists(POSITIONS, max_size=25), POSITIONS, st.floats(0.0, 3900.0))
def test_what_is_within_a_radius_is_what_the_geodesics_say(
    positions: list[Position], centre: Position, radius_nm: float
) -> None:
    found = atlas(*positions).within(centre, radius_nm, most=100)
    exact = {
        f"X{index:03d}": distance_nm(start=centre, end=each) for index, each in enumerate(positions)
    }
    assert {each.icao for each in found.places} == {
        icao for icao, away_nm in exact.items() if away_nm <= radius_nm
    }
    assert found.beyond == 0
    for each in found.places:
        assert each.distance_nm == pytest.approx(exact[each.icao], abs=MANY_WRONG_NM)


@settings(max_examples=50)
@given(POSITIONS, st.floats(0.0, 360.0), st.floats(1.0, 3900.0))
def test_a_place_on_the_edge_is_in_or_out_by_the_geodesic(
    centre: Position, azimuth_deg: float, radius_nm: float
) -> None:
    edge = _reached(centre, azimuth_deg, radius_nm)
    away_nm = distance_nm(start=centre, end=edge)
    for inside, limit_nm in ((True, away_nm), (False, np.nextafter(away_nm, 0.0))):
        found = atlas(edge).within(centre, float(limit_nm), most=1)
        assert bool(found.places) is inside


def _reached(start: Position, azimuth_deg: float, miles: float) -> Position:
    end = WGS84.Direct(start.latitude_deg, start.longitude_deg, azimuth_deg, miles * 1852.0)
    return at(max(-90.0, min(90.0, end["lat2"])), (end["lon2"] + 540.0) % 360.0 - 180.0)


def test_the_nearest_come_first_and_the_rest_is_counted() -> None:
    found = atlas(at(3.0, 0.0), at(1.0, 0.0), at(2.0, 0.0)).within(at(0.0, 0.0), 500.0, most=2)
    assert [each.icao for each in found.places] == ["X001", "X002"]
    assert found.beyond == 1


def test_places_on_both_sides_of_the_date_line_are_neighbours() -> None:
    found = atlas(at(10.0, 179.9), at(10.0, -179.9), at(10.0, 0.0)).within(
        at(10.0, 180.0), 20.0, most=9
    )
    assert {each.icao for each in found.places} == {"X000", "X001"}


def test_from_a_pole_every_meridian_is_as_far() -> None:
    found = atlas(*(at(89.0, float(each)) for each in range(-180, 180, 30))).within(
        at(90.0, 12.0), 61.0, most=99
    )
    assert len(found.places) == 12


@pytest.mark.parametrize("radius_nm", [-1.0, 4000.0, float("nan")])
def test_a_radius_for_which_the_distances_do_not_hold_is_refused(radius_nm: float) -> None:
    with pytest.raises(OutOfRange):
        atlas(at(0.0, 0.0)).within(at(0.0, 0.0), radius_nm, most=1)
