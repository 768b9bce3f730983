"""The demo cases: one for every row of the truth table, and the figures that must agree in each."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from decision.brief import SCREEN_LINES, WIDTH, brief
from decision.case import case_from_mapping
from decision.decide.decision import Basis
from decision.recommend import recommend
from decision.rules.finding import Outcome
from tests.answer.told import told_of
from tests.case.builders import NAMES, demo

# case: verdict, what to do, where, basis, fuel state, rule of the first reason
EXPECTED = {
    "alternate-report-unreadable": (
        "INSUFFICIENT_DATA", "HOLD", "XKAL", "MISSING", "NORMAL", "WX-01",
    ),
    "alternate-taf-deteriorates": (
        "GO_WITH_CAUTION", "APPROACH", "XKAL", "ONE_WAY_OUT", "NORMAL", "FU-01",
    ),
    "alternate-weather-missing": (
        "INSUFFICIENT_DATA", "HOLD", "XKAL", "MISSING", "NORMAL", "WX-01",
    ),
    "choice": ("NO_GO", "DIVERT", "XTOR", "CHOICE", "NORMAL", "FU-02"),
    "circling-after-flap-jam": ("NO_GO", "DIVERT", "XTOR", "APPROACH_BARRED", "NORMAL", "AP-02"),
    "clean": ("GO", "APPROACH", "XKAL", "ESCAPE_KEPT", "NORMAL", "FU-01"),
    "commit-permitted": ("NO_GO", "COMMIT", "XKAL", "COMMIT_PERMITTED", "NORMAL", "FU-01"),
    "conditional-forecast": (
        "GO_WITH_CAUTION", "APPROACH", "XKAL", "ONE_WAY_OUT", "NORMAL", "FU-01",
    ),
    "engine-out-gradient": (
        "GO_WITH_CAUTION", "APPROACH", "XMON", "ESCAPE_THIN", "NORMAL", "FU-01",
    ),
    "engine-out-nearer-place": ("NO_GO", "DIVERT", "XBRE", "NEAREST_SUITABLE", "NORMAL", "FU-01"),
    "engine-out-stays": ("NO_GO", "COMMIT", "XKAL", "NEAREST_SUITABLE", "NORMAL", "CM-05"),
    "escape-thin": ("GO_WITH_CAUTION", "APPROACH", "XKAL", "ESCAPE_THIN", "NORMAL", "FU-01"),
    "flaps-jammed-short-wet": ("NO_GO", "DIVERT", "XKAL", "NOT_FIT_HERE", "NORMAL", "LD-01"),
    "funnel-cloud-passing": ("NO_GO", "HOLD", "XKAL", "WAIT", "NORMAL", "HZ-01"),
    "gear-stuck": ("NO_GO", "DIVERT", "XTOR", "LEAVE_WHILE_CLEAN", "NORMAL", "FU-02"),
    "icing-without-anti-ice": (
        "GO_WITH_CAUTION", "APPROACH", "XKAL", "ONE_WAY_OUT", "NORMAL", "FU-01",
    ),
    "island-in-fog": ("NO_GO", "HOLD", "XSUN", "NO_LEGAL_COURSE", "NORMAL", "AP-02"),
    "later-into-fog": ("NO_GO", "DIVERT", "XTOR", "LEAVE_WHILE_CLEAN", "NORMAL", "WX-01"),
    "leak-ends-the-hold": ("NO_GO", "DIVERT", "XTOR", "APPROACH_BARRED", "NORMAL", "AP-02"),
    "no-alternate": ("GO_WITH_CAUTION", "APPROACH", "XKAL", "NO_ALTERNATE", "NORMAL", "FU-01"),
    "nothing-legal": ("NO_GO", "DIVERT", "XTOR", "NO_LEGAL_COURSE", "MAYDAY_FUEL", "FU-01"),
    "only-runway": ("NO_GO", "COMMIT", "XKAL", "COMMIT_ONLY_RUNWAY", "NORMAL", "CM-01"),
    "planning-minima": ("NO_GO", "COMMIT", "XKAL", "COMMIT_PERMITTED", "NORMAL", "WX-02"),
    "slush-and-crosswind": ("NO_GO", "DIVERT", "XTOR", "NOT_FIT_HERE", "NORMAL", "WD-01"),
    "smoke-nearer-runway": ("NO_GO", "DIVERT", "XBRE", "TIME_CRITICAL", "NORMAL", "FU-01"),
    "terrain-without-cabin": (
        "GO_WITH_CAUTION", "APPROACH", "XKAL", "ONE_WAY_OUT", "NORMAL", "FU-01",
    ),
    "time-critical": ("NO_GO", "COMMIT", "XKAL", "TIME_CRITICAL", "NORMAL", "FU-01"),
    "trapped-fuel": ("NO_GO", "DIVERT", "XTOR", "LEAVE_WHILE_CLEAN", "NORMAL", "FU-01"),
    "wait-for-fog": ("NO_GO", "HOLD", "XKAL", "WAIT", "NORMAL", "AP-02"),
    "widebody-gear-stays-down": ("NO_GO", "DIVERT", "XTOR", "LEAVE_WHILE_CLEAN", "NORMAL", "FU-02"),
}  # fmt: skip
EXACT_KG = 0.01


@cache
def answer(name: str) -> dict[str, Any]:
    return told_of(case_from_mapping(demo(name)))


def test_every_demo_case_is_expected_and_every_row_of_the_table_has_one() -> None:
    assert sorted(EXPECTED) == NAMES
    assert {row[3] for row in EXPECTED.values()} == {basis.value for basis in Basis}


@pytest.mark.parametrize("name", NAMES)
def test_a_demo_case_is_decided_as_its_row_says(name: str) -> None:
    told = answer(name)
    action = told["action"]
    found = (told["verdict"], action["do"], action["aerodrome"], told["basis"], told["fuel_state"])
    assert found == EXPECTED[name][:5]
    assert told["reasons"][0]["rule"] == EXPECTED[name][5]


@pytest.mark.parametrize("name", NAMES)
def test_the_margin_is_the_same_from_both_ends(name: str) -> None:
    """margin = at missed approach - required = landing - final reserve, the greater reserve."""
    flown = [course for course in answer(name)["courses"] if course["fuel"]]
    assert flown
    for course in flown:
        fuel = course["fuel"]
        start_kg = fuel["at_missed_approach_kg"] or fuel["counted_from_kg"]
        assert fuel["margin_kg"] == pytest.approx(start_kg - fuel["required_kg"], abs=EXACT_KG)
        assert fuel["margin_kg"] == pytest.approx(
            fuel["landing_kg"] - fuel["final_reserve_kg"], abs=EXACT_KG
        )
        assert fuel["final_reserve_kg"] == max(
            fuel["planned_final_reserve_kg"], fuel["configured_final_reserve_kg"]
        )
        assert fuel["margin_p95_kg"] <= fuel["margin_kg"] + EXACT_KG


@pytest.mark.parametrize("name", NAMES)
def test_the_steps_of_a_course_add_up_to_the_fuel_it_takes(name: str) -> None:
    counted = [course for course in answer(name)["courses"] if course["fuel"]]
    assert counted
    for course in counted:
        body = demo(name)
        trapped = sum(each.get("quantity_kg", 0) for each in body["failures"])
        usable = body["fuel"]["on_board_kg"] - trapped
        spent = usable - course["fuel"]["landing_kg"]
        assert sum(step["fuel_kg"] for step in course["steps"]) == pytest.approx(spent, abs=0.1)


@pytest.mark.parametrize("name", NAMES)
def test_legal_means_that_every_rule_that_binds_passes_and_unknown_never_does(name: str) -> None:
    """Of guidance a course may break what it will: it is advised against, and legal still."""
    courses = recommend(case_from_mapping(demo(name))).courses
    assert courses
    for course in courses:
        binding = {each.outcome for each in course.found if each.binds}
        unknown = Outcome.UNKNOWN in {each.outcome for each in course.found}
        if course.legal is False:
            assert Outcome.FAIL in binding
        else:
            assert Outcome.FAIL not in binding
            assert (course.legal is None) is unknown


@pytest.mark.parametrize("name", NAMES)
def test_a_legal_course_is_never_ranked_behind_another_but_a_second_approach_is_last(
    name: str,
) -> None:
    courses = answer(name)["courses"]
    chosen_of = [each for each in courses if each["kind"] != "second_approach"]
    order = [{True: 0, None: 1, False: 2}[each["legal"]] for each in chosen_of]
    assert order == sorted(order)
    assert courses[: len(chosen_of)] == chosen_of


@pytest.mark.parametrize("name", NAMES)
def test_the_brief_fits_a_terminal_and_says_who_decides(name: str) -> None:
    told = answer(name)
    lines = brief(told).splitlines()
    assert max(map(len, lines)) <= WIDTH
    first = lines[: lines.index("-" * WIDTH)]
    assert len(first) < SCREEN_LINES
    action = told["action"]
    assert f"ACTION     {action['do']} {action['aerodrome']}" in "\n".join(first)
    assert f"APPROACH   {told['verdict']}" in "\n".join(first)
    assert "licensed crew" in first[-1]


def test_the_headline_pair_turns_on_what_cannot_be_undone() -> None:
    """The same flight: clean after a miss it may go, with gear that stays down it must leave."""
    clean, stuck = answer("clean"), answer("gear-stuck")
    assert demo("clean")["fuel"] == demo("gear-stuck")["fuel"]
    point = stuck["last_clean_diversion"]
    assert point["aerodrome"] == "XTOR"
    assert point["fuel_penalty_kg"] > 500.0
    assert stuck["action"]["latest_at"] == point["at"]
    assert clean["last_clean_diversion"]["reason"] == "none_ahead"


def test_the_least_fuel_to_start_leaves_no_margin() -> None:
    told = answer("clean")
    body = demo("clean")
    body["fuel"]["on_board_kg"] = told["minimum_fuel_to_start_kg"]
    again = told_of(case_from_mapping(body))
    margins = [c["fuel"]["margin_kg"] for c in again["courses"] if "then_divert" in c["kind"]]
    assert max(margins) == pytest.approx(0.0, abs=10.0)


def test_weather_alone_is_never_mayday_fuel() -> None:
    """Below minima everywhere, with fuel to wait: a hold for a report, and no distress yet."""
    body = demo("nothing-legal")
    body["fuel"]["on_board_kg"] = 4000
    fog = "26004KT 0100 FG VV001 08/08 Q1013"
    body["weather"]["reports"] = [f"METAR {x} 140600Z {fog}" for x in ("XKAL", "XBRE", "XTOR")]
    told = told_of(case_from_mapping(body))
    assert told["basis"] == "NO_LEGAL_COURSE"
    assert told["action"]["do"] == "HOLD"
    assert told["fuel_state"] == "NORMAL"
    assert told["emergency"]["level"] == "NONE"
    assert "FUEL" not in told["emergency"]["phrase"]


def test_a_flip_point_is_where_real_decisions_differ() -> None:
    body = demo("clean")
    body["include"] = ["flip_points", "uncertainty"]
    told = told_of(case_from_mapping(body))
    fuel = next(each for each in told["flip_points"] if each["input"] == "fuel_on_board_kg")
    body["include"] = []
    for kg, verdict in ((fuel["flips_at"], fuel["to_verdict"]), (fuel["flips_at"] + 10, "GO")):
        body["fuel"]["on_board_kg"] = kg
        assert told_of(case_from_mapping(body))["verdict"] == verdict
    spread = told["uncertainty"]
    assert spread["landing_fuel_p5_kg"] < spread["landing_fuel_p50_kg"]
    assert spread["landing_fuel_p50_kg"] < spread["landing_fuel_p95_kg"]


def test_one_call_compares_every_rulebook() -> None:
    body = demo("gear-stuck")
    body["compare_rulebooks"] = True
    told = told_of(case_from_mapping(body))
    assert {each["rulebook"] for each in told["rulebooks_compared"]} == {"icao", "easa", "faa-121"}
    assert all(each["reasons"] for each in told["rulebooks_compared"])


def test_reports_that_could_not_be_fetched_are_never_passed_over_in_silence() -> None:
    body = demo("clean")
    body["weather"]["fetch"] = True
    told = told_of(case_from_mapping(body))
    assert "NOTHING_FETCHED" in {caution["code"] for caution in told["cautions"]}
    assert told["verdict"] == "GO_WITH_CAUTION"


# case: verdict and action without its failures, and the rule that the failures break, where
TURNS_ON = {
    "circling-after-flap-jam": ("GO", "APPROACH", "AP-02", "XTOR"),
    "icing-without-anti-ice": ("GO_WITH_CAUTION", "APPROACH", "WX-03", "XTOR"),
    "later-into-fog": ("GO_WITH_CAUTION", "APPROACH", "WX-01", "XTOR"),
    "terrain-without-cabin": ("GO", "APPROACH", "ER-05", "XTOR"),
    "trapped-fuel": ("GO", "APPROACH", "FU-01", "XTOR"),
    "widebody-gear-stays-down": ("GO", "APPROACH", "FU-02", "XTOR"),
}


@pytest.mark.parametrize("name", TURNS_ON)
def test_a_case_turns_on_the_consequence_that_it_is_named_for(name: str) -> None:
    sound = demo(name) | {"failures": []}
    sound["fuel"] = {"on_board_kg": sound["fuel"]["on_board_kg"]}
    told = told_of(case_from_mapping(sound))
    verdict, do, rule, place = TURNS_ON[name]
    assert (told["verdict"], told["action"]["do"]) == (verdict, do)
    assert rule not in broken_on_the_way_to(place, told)
    assert rule in broken_on_the_way_to(place, answer(name))


# case: the words of the finding that decides, with its numbers
DECIDES = {
    "circling-after-flap-jam": "XCIR visibility 3000 m is 600 m below the minimum of 3600 m",
    "icing-without-anti-ice": "icing weather at XTOR without ice protection: -FZRA",
    "later-into-fog": "XTOR converted visibility 300 m is 700 m below the minimum of 1000 m",
    "terrain-without-cabin": "oxygen of the crew on the way to XTOR 12 min is 4 min above the"
    " maximum of 8 min",
    "trapped-fuel": "is 110 kg below the minimum of 1190 kg",
}


@pytest.mark.parametrize("name", DECIDES)
def test_the_finding_that_decides_says_its_numbers(name: str) -> None:
    _, _, rule, place = TURNS_ON[name]
    (course,) = [
        course
        for course in answer(name)["courses"]
        if course["aerodrome"] == place and course["kind"] == "approach_then_divert"
    ]
    broken = [
        each["text"]
        for each in course["findings"]
        if (each["rule"], each["outcome"]) == (rule, "FAIL")
    ]
    assert any(DECIDES[name] in text for text in broken)


def test_a_leak_ends_the_hold_before_the_fog_is_said_to_lift() -> None:
    """The same wait is legal for a tight aircraft, and lands the leaking one under its reserve."""
    sound = demo("leak-ends-the-hold") | {"failures": []}
    sound["fuel"] = {"on_board_kg": sound["fuel"]["on_board_kg"]}
    tight = told_of(case_from_mapping(sound))
    waits = [
        {c["legal"] for c in told["courses"] if c["kind"] == "hold_then_approach"}
        for told in (tight, answer("leak-ends-the-hold"))
    ]
    assert waits == [{True}, {False}]
    lasts = [told["holding"]["available_min"] for told in (answer("leak-ends-the-hold"), tight)]
    assert lasts[0] < 60.0 < lasts[1]


def test_a_jam_raises_the_category_and_with_it_the_minima_of_circling() -> None:
    told = answer("circling-after-flap-jam")
    assert told["courses"][0]["attempts"][0]["category"] == "D"
    (why,) = [c["text"] for c in told["cautions"] if c["code"] == "MINIMA_NOT_AS_CHARTED"]
    assert "category D: at least 700 ft, 3600 m" in why


def broken_on_the_way_to(place: str, told: dict[str, Any]) -> set[str]:
    """Rules that every course there with an approach first breaks at that place."""
    found = [
        {each["rule"] for each in course["findings"] if each["outcome"] == "FAIL"}
        for course in told["courses"]
        if course["aerodrome"] == place
        and course["kind"] in {"approach_then_divert", "hold_then_approach"}
    ] or [set()]
    return set.intersection(*found)
