"""Height of a climb at a distance: against its own gradient, fine steps, and where it ends."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.errors import OutOfRange
from decision.performance import climb
from decision.performance.climb import LONGEST_CLIMB_NM, Reached, altitude_at_distance
from decision.units import FT_PER_NM, PERCENT
from tests.physics.builders import flying, xtj150

GO_AROUND = flying(flap="20", slats_out=True, gear_down=True)
ONE_ENGINE = flying(flap="20", slats_out=True, gear_down=True, engines_running=1)
STEPS_FT = 5.0  # error of steps of a mile over 20 NM, all engines


def climbed(**changed: Any) -> Reached:
    asked: dict[str, Any] = {
        "configuration": ONE_ENGINE,
        "mass_kg": 62_000.0,
        "pressure_altitude_ft": 700.0,
        "isa_deviation_degc": 5.0,
        "distance_nm": 10.0,
    }
    return altitude_at_distance(xtj150(), **(asked | changed))


def gradient_percent(**changed: Any) -> float:
    asked: dict[str, Any] = {
        "configuration": ONE_ENGINE,
        "mass_kg": 62_000.0,
        "pressure_altitude_ft": 700.0,
        "isa_deviation_degc": 5.0,
    }
    return climb(xtj150(), **(asked | changed)).ground_gradient_percent


def test_at_no_distance_nothing_is_gained() -> None:
    assert climbed(distance_nm=0.0) == Reached(
        height_gained_ft=0.0, pressure_altitude_ft=700.0, levelled_off=False
    )


@pytest.mark.parametrize("headwind_kt", [-10.0, 0.0, 20.0])
def test_at_first_the_height_is_the_gradient_over_the_ground(headwind_kt: float) -> None:
    expected_ft = gradient_percent(headwind_kt=headwind_kt) / PERCENT * 0.1 * FT_PER_NM
    reached = climbed(distance_nm=0.1, headwind_kt=headwind_kt)
    assert reached.height_gained_ft == pytest.approx(expected_ft, rel=2e-3)


def test_miles_flown_one_by_one_reach_the_same_height() -> None:
    whole, level_ft, gained_ft = climbed(distance_nm=20.0), 700.0, 0.0
    for _ in range(200):
        short = climbed(distance_nm=0.1, pressure_altitude_ft=level_ft)
        level_ft, gained_ft = short.pressure_altitude_ft, gained_ft + short.height_gained_ft
    assert whole.height_gained_ft == pytest.approx(gained_ft, abs=STEPS_FT)
    assert whole.pressure_altitude_ft == pytest.approx(level_ft, abs=STEPS_FT)


def test_on_a_hot_day_a_true_height_is_more_than_its_pressure_altitude() -> None:
    hot = climbed(isa_deviation_degc=25.0, configuration=GO_AROUND)
    assert hot.height_gained_ft > hot.pressure_altitude_ft - 700.0
    cold = climbed(isa_deviation_degc=-25.0, configuration=GO_AROUND)
    assert cold.height_gained_ft < cold.pressure_altitude_ft - 700.0


def test_a_stretch_flown_level_first_is_lost_to_the_climb() -> None:
    assert climbed(level_first_s=15.0).height_gained_ft < climbed().height_gained_ft
    assert climbed(distance_nm=0.3, level_first_s=15.0).height_gained_ft == 0.0


def test_a_climb_ends_at_the_height_that_ends_it() -> None:
    reached = climbed(configuration=GO_AROUND, most_gained_ft=2_000.0)
    assert reached.height_gained_ft == pytest.approx(2_000.0)
    assert reached.levelled_off
    below = climbed(configuration=GO_AROUND, most_gained_ft=2_000.0, distance_nm=1.0)
    assert not below.levelled_off


def test_a_climb_ends_at_the_altitude_limit_of_the_configuration() -> None:
    flaps_ft = xtj150().limits.max_flaps_out_ft
    reached = climbed(configuration=GO_AROUND, mass_kg=45_000.0, distance_nm=60.0)
    assert reached.levelled_off
    assert reached.pressure_altitude_ft == pytest.approx(flaps_ft)


def test_an_aircraft_that_cannot_climb_loses_height() -> None:
    reached = climbed(mass_kg=76_000.0, isa_deviation_degc=35.0, pressure_altitude_ft=8_000.0)
    assert reached.height_gained_ft < 0.0
    assert reached.pressure_altitude_ft < 8_000.0


@pytest.mark.parametrize("distance_nm", [-0.1, LONGEST_CLIMB_NM + 0.1, float("nan")])
def test_a_distance_beyond_a_climb_is_refused(distance_nm: float) -> None:
    with pytest.raises(OutOfRange, match="distance_nm"):
        climbed(distance_nm=distance_nm)


@settings(max_examples=20)
@given(
    near_nm=st.floats(0.5, 20.0),
    more_nm=st.floats(0.1, 20.0),
    lighter_kg=st.floats(0.0, 15_000.0),
    headwind_kt=st.floats(0.0, 30.0),
)
def test_farther_lighter_and_into_wind_is_never_lower(
    near_nm: float, more_nm: float, lighter_kg: float, headwind_kt: float
) -> None:
    near = climbed(distance_nm=near_nm).height_gained_ft
    assert climbed(distance_nm=near_nm + more_nm).height_gained_ft >= near
    assert climbed(distance_nm=near_nm, mass_kg=62_000.0 - lighter_kg).height_gained_ft >= near
    assert climbed(distance_nm=near_nm, headwind_kt=headwind_kt).height_gained_ft >= near
