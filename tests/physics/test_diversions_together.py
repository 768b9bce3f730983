"""Several diversions flown in one search are each what it is when flown alone, to the last bit."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.errors import OutOfRange
from decision.flight import physics
from decision.performance import (
    CALM_STANDARD,
    Configuration,
    Leaving,
    Objective,
    Track,
    fly_from_each,
    uniform_air,
)
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


@st.composite
def leaving(draw: st.DrawFn) -> tuple[Leaving, ...]:
    """Places to leave from, of which some may be searched together and some may not."""
    first_kg = draw(masses_kg())
    heaviest_kg = xtj150().masses.mtow_kg
    return tuple(
        Leaving(
            mass_kg=min(heaviest_kg, first_kg + draw(st.sampled_from([0.0, 1.0, 300.0, 9_000.0]))),
            pressure_altitude_ft=draw(st.sampled_from([1_500.0, 4_000.0, 7_312.5, 30_000.0])),
            tracks=draw(st.lists(TRACKS, max_size=3).map(tuple)),
            ordinary=draw(st.booleans()),
        )
        for _ in range(draw(st.integers(1, 4)))
    )


@settings(max_examples=60)
@given(
    configuration=configurations(),
    leaving=leaving(),
    leak_kg_per_h=st.sampled_from([0.0, 0.0, 900.0]),
    objective=st.sampled_from(Objective),
)
def test_from_several_places_is_from_each_alone(
    configuration: Configuration,
    leaving: tuple[Leaving, ...],
    leak_kg_per_h: float,
    objective: Objective,
) -> None:
    same: dict[str, Any] = {
        "configuration": configuration,
        "leak_kg_per_h": leak_kg_per_h,
        "objective": objective,
    }
    together = fly_from_each(xtj150(), leaving=leaving, **same)
    alone = tuple(fly_from_each(xtj150(), leaving=(each,), **same)[0] for each in leaving)
    assert together == alone


@given(configuration=configurations(), leaving=leaving())
def test_what_is_remembered_of_a_place_does_not_touch_the_others(
    configuration: Configuration, leaving: tuple[Leaving, ...]
) -> None:
    same: dict[str, Any] = {
        "configuration": configuration,
        "leak_kg_per_h": 0.0,
        "objective": Objective.LEAST_FUEL,
    }
    physics.fly_from_each(xtj150(), leaving=leaving[-1:], **same)
    flown = physics.fly_from_each(xtj150(), leaving=(*leaving, *leaving), **same)
    assert flown == 2 * fly_from_each(xtj150(), leaving=leaving, **same)


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
