"""Aircraft at their empty mass with little fuel: an answer, whatever runs out first."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.case import case_from_mapping
from decision.profile import load_profile, profile_ids
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.recommend.generated import answered, flights

AIRCRAFT = {"clean": "xtj150", "widebody-gear-stays-down": "xtwide"}
EMPTY_KG = {id_: load_profile(id_).masses.oew_kg for id_ in profile_ids()}


def ferried(name: str, *, fuel_kg: float, load_kg: float = 0.0) -> dict[str, Any]:
    """The case with no load to speak of and so much fuel on board."""
    mass_kg = EMPTY_KG[AIRCRAFT[name]] + load_kg + fuel_kg
    return with_changes(demo(name), {"/aircraft/mass_kg": mass_kg, "/fuel/on_board_kg": fuel_kg})


def test_every_aircraft_is_tried() -> None:
    assert set(AIRCRAFT.values()) == set(profile_ids())


circumstances = st.fixed_dictionaries(
    {
        "/plan/hold_min": st.sampled_from([0, 0, 20, 120]),
        "/fuel/leak_kg_per_h": st.sampled_from([0, 0, 900]),
        "/aircraft/gear": st.sampled_from(["up", "down"]),
        "/include": st.just(["steps", "uncertainty", "ahead"]),
    }
)


@pytest.mark.parametrize("name", AIRCRAFT)
@given(fuel_kg=st.floats(0.0, 6_000.0), load_kg=st.floats(0.0, 500.0), changes=circumstances)
@settings(max_examples=30)  # of each aircraft
def test_a_nearly_empty_aircraft_always_gets_an_answer(
    name: str, fuel_kg: float, load_kg: float, changes: dict[str, Any]
) -> None:
    body = with_changes(ferried(name, fuel_kg=fuel_kg, load_kg=load_kg), changes)
    answer = told_of(case_from_mapping(body))
    for course in answer["courses"]:
        if course["fuel"] is None:
            assert course["legal"] is not True
        else:
            assert course["fuel"]["landing_kg"] <= fuel_kg


@pytest.mark.parametrize("name", AIRCRAFT)
def test_its_flip_points_are_found_all_the_same(name: str) -> None:
    body = with_changes(ferried(name, fuel_kg=1_500.0), {"/include": ["flip_points"]})
    answer = told_of(case_from_mapping(body))
    [fuel] = [each for each in answer["flip_points"] if each["input"] == "fuel_on_board_kg"]
    assert answer["verdict"] == "NO_GO"
    assert fuel["flips_at"] > 1_500.0


def test_what_ran_out_is_named_with_what_it_takes() -> None:
    answer = told_of(case_from_mapping(ferried("clean", fuel_kg=500.0)))
    limits = {each["limited_by"] for each in answer["courses"]} - {None}
    assert any("fuel exhausted on the way: " in each for each in limits)
    assert answer["fuel_state"] == "MAYDAY_FUEL"


@given(flights(), st.floats(0.0, 300.0))
def test_with_failures_and_any_weather_too(body: dict[str, Any], load_kg: float) -> None:
    fuel_kg = body["fuel"]["on_board_kg"]
    mass_kg = EMPTY_KG[body["aircraft"]["profile"]] + load_kg + fuel_kg
    assert answered(with_changes(body, {"/aircraft/mass_kg": mass_kg}))["verdict"]
