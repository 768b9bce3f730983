"""What lets the aircraft climb away, each remedy tried out by deciding the case with it."""

from __future__ import annotations

from typing import Any

import pytest

from decision.brief import brief
from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import REMOVED, demo, with_changes

CASE = "engine-out-gradient"
AWAY = "approach_then_divert:XBRE"
STEEP = {"id": "LOW", "runway": "36", "kind": "3D-A", "dh_ft": 250, "rvr_m": 750}
FLATTER = {**STEEP, "id": "HIGH", "dh_ft": 700, "missed_gradient_percent": 2.5}


def told(**changes: Any) -> Any:
    return told_of(case_from_mapping(with_changes(demo(CASE), changes)))


def gradient(answer: Any, label: str = AWAY) -> dict[str, Any]:
    """The finding on the gradient of the approach at the destination."""
    [course] = [each for each in answer["courses"] if each["course"] == label]
    [found] = [
        each for each in course["findings"] if each["rule"] == "MA-01" and each["at"] == "XMON"
    ]
    return dict(found)


def of_kind(answer: Any, kind: str) -> list[dict[str, Any]]:
    return [each for each in answer["remedies"] if each["kind"] == kind]


def described(*procedures: dict[str, Any], ceiling: str = "BKN030") -> dict[str, Any]:
    """The destination with one runway and these procedures; the first of them is planned."""
    place = {
        "icao": "XNEW",
        "elevation_ft": 1200,
        "track_nm": 45,
        "minimum_level_ft": 7000,
        "runways": [{"ident": "36", "true_bearing_deg": 355, "lda_m": 2600}],
        "approaches": list(procedures),
    }
    return {
        "/destination": place,
        "/plan/approach": procedures[0]["id"],
        "/weather/reports/0": f"METAR XNEW 140600Z 34008KT 9999 {ceiling} 12/05 Q1012",
        "/weather/reports/1": f"TAF XNEW 140500Z 1406/1506 34010KT 9999 {ceiling}",
    }


def test_another_runway_that_is_named_can_be_flown_when_it_is_planned() -> None:
    [remedy] = of_kind(told(), "another_runway")
    assert (remedy["approach"], remedy["runway"]) == ("ILS 18", "18")
    assert gradient(told(**{"/plan/approach": "ILS 18"}))["outcome"] == "PASS"


def test_less_mass_is_the_greatest_that_climbs_away() -> None:
    """Decided again so much lighter it passes, a little heavier it does not."""
    answer = told()
    [remedy] = of_kind(answer, "less_mass")
    [course] = [each for each in answer["courses"] if each["course"] == AWAY]
    less_kg = course["attempts"][0]["mass_kg"] - remedy["mass_kg"]
    assert less_kg > 500
    outcomes = [
        gradient(
            told(
                **{
                    "/aircraft/mass_kg": 63_000 - less_kg + more_kg,
                    "/fuel/on_board_kg": 5_200 - less_kg + more_kg,
                }
            )
        )["outcome"]
        for more_kg in (-20.0, 30.0)
    ]
    assert outcomes == ["PASS", "FAIL"]
    assert "min of holding" in remedy["text"]


def test_a_flatter_procedure_to_the_same_runway_is_another_minimum() -> None:
    steep = {**STEEP, "missed_gradient_percent": 5.0}
    [remedy] = of_kind(told(**described(steep, FLATTER)), "another_minimum")
    assert (remedy["approach"], remedy["runway"]) == ("HIGH", "36")
    assert remedy["text"].startswith("HIGH, minimum height 700 ft")
    assert ", but" not in remedy["text"]


def test_what_else_stands_against_a_remedy_is_said_with_it() -> None:
    steep = {**STEEP, "missed_gradient_percent": 5.0}
    blind = {**FLATTER, "rvr_m": 1500}
    changes = described(steep, blind)
    changes["/weather/reports/0"] = "METAR XNEW 140600Z 34008KT 0900 BR BKN030 12/05 Q1012"
    [remedy] = of_kind(told(**changes), "another_minimum")
    assert ", but XNEW" in remedy["text"]
    assert remedy["text"].endswith("(AP-02)")


def test_a_procedure_without_a_height_is_named_without_one() -> None:
    steep = {**STEEP, "missed_gradient_percent": 5.0}
    unnamed = {key: value for key, value in FLATTER.items() if key != "dh_ft"}
    [remedy] = of_kind(told(**described(steep, unnamed)), "another_minimum")
    assert remedy["text"].startswith("HIGH: its missed approach can be flown")


def test_where_no_mass_climbs_away_that_is_said() -> None:
    wall = {**STEEP, "missed_gradient_percent": 12.0}
    answer = told(**described(wall))
    [remedy] = answer["remedies"]
    assert (remedy["kind"], remedy["mass_kg"]) == ("less_mass", None)
    assert "only the final reserve" in remedy["text"]


def test_an_obstacle_in_the_way_has_remedies_too() -> None:
    """Half a mile further on the climb is over it: so is a lighter aircraft."""
    hill = {"distance_nm": 4.0, "elevation_ft": 2350}
    blocked = {**STEEP, "missed_gradient_percent": 2.5, "obstacles": [hill]}
    answer = told(**described(blocked, {**FLATTER, "obstacles": []}))
    assert gradient_fails(answer, "MA-02")
    assert [each["kind"] for each in answer["remedies"]] == ["another_minimum", "less_mass"]


