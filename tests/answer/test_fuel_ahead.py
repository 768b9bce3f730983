"""The fuel over the miles to the threshold: it agrees with every other figure of the answer."""

from __future__ import annotations

import math
from datetime import datetime
from functools import cache
from itertools import pairwise
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from tests.answer.told import told
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.case.flights import FIVE

INCLUDED = {"include": ["ahead"]}
AHEAD = {"/include": ["ahead"]}
FIGURES = ("need_kg", "need_p5_kg", "need_p95_kg", "final_reserve_kg")
ROUNDED_KG = 0.0011  # two figures to a thousandth, one of them a sum
SHORT_OF_FUEL = {"/fuel/on_board_kg": 3_250}
Told = dict[str, Any]


def asked(name: str, **changes: Any) -> Told:
    return told(with_changes(demo(name), {**AHEAD, **changes}))


@cache
def answer(name: str) -> Told:
    return asked(name)


def needs(point: Told) -> dict[str, float]:
    return {each["aerodrome"]: each["need_kg"] for each in point["places"]}


def course_to(whole: Told, icao: str, kind: str, *, origin: str) -> Told:
    [course] = [
        each
        for each in whole["courses"]
        if (each["kind"], each["aerodrome"], each["from"]) == (kind, icao, origin)
    ]
    return dict(course["fuel"])


def step_of(points: list[Told]) -> list[tuple[Told, Told]]:
    """The points on both sides of a step."""
    return [(one, two) for one, two in pairwise(points) if two["after_step"] > one["after_step"]]


WITH_ALTERNATES = [name for name in NAMES if demo(name).get("alternates")]
WITH_A_STEP = [name for name in NAMES if step_of(answer(name)["fuel_ahead"])]


@pytest.mark.parametrize("name", WITH_ALTERNATES)
def test_at_the_minimum_the_need_is_that_of_the_course_after_a_miss(name: str) -> None:
    whole = answer(name)
    minimum = whole["fuel_ahead"][-1]
    assert minimum["distance_to_go_nm"] == 0
    for place in minimum["places"]:
        fuel = course_to(
            whole, place["aerodrome"], "approach_then_divert", origin="missed_approach"
        )
        assert place["need_kg"] == fuel["required_kg"]
        assert place["final_reserve_kg"] == fuel["final_reserve_kg"]
        assert minimum["planned_kg"] == fuel["at_missed_approach_kg"]
        room_kg = minimum["planned_kg"] - place["need_p95_kg"]
        assert room_kg == pytest.approx(fuel["margin_p95_kg"], abs=ROUNDED_KG)


@pytest.mark.parametrize("name", WITH_ALTERNATES)
def test_at_the_present_the_room_is_that_of_diverting_now(name: str) -> None:
    whole = answer(name)
    present = whole["fuel_ahead"][0]
    assert present["at"] == whole["as_of"]
    for place in present["places"]:
        fuel = course_to(whole, place["aerodrome"], "divert_now", origin="present")
        room_kg = present["planned_kg"] - place["need_kg"]
        assert room_kg == pytest.approx(fuel["margin_kg"], abs=ROUNDED_KG)
        room_kg = present["planned_kg"] - place["need_p95_kg"]
        assert room_kg == pytest.approx(fuel["margin_p95_kg"], abs=ROUNDED_KG)


@pytest.mark.parametrize("name", WITH_A_STEP)
def test_both_sides_of_the_step_are_those_of_the_last_clean_point(name: str) -> None:
    whole = answer(name)
    point = whole["last_clean_diversion"]
    [(before, after)] = step_of(whole["fuel_ahead"])
    for side in (before, after):
        assert side["distance_to_go_nm"] == point["distance_to_go_nm"]
        assert (side["at"], side["planned_kg"]) == (point["at"], point["fuel_kg"])
    clean = {each["aerodrome"]: each["clean_kg"] for each in point["penalties"]}
    stuck = {each["aerodrome"]: each["after_kg"] for each in point["penalties"]}
    assert needs(before) == clean
    assert needs(after) == stuck
    assert before["configuration"] != after["configuration"]


