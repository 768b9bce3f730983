"""Several diversions flown in one search are each what it is when flown alone, to the last bit."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.errors import OutOfRange
from decision.performance import CALM_STANDARD, Configuration, Track, uniform_air
from tests.physics.builders import CLEAN, WINDY, configurations, flying, masses_kg, xtj150
from tests.physics.outcomes import fly_diversion, fly_diversions

AIRS = (
    CALM_STANDARD,
    WINDY,
    uniform_air(headwind_kt=60.0, crosswind_kt=40.0),
    uniform_air(headwind_kt=-40.0, isa_deviation_degc=12.0),
    uniform_air(headwind_kt=230.0),
)
TRACKS = st.builds(
    Track,
    distance_nm=st.floats(5.0, 600.0),
    end_pressure_altitude_ft=st.floats(-500.0, 9_000.0),
    air=st.sampled_from(AIRS),
    minimum_pressure_altitude_ft=st.sampled_from([None, None, 8_000.0, 21_400.0, 38_900.0]),
)


@settings(max_examples=60)
@given(
    configuration=configurations(),
    mass_kg=masses_kg(),
    start_ft=st.floats(-500.0, 30_000.0),
    tracks=st.lists(TRACKS, min_size=1, max_size=6).map(tuple),
    leak_kg_per_h=st.sampled_from([0.0, 0.0, 900.0]),
)
def test_together_is_each_alone(
    configuration: Configuration,
    mass_kg: float,
    start_ft: float,
    tracks: tuple[Track, ...],
    leak_kg_per_h: float,
) -> None:
    together = fly_diversions(
        xtj150(),
        configuration=configuration,
        mass_kg=mass_kg,
        start_pressure_altitude_ft=start_ft,
        tracks=tracks,
        leak_kg_per_h=leak_kg_per_h,
    )
    alone = tuple(
        fly_diversion(
            xtj150(),
            configuration=configuration,
            mass_kg=mass_kg,
            distance_nm=track.distance_nm,
            start_pressure_altitude_ft=start_ft,
            end_pressure_altitude_ft=track.end_pressure_altitude_ft,
            air=track.air,
            minimum_pressure_altitude_ft=track.minimum_pressure_altitude_ft,
            leak_kg_per_h=leak_kg_per_h,
        )
        for track in tracks
    )
    assert together == alone


def test_what_one_destination_forbids_does_not_touch_the_others() -> None:
    tracks = (
        Track(distance_nm=3.0, end_pressure_altitude_ft=9_000.0),
        Track(distance_nm=120.0, end_pressure_altitude_ft=1_500.0),
        Track(
            distance_nm=120.0,
            end_pressure_altitude_ft=1_500.0,
            minimum_pressure_altitude_ft=26_000.0,
        ),
    )
    near, far, high = fly_diversions(
        xtj150(),
        configuration=flying(gear_down=True),
        mass_kg=60_000.0,
        start_pressure_altitude_ft=1_500.0,
        tracks=tracks,
    )
    assert (near.feasible, far.feasible, high.feasible) == (False, True, False)
    assert near.limited_by is not None
    assert "too short" in near.limited_by
    assert high.limited_by is not None
    assert "26000 ft is above" in high.limited_by


def test_no_destination_at_all_is_no_flight() -> None:
    assert (
        fly_diversions(
            xtj150(),
            configuration=CLEAN,
            mass_kg=60_000.0,
            start_pressure_altitude_ft=1_500.0,
            tracks=(),
        )
        == ()
    )


def test_an_impossible_distance_is_refused_among_possible_ones() -> None:
    tracks = tuple(
        Track(distance_nm=miles, end_pressure_altitude_ft=1_500.0) for miles in (100.0, -1.0)
    )
    with pytest.raises(OutOfRange, match="distance_nm"):
        fly_diversions(
            xtj150(),
            configuration=CLEAN,
            mass_kg=60_000.0,
            start_pressure_altitude_ft=1_500.0,
            tracks=tracks,
        )
