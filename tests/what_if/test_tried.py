"""Inputs at other values, all at once: decided as the case that has them; turning where told."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec import json

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from decision.recommend import decide_varied, recommend, recommend_mapping, recommend_row
from decision.recommend import recommend_tried as recommended
from decision.what_if.vary import INPUTS, InputsTried, varied
from tests.case.builders import demo, with_changes

WITH_FLIPS = {"/include": ["flip_points"]}


def tried(name: str, *values: dict[str, float], turns_of: tuple[str, ...] = ()) -> list[Any]:
    stored, told = recommended(case_from_mapping(demo(name)), values, turns_of=turns_of)
    assert stored == row(name, {})
    return told


def row(name: str, changes: dict[str, Any]) -> Any:
    return recommend_row(case_from_mapping(with_changes(demo(name), changes)))


@pytest.mark.parametrize(
    "name", ["gear-stuck", "clean", "wait-for-fog", "widebody-gear-stays-down"]
)
def test_fuel_mass_and_delay_together_are_the_case_that_has_them(name: str) -> None:
    body = demo(name)
    fuel_kg, mass_kg = body["fuel"]["on_board_kg"] + 300, body["aircraft"]["mass_kg"] + 400
    hold_min = body.get("plan", {}).get("hold_min", 0) + 4
    [one] = tried(name, {"fuel_on_board_kg": fuel_kg, "delay_min": 4, "mass_kg": mass_kg})
    changes = {
        "/fuel/on_board_kg": fuel_kg,
        "/aircraft/mass_kg": mass_kg,
        "/plan/hold_min": hold_min,
    }
    assert one["row"] == row(name, changes)
    assert [each["value"] for each in one["inputs"]] == [fuel_kg, 4, mass_kg]


def test_nothing_tried_is_the_case_and_turns_where_its_answer_says() -> None:
    names = tuple(each.name for each in INPUTS)
    [one] = tried("gear-stuck", {}, turns_of=names)
    assert one["row"] == row("gear-stuck", {})
    body = with_changes(demo("gear-stuck"), WITH_FLIPS)
    assert one["turns"] == recommend_mapping(case_from_mapping(body))["flip_points"]
    assert any(each["flips_at"] is not None for each in one["turns"])


@pytest.mark.parametrize("name", ["gear-stuck", "choice", "wait-for-fog"])
def test_an_input_turns_the_verdict_at_the_value_told_with_the_others_as_they_are_tried(
    name: str,
) -> None:
    others = {"diversion_headwind_kt": 15.0, "delay_min": 2.0}
    steps = {each.name: each.step for each in INPUTS}
    seen = 0
    for flip in tried(name, others, turns_of=("fuel_on_board_kg", "destination_visibility_m"))[0][
        "turns"
    ]:
        if flip["flips_at"] is None:
            continue
        seen += 1
        back = steps[flip["input"]] if flip["flips_at"] < flip["present"] else -steps[flip["input"]]
        at, before = tried(
            name,
            {**others, flip["input"]: flip["flips_at"]},
            {**others, flip["input"]: flip["flips_at"] + back},
        )
        assert at["row"]["verdict"] == flip["to_verdict"]
        assert before["row"]["verdict"] != flip["to_verdict"]
    assert seen


def test_where_it_turns_does_not_depend_on_its_own_value() -> None:
    near, far = tried(
        "gear-stuck",
        {"fuel_on_board_kg": 4000.0, "delay_min": 3.0},
        {"fuel_on_board_kg": 9000.0, "delay_min": 3.0},
        turns_of=("fuel_on_board_kg",),
    )
    assert near["turns"] == far["turns"]
    assert near["row"] != far["row"]


def test_two_things_tried_at_one_place_are_both_there() -> None:
    answer = recommend(case_from_mapping(demo("clean")))
    case, what_if = varied(
        answer, {"destination_ceiling_ft": 0.0, "destination_visibility_m": 5000.0}
    )
    weather = [
        attempt.weather
        for judged in decide_varied(case, what_if).courses
        for attempt in judged.course.attempts
        if attempt.icao == answer.situation.case.destination.aerodrome.icao
    ]
    assert weather
    assert {(each.ceiling.feet, each.visibility.metres) for each in weather} == {(0.0, 5000.0)}


@pytest.mark.parametrize(
    ("values", "pointer", "code"),
    [
        ({"mass_kg": 10.0}, "/1/mass_kg", "range"),
        ({"fuel_on_board_kg": -1.0}, "/1/fuel_on_board_kg", "range"),
    ],
)
def test_a_value_that_the_case_cannot_have_is_a_fault_of_its_row(
    values: dict[str, float], pointer: str, code: str
) -> None:
    with pytest.raises(InvalidCase) as raised:
        tried("clean", {}, values)
    assert [(each.pointer, each.code) for each in raised.value.faults] == [(pointer, code)]


def test_what_the_case_does_not_know_cannot_be_tried() -> None:
    body = demo("clean")
    reports = [each for each in body["weather"]["reports"] if body_place(body) not in each]
    case = case_from_mapping(with_changes(body, {"/weather/reports": reports}))
    with pytest.raises(InvalidCase) as raised:
        recommended(case, [{"destination_visibility_m": 5000.0}])
    assert [each.code for each in raised.value.faults] == ["unknown"]


def body_place(body: dict[str, Any]) -> str:
    place = body["destination"]
    return str(place if isinstance(place, str) else place["icao"])


def test_the_members_of_a_request_are_the_inputs_with_their_ranges() -> None:
    answer = recommend(case_from_mapping(demo("clean")))
    assert InputsTried.__struct_fields__ == tuple(each.name for each in INPUTS)
    for each in INPUTS:
        low, high = each.span(answer)
        for value in (low, high):
            json.decode(json.encode({each.name: int(value)}), type=InputsTried)
        if each.name != "mass_kg":
            for value in (low - 1, high + 1):
                with pytest.raises(ValueError, match=each.name):
                    json.decode(json.encode({each.name: int(value)}), type=InputsTried)