def gradient_fails(answer: Any, rule: str) -> bool:
    return any(
        each["rule"] == rule and each["outcome"] == "FAIL"
        for course in answer["courses"]
        for each in course["findings"]
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"/failures": []},  # it climbs
        {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED},  # no way to it is known
        {"/weather/reports": []},  # nobody knows whether it climbs
    ],
)
def test_no_remedy_is_offered_where_none_is_asked_for(changes: dict[str, Any]) -> None:
    assert told(**changes)["remedies"] == []


def test_the_brief_names_the_remedies_and_reads_answers_that_have_none() -> None:
    answer = told()
    assert "TO MEET THE GRADIENT" in brief(answer)
    assert "- another runway: ILS 18" in brief(answer)
    older = {key: value for key, value in answer.items() if key != "remedies"}
    assert "TO MEET" not in brief(older)


# --- too heavy to land ---

HEAVY: dict[str, Any] = {"/failures": [], "/fuel/on_board_kg": 10_500, "/aircraft/mass_kg": 67_900}


def changed(name: str, **changes: Any) -> Any:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def over_mass_kg(answer: Any) -> float:
    return max(
        float(-each["margin"])
        for course in answer["courses"]
        if course["kind"] == "commit_to_land"
        for each in course["findings"]
        if each["unit"] == "kg" and each["outcome"] == "FAIL" and each["rule"].startswith("L")
    )


def test_an_overweight_arrival_may_burn_off_or_land_overweight_each_with_its_price() -> None:
    answer = changed("clean", **HEAVY)
    [burn], [land] = of_kind(answer, "burn_off"), of_kind(answer, "overweight_landing")
    over_kg = over_mass_kg(answer)
    assert over_kg > 0.0
    assert burn["mass_kg"] == pytest.approx(land["mass_kg"] - over_kg, abs=0.1)
    assert burn["minutes"] > 0.0
    assert burn["say"].startswith("Request to hold for ")
    assert "inspected afterwards" in land["text"]
    assert answer["emergency"]["level"] == "NONE"


def test_after_the_minutes_of_burning_off_the_landing_is_within_its_mass() -> None:
    """Decided again with that hold before the approach, and with a minute less."""
    [burn] = of_kind(changed("clean", **HEAVY), "burn_off")
    held = changed("clean", **HEAVY, **{"/plan/hold_min": burn["minutes"] + 1.0})
    less = changed("clean", **HEAVY, **{"/plan/hold_min": burn["minutes"] * 0.8})
    assert of_kind(held, "overweight_landing") == []
    assert of_kind(less, "overweight_landing")


def test_nothing_is_burnt_off_into_the_final_reserve() -> None:
    """A planned reserve that would be broken by it: the landing as it is remains."""
    answer = changed("clean", **HEAVY, **{"/fuel/planned_final_reserve_kg": 9_500})
    assert of_kind(answer, "overweight_landing")
    assert of_kind(answer, "burn_off") == []


@pytest.mark.parametrize(
    "pressing",
    [{"/failures": [{"id": "engine-1-fire"}]}, {"/failures": [], "/fuel/leak_kg_per_h": 500}],
)
def test_under_pressure_no_minute_is_spent_on_a_remedy(pressing: dict[str, Any]) -> None:
    answer = changed("clean", **(HEAVY | pressing))
    assert of_kind(answer, "overweight_landing")
    assert not [each for each in answer["remedies"] if each["minutes"]]
    assert of_kind(answer, "less_mass") == []


# --- an assigned hold ---

ASSIGNED: dict[str, Any] = {"/failures": [], "/plan/hold_min": 25}


def test_a_hold_that_changes_the_answer_is_questioned_with_words_for_control() -> None:
    answer = changed("clean", **ASSIGNED)
    free = changed("clean", **{"/failures": []})
    [refuse] = of_kind(answer, "refuse_hold")
    assert (free["verdict"], free["action"]["do"]) != (answer["verdict"], answer["action"]["do"])
    assert f"the answer is {free['verdict']}: {free['action']['do']}" in refuse["text"]
    assert refuse["minutes"] == 0.0
    assert refuse["say"] == "Unable to hold due to fuel, request approach at XKAL."


def test_the_longest_hold_that_keeps_the_better_answer_is_found_to_a_minute() -> None:
    answer = changed("clean", **ASSIGNED)
    [shorten] = of_kind(answer, "shorten_hold")
    free = changed("clean", **{"/failures": []})
    within = changed("clean", **(ASSIGNED | {"/plan/hold_min": shorten["minutes"]}))
    beyond = changed("clean", **(ASSIGNED | {"/plan/hold_min": shorten["minutes"] + 1.1}))
    assert within["verdict"] == free["verdict"] != beyond["verdict"]
    assert shorten["say"].startswith("Unable to hold beyond ")


@pytest.mark.parametrize(
    "changes",
    [
        {"/failures": []},
        {"/failures": [], "/plan/hold_min": 2},
        {"/failures": [], "/plan/hold_min": 15, "/fuel/on_board_kg": 9000},
    ],
)
def test_a_hold_that_changes_nothing_is_not_questioned(changes: dict[str, Any]) -> None:
    answer = changed("clean", **changes)
    assert [each for each in answer["remedies"] if "hold" in each["kind"]] == []


def test_an_expected_approach_time_is_questioned_like_a_hold() -> None:
    """A delay told by control is a hold by another name."""
    answer = changed("clean", **{"/failures": [], "/air_traffic/delay_min": 25})
    assert answer["verdict"] != changed("clean", **{"/failures": []})["verdict"]
    assert of_kind(answer, "refuse_hold")
