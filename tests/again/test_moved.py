"""How far an aircraft has come along the steps of a course, and in a hold."""

from __future__ import annotations

from typing import Any

import pytest

from decision.again.moved import along, in_hold
from decision.case import case_from_mapping
from decision.flight.situation import situation_of
from tests.case.builders import demo, with_changes

CLEAN = "gear up, flap 0"


def step(name: str, miles: float, minutes: float, kg: float, end_ft: float) -> dict[str, Any]:
    return {
        "name": name,
        "distance_nm": miles,
        "time_min": minutes,
        "fuel_kg": kg,
        "pressure_altitude_ft": end_ft,
        "configuration": "gear down, flap 20" if name == "approach" else CLEAN,
    }


STEPS = [
    step("holding", 20, 5, 200, 9000),
    step("cruise", 10, 2, 80, 9000),
    step("descent", 24, 6, 60, 2000),
    step("approach", 5, 2, 60, 400),
    step("go-around", 3, 1, 160, 4000),
]


@pytest.mark.parametrize(
    ("minutes", "fuel_kg", "miles", "level_ft", "held_min"),
    [
        (0.0, 0.0, 0.0, 9000.0, 0.0),
        (3.0, 120.0, 0.0, 9000.0, 3.0),
        (6.0, 240.0, 5.0, 9000.0, 5.0),
        (10.0, 310.0, 22.0, 5500.0, 5.0),
        (13.0, 340.0, 34.0, 2000.0, 5.0),
    ],
)
def test_everything_changes_evenly_inside_a_step_and_a_hold_makes_no_miles(
    minutes: float, fuel_kg: float, miles: float, level_ft: float, held_min: float
) -> None:
    moved = along(STEPS, minutes, level_ft=9000.0)
    told = (moved.fuel_kg, moved.miles, moved.level_ft, moved.held_min)
    assert told == pytest.approx((fuel_kg, miles, level_ft, held_min))
    assert moved.lost is None
    assert not moved.gear_down


def test_from_the_approach_on_gear_and_outcome_are_not_known_and_fuel_still_drains() -> None:
    moved = along(STEPS, 14.0, level_ft=9000.0)
    assert (moved.fuel_kg, moved.miles) == pytest.approx((370.0, 36.5))
    assert moved.lost is not None
    assert moved.gear_down
    beyond = along(STEPS, 18.0, level_ft=9000.0)
    assert (beyond.fuel_kg, beyond.miles) == pytest.approx((400.0 + 3 * 30.0, 39.0))


def test_a_course_that_ends_in_the_air_is_lost_there() -> None:
    moved = along(STEPS[:2], 9.0, level_ft=9000.0)
    assert moved.lost is not None
    assert moved.fuel_kg == pytest.approx(280.0 + 2 * 40.0)
    assert not moved.gear_down
    assert along([], 3.0, level_ft=9000.0).fuel_kg == 0.0


def test_a_hold_burns_the_flow_of_a_hold() -> None:
    situation = situation_of(case_from_mapping(demo("wait-for-fog")))
    one, two = in_hold(situation, 3.0), in_hold(situation, 6.0)
    assert one.miles == two.miles == 0.0
    assert one.held_min == 3.0
    assert 2 * one.fuel_kg * 0.999 < two.fuel_kg < 2 * one.fuel_kg


def test_a_hold_above_a_level_limit_begins_with_the_descent_to_it() -> None:
    body = with_changes(
        demo("wait-for-fog"),
        {"/failures": [{"id": "pressurisation"}], "/aircraft/pressure_altitude_ft": 24_000},
    )
    situation = situation_of(case_from_mapping(body))
    begun, low = in_hold(situation, 0.5), in_hold(situation, 12.0)
    assert begun.level_ft is not None
    assert low.level_ft is not None
    assert low.level_ft < begun.level_ft < 24_000


def test_a_hold_for_which_the_fuel_does_not_last_is_lost() -> None:
    body = with_changes(
        demo("wait-for-fog"), {"/fuel/on_board_kg": 500, "/aircraft/mass_kg": 43_000}
    )
    moved = in_hold(situation_of(case_from_mapping(body)), 60.0)
    assert moved.lost is not None
