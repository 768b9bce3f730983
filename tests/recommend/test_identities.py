"""Figures of one answer that agree with each other, and with a decision taken at that figure."""

from __future__ import annotations

from datetime import datetime, timedelta
from functools import cache
from typing import Any

import pytest

from decision.answer import tell
from decision.case import case_from_mapping
from decision.flight.approach import departure_of
from decision.flight.leave_later import hold_then_leave
from decision.flight.situation import situation_of
from decision.performance.draws import SEED
from decision.performance.spread import FULL_SAMPLES, NEED_TOLERANCE
from decision.recommend import decide_varied, recommend, recommend_mapping
from decision.what_if.flip import FlipPoint, flip_points
from decision.what_if.vary import INPUTS
from tests.answer.told import told_of
from tests.case.builders import NAMES, demo, with_changes
from tests.decide.builders import judged_ways
from tests.recommend.generated import by_label

FIGURE_KG = 10.0  # what a figure solved for may be off by: one step of what is shown


@cache
def answer(name: str) -> dict[str, Any]:
    return told_of(case_from_mapping(demo(name)))


def decided(name: str, **changes: Any) -> dict[str, Any]:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def at(instant: str) -> datetime:
    return datetime.fromisoformat(instant)


def margins(told: dict[str, Any], kind: str, *, origin: str | None = None) -> list[float]:
    return [
        course["fuel"]["margin_kg"]
        for course in told["courses"]
        if course["kind"] == kind and course["fuel"] and origin in (None, course["from"])
    ]


def only_fuel_bars(course: dict[str, Any]) -> bool:
    return all(
        finding["rule"].startswith("FU-")
        for finding in course["findings"]
        if finding["outcome"] in {"FAIL", "UNKNOWN"}
    )


WITH_A_LEAST_FUEL = [name for name in NAMES if answer(name)["minimum_fuel_to_start_kg"] is not None]


@pytest.mark.parametrize("name", WITH_A_LEAST_FUEL)
def test_the_least_fuel_to_start_leaves_the_best_way_out_without_margin(name: str) -> None:
    least_kg = answer(name)["minimum_fuel_to_start_kg"]
    again = decided(name, **{"/fuel/on_board_kg": least_kg})
    best_kg = max(
        course["fuel"]["margin_kg"]
        for course in again["courses"]
        if course["kind"] == "approach_then_divert" and only_fuel_bars(course)
    )
    if again["basis"] == "TIME_CRITICAL":  # with less fuel it is flown more slowly, for less fuel
        assert 0.0 - FIGURE_KG <= best_kg <= 5 * FIGURE_KG
    else:
        assert best_kg == pytest.approx(0.0, abs=FIGURE_KG)


def test_the_least_fuel_is_given_where_fuel_is_all_that_bars() -> None:
    assert {"clean", "gear-stuck", "commit-permitted"} <= set(WITH_A_LEAST_FUEL)
    assert not {"wait-for-fog", "only-runway", "alternate-weather-missing"} & set(WITH_A_LEAST_FUEL)


WITH_A_POINT = [name for name in NAMES if answer(name)["last_clean_diversion"]["at"] is not None]


@pytest.mark.parametrize("name", WITH_A_POINT)
def test_the_last_clean_point_is_where_the_courses_from_it_begin(name: str) -> None:
    told = answer(name)
    point = told["last_clean_diversion"]
    leaving = [each for each in told["courses"] if each["from"] == "last_clean_point"]
    assert leaving
    assert at(point["at"]) > at(told["as_of"])
    for course in leaving:
        assert course["fuel"]["counted_from_kg"] == point["fuel_kg"]
        flown_kg = sum(step["fuel_kg"] for step in course["steps"])
        left_kg = demo(name)["fuel"]["on_board_kg"] - course["fuel"]["landing_kg"]
        assert flown_kg == pytest.approx(left_kg, abs=0.1)