@pytest.mark.parametrize("name", WITH_A_STEP)
def test_nothing_needs_less_after_the_step_than_before_it(name: str) -> None:
    [(before, after)] = step_of(answer(name)["fuel_ahead"])
    assert before["places"]
    for one, two in zip(before["places"], after["places"], strict=True):
        for figure in FIGURES:
            assert two[figure] > one[figure], (one["aerodrome"], figure)


def test_the_cases_with_a_step_are_those_of_a_gear_that_stays_down() -> None:
    assert {"gear-stuck", "widebody-gear-stays-down"} <= set(WITH_A_STEP)
    assert not {"clean", "engine-out-gradient", "commit-permitted"} & set(WITH_A_STEP)


@pytest.mark.parametrize("name", WITH_ALTERNATES)
def test_a_need_lies_between_its_percentiles(name: str) -> None:
    figures = [
        [place[each] for each in ("final_reserve_kg", "need_p5_kg", "need_kg", "need_p95_kg")]
        for point in answer(name)["fuel_ahead"]
        for place in point["places"]
    ]
    assert figures
    for rising in figures:
        assert rising == sorted({*rising})


@pytest.mark.parametrize("name", NAMES)
def test_the_points_lead_to_the_threshold_and_fuel_only_falls(name: str) -> None:
    points = answer(name)["fuel_ahead"]
    assert 8 <= len(points) <= 20
    for one, two in pairwise(points):
        assert one["distance_to_go_nm"] >= two["distance_to_go_nm"]
        assert one["at"] <= two["at"]
        assert one["planned_kg"] >= two["planned_kg"]
        assert one["after_step"] <= two["after_step"]


@pytest.mark.parametrize("name", sorted({*NAMES} - {*WITH_A_STEP}))
def test_without_a_step_ahead_nothing_jumps(name: str) -> None:
    """Between two points of the grid a need changes by less than a step costs, some 800 kg."""
    points = answer(name)["fuel_ahead"]
    assert len({each["after_step"] for each in points}) == 1
    assert len({each["configuration"] for each in points}) == 1
    for one, two in pairwise(points):
        for icao, need_kg in needs(two).items():
            assert abs(need_kg - needs(one)[icao]) < 500.0


def test_a_gear_that_is_down_already_has_its_step_behind_it() -> None:
    points = answer("commit-permitted")["fuel_ahead"]
    assert demo("commit-permitted")["aircraft"]["gear"] == "down"
    assert all(each["after_step"] for each in points)
    assert all(each["configuration"].startswith("gear down") for each in points)


@pytest.mark.parametrize("name", WITH_A_STEP)
def test_a_missed_approach_is_taken_in_evenly_from_the_step_on(name: str) -> None:
    """Each mile of the final stretch takes about as much as the next: no jump at either end."""
    points = answer(name)["fuel_ahead"]
    [(_, after)] = step_of(points)
    final = points[points.index(after) :]
    assert len(final) >= 3
    for icao in needs(after):
        per_mile = [
            (needs(two)[icao] - needs(one)[icao])
            / (one["distance_to_go_nm"] - two["distance_to_go_nm"])
            for one, two in pairwise(final)
        ]
        assert 0.0 < max(per_mile) < 2.0 * min(per_mile)


def test_a_case_whose_deadline_is_its_step_runs_short_there() -> None:
    whole = asked("gear-stuck", **SHORT_OF_FUEL)
    deadline, action = whole["deadline"], whole["action"]
    [(before, after)] = step_of(whole["fuel_ahead"])
    assert action["do"] == "DIVERT"
    assert deadline["distance_to_go_nm"] == before["distance_to_go_nm"]
    assert needs(before)[action["aerodrome"]] < before["planned_kg"]
    assert needs(after)[action["aerodrome"]] > after["planned_kg"]