@pytest.mark.parametrize("name", WITH_A_POINT)
def test_a_penalty_is_the_need_after_the_step_less_the_need_before_it(name: str) -> None:
    told = answer(name)
    courses = by_label(told)
    assert told["last_clean_diversion"]["penalties"]
    for each in told["last_clean_diversion"]["penalties"]:
        penalty_kg = each["after_kg"] - each["clean_kg"]
        assert each["fuel_penalty_kg"] == pytest.approx(penalty_kg, abs=0.01)
        course = courses[f"divert_now:{each['aerodrome']}:from_last_clean_point"]
        assert each["clean_kg"] == pytest.approx(course["fuel"]["required_kg"], abs=0.01)


def test_the_point_lies_where_the_gear_goes_down() -> None:
    normal, alternate = answer("gear-stuck"), decided("clean", **{"/failures": [hydraulic()]})
    planned = decided("gear-stuck", **{"/plan/gear_extension_nm": 7})
    lie = [each["last_clean_diversion"]["distance_to_go_nm"] for each in (normal, planned)]
    assert lie == [5.0, 7.0]
    assert alternate["last_clean_diversion"]["distance_to_go_nm"] == 10.0
    assert at(planned["last_clean_diversion"]["at"]) < at(normal["last_clean_diversion"]["at"])


def hydraulic() -> dict[str, str]:
    return {"id": "hydraulic-1"}


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({}, None),
        ({"/fuel/on_board_kg": 2300}, "no_legal_clean_course"),
        ({"/aircraft/gear": "in_transit"}, "already_passed"),
        ({"/destination/track_nm": 4}, "already_passed"),
        ({"/destination/track_nm": None, "/aircraft/position": None}, "distance_unknown"),
        ({"/failures": []}, "none_ahead"),
    ],
)
def test_where_there_is_no_point_ahead_the_answer_says_why(
    changes: dict[str, Any], reason: str | None
) -> None:
    failures = {"/failures": [{"id": "gear-normal-extension"}, {"id": "gear-retraction"}]}
    told = decided("gear-stuck", **{**failures, **changes})
    assert told["last_clean_diversion"]["reason"] == reason


@pytest.mark.parametrize("name", WITH_A_POINT)
def test_no_diversion_has_a_latest_moment_beyond_the_last_clean_point(name: str) -> None:
    """At the point exactly where it is legal from there still, before it where fuel ends first."""
    told = answer(name)
    if told["action"]["do"] != "DIVERT" or told["action"]["latest_at"] is None:
        return
    point, latest = told["last_clean_diversion"], told["action"]["latest_at"]
    from_point = [
        each["legal"]
        for each in told["courses"]
        if each["from"] == "last_clean_point" and each["aerodrome"] == told["action"]["aerodrome"]
    ]
    if from_point == [True]:
        assert latest == point["at"]
    else:
        assert at(told["as_of"]) <= at(latest) < at(point["at"])


LIMITED_BY_FUEL = [
    pytest.param(name, which, id=f"{name}-{which}")
    for name in NAMES
    for which in ("clean_diversion", "approach_and_miss")
    if answer(name)["holding"][which] is not None
    and answer(name)["holding"][which]["limited_by"].startswith("fuel for ")
]


@pytest.mark.parametrize(("name", "which"), LIMITED_BY_FUEL)
def test_a_deadline_is_where_a_way_flown_after_that_wait_has_no_margin_left(
    name: str, which: str
) -> None:
    """The flow at the present mass is taken for all of the wait: up to 3 % of it are to spare."""
    deadline = answer(name)["holding"][which]
    minutes, icao = deadline["available_min"], deadline["limited_by"].removeprefix("fuel for ")
    if which == "clean_diversion":
        situation = situation_of(case_from_mapping(demo(name)))
        later = judged_ways(situation, hold_then_leave(situation, departure_of(situation), minutes))
        left_kg = {
            each.course.icao: each.course.ledger.margin_kg
            for each in later
            if each.course.ledger is not None
        }
    else:
        waited = decided(name, **{"/plan/hold_min": minutes})
        left_kg = {
            each["aerodrome"]: each["fuel"]["margin_kg"]
            for each in waited["courses"]
            if each["kind"] == "approach_then_divert"
        }
    assert icao in left_kg
    assert -1.0 <= left_kg[icao] <= 0.03 * demo(name)["fuel"]["on_board_kg"]


def test_a_deadline_is_its_minutes_after_the_case() -> None:
    deadlines = [
        (at(answer(name)["as_of"]), deadline)
        for name in NAMES
        for which in ("clean_diversion", "approach_and_miss")
        if (deadline := answer(name)["holding"][which]) is not None
    ]
    assert deadlines
    for as_of, deadline in deadlines:
        until = as_of + timedelta(minutes=deadline["available_min"])
        assert abs(at(deadline["until"]) - until) < timedelta(seconds=2)


def test_time_aloft_that_a_failure_limits_ends_a_hold_before_the_fuel_does() -> None:
    """On the battery, with nothing that asks for the ground at once."""
    told = decided(
        "clean",
        **{
            "/fuel/on_board_kg": 9000,
            "/aircraft/mass_kg": 64_000,
            "/failures": [{"id": "ac-bus-1"}, {"id": "ac-bus-2"}],
            "/plan/checklist_min": 0,
            "/destination/track_nm": 12,
            "/alternates/0/track_from_present_nm": 70,
            "/alternates/1/track_from_present_nm": 60,
        },
    )
    limits = {limit["name"]: limit for limit in told["capability"]["limits"]}
    aloft_min = limits["max_time_aloft_min"]["value"]
    clean = told["holding"]["clean_diversion"]
    soonest = min(
        course["time"]["arrive_at"] for course in told["courses"] if course["kind"] == "divert_now"
    )
    flown = datetime.fromisoformat(soonest) - datetime.fromisoformat(told["as_of"])
    assert clean["available_min"] == pytest.approx(aloft_min - flown.total_seconds() / 60, abs=0.02)
    assert clean["limited_by"] == limits["max_time_aloft_min"]["because"]


def verdict(name: str, flip: FlipPoint, value: float) -> str:
    """The verdict of the case with one input at a value, decided as a whole."""
    case = case_from_mapping(demo(name))
    varied = next(each for each in INPUTS if each.name == flip.input)
    tried, what_if = varied.tried(case, value)
    return decide_varied(tried, what_if).verdict


@cache
def flips(name: str) -> tuple[str, tuple[FlipPoint, ...]]:
    given = recommend(case_from_mapping(demo(name)))
    return given.decision.verdict, flip_points(given, decide_varied).found


@pytest.mark.parametrize("name", ["clean", "gear-stuck", "wait-for-fog"])
def test_every_flip_point_is_confirmed_by_decisions_on_both_sides(name: str) -> None:
    present, found = flips(name)
    assert [each.input for each in found] == [each.name for each in INPUTS]
    seen = 0
    for flip, varied in zip(found, INPUTS, strict=True):
        if flip.flips_at is not None and flip.present is not None:
            seen += 1
            nearer = varied.step if flip.flips_at < flip.present else -varied.step
            assert verdict(name, flip, flip.flips_at) == flip.to_verdict != present
            assert verdict(name, flip, flip.flips_at + nearer) == present
    assert seen >= 1


def test_flips_of_fuel_and_delay_are_found_by_whole_requests_too() -> None:
    told = decided("clean", **{"/include": ["flip_points"]})
    by_input = {each["input"]: each for each in told["flip_points"]}
    fuel, delay = by_input["fuel_on_board_kg"], by_input["delay_min"]
    for place, flip, step in (
        ("/fuel/on_board_kg", fuel, 10.0),
        ("/plan/hold_min", delay, -1.0),
    ):
        assert decided("clean", **{place: flip["flips_at"]})["verdict"] == flip["to_verdict"]
        assert decided("clean", **{place: flip["flips_at"] + step})["verdict"] == "GO"