def test_fuel_runs_short_when_the_deadline_on_the_way_says_so() -> None:
    """The deadline is found to a minute and never late; between points a need is taken as even."""
    whole = asked("gear-stuck", **{"/fuel/on_board_kg": 2_240, "/policy/margin_kg": 0})
    icao, latest_at = whole["action"]["aerodrome"], whole["action"]["latest_at"]
    assert whole["deadline"]["what"] == f"last legal moment for {icao}"
    [short_at] = [
        crossing(one, two, icao)
        for one, two in pairwise(whole["fuel_ahead"])
        if needs(one)[icao] <= one["planned_kg"] and needs(two)[icao] > two["planned_kg"]
    ]
    late_s = (short_at - datetime.fromisoformat(latest_at)).total_seconds()
    assert -10.0 <= late_s <= 70.0


def crossing(one: Told, two: Told, icao: str) -> datetime:
    room_kg, short_kg = (float(each["planned_kg"]) - needs(each)[icao] for each in (one, two))
    start, end = (datetime.fromisoformat(each["at"]) for each in (one, two))
    return start + (end - start) * (room_kg / (room_kg - short_kg))


@pytest.mark.parametrize(
    ("track_nm", "between_nm"),
    [
        (7, (6,)),
        (13, (12, 11, 10, 9, 8, 7, 6)),
        (14, (12, 10, 8, 6)),
        (20.04, (18, 16, 14, 12, 10, 8, 6)),
        (20.06, (20, 18, 16, 14, 12, 10, 8, 6)),
        (45, (40, 35, 30, 25, 20, 15, 10)),
        (46, (40, 30, 20, 10)),
        (86, (80, 60, 40, 20)),
        (405, (400, 350, 300, 250, 200, 150, 100, 50)),
        (406, (400, 300, 200, 100)),
        (900, (800, 600, 400, 200)),
        (1_700, (1_500, 1_000, 500)),
    ],
)
def test_the_points_up_to_the_step_stand_at_round_miles_eight_spaces_at_most(
    track_nm: float, between_nm: tuple[float, ...]
) -> None:
    changes = {"/destination/track_nm": track_nm, "/plan/checklist_min": 0}
    full = {"/fuel/on_board_kg": 16_000, "/aircraft/mass_kg": 72_850}
    points = asked("gear-stuck", **changes, **full)["fuel_ahead"]
    clean = [each["distance_to_go_nm"] for each in points if not each["after_step"]]
    moved = [here for before, here in pairwise([math.inf, *clean]) if here < before]
    assert moved == pytest.approx([track_nm, *between_nm, 5.0])
    assert [each["distance_to_go_nm"] for each in points if each["after_step"]] == [5, 4, 2, 0]


def test_a_hold_is_told_at_both_of_its_ends() -> None:
    points = asked("gear-stuck", **{"/plan/hold_min": 10})["fuel_ahead"]
    one, two = points[:2]
    assert one["distance_to_go_nm"] == two["distance_to_go_nm"] == 42
    held = datetime.fromisoformat(two["at"]) - datetime.fromisoformat(one["at"])
    assert held.total_seconds() == pytest.approx(600.0, abs=1.0)
    assert one["planned_kg"] - two["planned_kg"] > 300.0
    assert (one["after_step"], two["after_step"]) == (False, False)


def test_inside_the_distance_of_the_gear_both_sides_of_the_step_are_at_the_present() -> None:
    low = {"/destination/track_nm": 4, "/aircraft/pressure_altitude_ft": 1_400}
    whole = asked("gear-stuck", **low, **{"/plan/checklist_min": 0})
    before, after, *final = whole["fuel_ahead"]
    assert whole["last_clean_diversion"]["reason"] == "already_passed"
    assert (before["after_step"], after["after_step"]) == (False, True)
    assert before["distance_to_go_nm"] == after["distance_to_go_nm"] == 4
    assert before["at"] == after["at"] == whole["as_of"]
    for icao, need_kg in needs(before).items():
        fuel = course_to(whole, icao, "divert_now", origin="present")
        assert need_kg == fuel["required_kg"]
        assert need_kg + 500.0 < needs(after)[icao] < needs(final[-1])[icao] + 500.0


def test_each_of_five_alternates_has_its_needs() -> None:
    whole = told({**FIVE, **INCLUDED})
    minimum = whole["fuel_ahead"][-1]
    assert len(needs(minimum)) == 5
    for icao, need_kg in needs(minimum).items():
        fuel = course_to(whole, icao, "approach_then_divert", origin="missed_approach")
        assert need_kg == fuel["required_kg"]