def test_the_flip_of_the_ceiling_is_the_one_of_reports_that_say_it() -> None:
    told = decided("clean", **{"/include": ["flip_points"]})
    by_input = {each["input"]: each for each in told["flip_points"]}
    ceiling = by_input["destination_ceiling_ft"]
    assert (ceiling["present"], ceiling["flips_at"]) == (400.0, 150.0)
    for hundreds, verdict_then in ((1, ceiling["to_verdict"]), (2, "GO")):
        body = demo("clean")
        reports = body["weather"]["reports"]
        body["weather"]["reports"] = [
            line.replace("BKN004", f"BKN{hundreds:03}") for line in reports
        ]
        assert told_of(case_from_mapping(body))["verdict"] == verdict_then


@pytest.mark.parametrize("name", ["clean", "gear-stuck", "engine-out-gradient"])
def test_a_comparison_says_what_a_decision_by_each_rulebook_says(name: str) -> None:
    told = decided(name, **{"/compare_rulebooks": True})
    for each in told["rulebooks_compared"]:
        alone = decided(name, **{"/rulebook": each["rulebook"]})
        assert each["verdict"] == alone["verdict"]
        assert each["basis"] == alone["basis"]
        assert each["headline"] == alone["headline"]
        assert each["reasons"] == alone["reasons"]
    assert answer(name)["rulebooks_compared"] is None


@pytest.mark.parametrize("name", NAMES)
def test_the_spread_of_the_chosen_course_is_in_order_and_its_margin_is_no_better(name: str) -> None:
    told = decided(name, **{"/include": ["uncertainty"]})
    spread = told["uncertainty"]
    chosen = by_label(told)[told["action"]["course"]]
    if spread is None:
        assert chosen["kind"] in {"commit_to_land", "second_approach"}  # nothing spread is flown
        return
    low, middle, high = (spread[f"landing_fuel_{part}_kg"] for part in ("p5", "p50", "p95"))
    assert low < middle < high
    assert low < chosen["fuel"]["landing_kg"] < high
    margin_p95_kg = low - chosen["fuel"]["final_reserve_kg"]
    # The margin is of the dearer of the best and the ordinary way, the spread of the best one; its
    # estimate is held to flights of every sample.
    most_off_kg = NEED_TOLERANCE * chosen["fuel"]["flight_kg"]
    dearer_kg = margin_p95_kg - chosen["fuel"]["margin_p95_kg"]
    assert -most_off_kg <= dearer_kg <= 0.35 * chosen["fuel"]["flight_kg"]
    assert (spread["below_final_reserve_probability"] <= 0.05) == (margin_p95_kg >= 0.0)
    assert (spread["samples"], spread["seed"]) == (FULL_SAMPLES, SEED)


def test_a_stricter_percentile_never_raises_the_margin_that_counts() -> None:
    at_percentile = [
        by_label(decided("clean", **{"/policy/margin_percentile": percentile}))[
            "approach_then_divert:XTOR"
        ]["fuel"]["margin_p95_kg"]
        for percentile in (50, 80, 95, 99)
    ]
    assert at_percentile == sorted(at_percentile, reverse=True)


def test_a_case_that_includes_nothing_gets_nothing_more() -> None:
    told = recommend_mapping(case_from_mapping({**demo("clean"), "include": []}))
    assert told["findings"] is None
    assert told["flip_points"] is None
    assert told["uncertainty"] is None
    assert told["fuel_ahead"] is None
    assert all(course["steps"] is None for course in told["courses"])


def test_the_same_answer_whatever_is_included_besides() -> None:
    full = decided("clean", **{"/include": ["steps", "uncertainty", "flip_points", "ahead"]})
    bare = decided("clean", **{"/include": []})
    for part in ("verdict", "headline", "reasons", "cautions", "holding", "capability"):
        assert full[part] == bare[part]


def test_a_recommendation_is_a_value() -> None:
    one, other = (recommend(case_from_mapping(demo("clean"))) for _ in range(2))
    assert tell(one, include=frozenset()) == tell(other, include=frozenset())
    assert one.courses == other.courses