def test_a_place_that_nobody_knows_the_way_to_has_no_figure_but_a_reason() -> None:
    changes = {"/destination/position": REMOVED, "/alternates/0": {"icao": "XBRE"}}
    changes |= {"/aircraft/position": REMOVED}
    points = asked("circling-after-flap-jam", **changes)["fuel_ahead"]
    assert len(points) > 2
    for point in points:
        unknown = point["places"][0]
        assert unknown["reason"] == f"distance to {unknown['aerodrome']}"
        assert {unknown[figure] for figure in FIGURES} == {None}
        assert point["planned_kg"] > 0.0


def test_a_place_whose_miles_are_known_from_the_destination_alone_has_figures_from_there_on() -> (
    None
):
    changes = {"/aircraft/position": REMOVED, "/alternates/0/track_from_present_nm": REMOVED}
    points = asked("gear-stuck", **changes)["fuel_ahead"]
    [(before, _)] = step_of(points)
    i = points.index(before)
    assert i > 1
    assert all(each["places"][0]["reason"] for each in points[:i])
    assert all(each["places"][0]["need_kg"] > 0.0 for each in points[i:])


def test_without_the_distance_to_run_there_is_the_present_alone() -> None:
    changes = {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED}
    [present] = asked("gear-stuck", **changes)["fuel_ahead"]
    assert present["distance_to_go_nm"] is None
    assert present["planned_kg"] == 3_450
    assert all(each["need_kg"] > 0.0 for each in present["places"])


def test_an_unknown_leak_leaves_no_figure() -> None:
    points = asked("gear-stuck", **{"/failures": [{"id": "fuel-leak"}]})["fuel_ahead"]
    assert len(points) > 2
    for point in points:
        assert point["planned_kg"] is None
        assert point["reason"] == "rate of the fuel leak"
        assert {each["reason"] for each in point["places"]} == {"rate of the fuel leak"}
        assert set(needs(point).values()) == {None}


def test_a_doubtful_quantity_leaves_what_is_needed() -> None:
    doubtful = [{"id": "fuel-quantity-indication"}]
    points = asked("gear-stuck", **{"/failures": doubtful})["fuel_ahead"]
    assert len(points) > 2
    for point in points:
        assert (point["planned_kg"], point["reason"]) == (None, "quantity of fuel on board")
        assert all(need_kg > 0.0 for need_kg in needs(point).values())


STORM = {"from_true_deg": 107, "temperature_degc": 5}


def test_where_the_final_stretch_cannot_be_flown_the_minimum_says_why() -> None:
    winds = [
        {"pressure_altitude_ft": 1_000, "speed_kt": 180, **STORM},
        {"pressure_altitude_ft": 3_000, "speed_kt": 20, **STORM},
    ]
    points = asked("gear-stuck", **{"/winds_aloft": winds})["fuel_ahead"]
    *before, minimum = points
    assert (minimum["at"], minimum["planned_kg"]) == (None, None)
    assert "leaves no headway" in minimum["reason"]
    assert {each["reason"] for each in minimum["places"]} == {minimum["reason"]}
    assert before[-1]["after_step"]
    assert before[-1]["planned_kg"] > 0.0


def test_where_the_run_in_cannot_be_flown_the_present_is_all_that_has_figures() -> None:
    winds = [{"pressure_altitude_ft": 5_000, "speed_kt": 300, **STORM}]
    present, minimum = asked("gear-stuck", **{"/winds_aloft": winds})["fuel_ahead"]
    assert present["planned_kg"] == 3_450
    assert minimum["planned_kg"] is None
    assert minimum["reason"] is not None


def test_it_is_told_only_where_it_is_asked_for() -> None:
    bare = recommend_mapping(case_from_mapping({**demo("gear-stuck"), "include": []}))
    more = recommend_mapping(case_from_mapping({**demo("gear-stuck"), "include": ["ahead"]}))
    assert bare["fuel_ahead"] is None
    differing = {name for name in bare if bare[name] != more[name]}
    assert differing == {"fuel_ahead", "included", "provenance"}
