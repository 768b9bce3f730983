"""Readings of a decision that are not the subject of any other room's tests."""

from __future__ import annotations

import json
from datetime import datetime
from functools import cache
from typing import Any

import pytest

from decision.brief import brief
from decision.case import case_from_mapping
from decision.flight.approach import departure_of
from decision.flight.situation import situation_of
from decision.flight.tracks import air_along
from decision.rulebooks.rulebook import load_rulebook, rulebook_ids
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.decide.builders import courses_in

Answer = dict[str, Any]


def told(name: str = "clean", /, **changes: Any) -> Answer:
    answer: Answer = told_of(case_from_mapping(with_changes(demo(name), changes)))
    return answer


@cache
def demo_under(name: str, rulebook: str) -> Answer:
    return told(name, **{"/rulebook": rulebook})


def course(answer: Answer, label: str) -> Answer:
    (found,) = [each for each in answer["courses"] if each["course"] == label]
    return dict(found)


def instant(text: str) -> datetime:
    return datetime.fromisoformat(text)


# --- origin and fuel ---


def test_defaults_of_the_policy_are_those_that_an_operator_would_find_listed() -> None:
    found = {each["field"]: each["value"] for each in told()["assumptions"]}
    policy = {key.rpartition("/")[2]: value for key, value in found.items() if "policy" in key}
    assert policy == {
        "margin_percentile": 95.0,
        "landing_factor": 1.15,
        "alternate_bar": "in_flight",
        "routing_factor": 1.1,
        "delay_min": 10.0,
        "prefer_commit": "by_fuel",
        "time_critical_trade_min": 5.0,
        "endangering_trade_min": 15.0,
        "nearest_trade_min": 5.0,
        "nearest_far_min": 30.0,
        "gate_report_max_age_min": 15.0,
    }


def test_fuel_at_the_missed_approach_is_what_is_left_of_all_that_was_flown_to_the_minimum() -> None:
    """Usable fuel on board less every step before the go-around, the checklists among them."""
    situation = situation_of(case_from_mapping(demo("gear-stuck")))
    departure = departure_of(situation)
    assert departure.approach is not None
    minimum = departure.approach.minimum
    burnt_kg = sum(step.fuel_kg for step in minimum.steps)
    answer = told("gear-stuck")
    for each in answer["courses"]:
        if each["fuel"] and each["fuel"]["at_missed_approach_kg"] is not None:
            assert each["fuel"]["at_missed_approach_kg"] == pytest.approx(
                situation.case.fuel.usable_kg - burnt_kg, abs=0.01
            )


def test_what_is_needed_after_a_miss_begins_with_the_go_around_and_its_miles() -> None:
    """Ten miles back to the track where none are given; more of them cost more."""
    courses = {
        each.label: each
        for each in _generated("clean")
        if each.label.startswith("approach_then_divert")
    }
    names = [step.name for step in courses["approach_then_divert:XTOR"].steps]
    assert "go-around" in names
    assert names.index("go-around") < names.index("approach and landing")
    described = {
        "icao": "XNEW",
        "elevation_ft": 100,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [{"id": "A", "runway": "27", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}],
    }
    needs = {}
    for miles in (None, 10, 30):
        place = json.loads(json.dumps(described))
        if miles is not None:
            place["approaches"][0]["missed_track_nm"] = miles
        answer = told(**{"/destination": place, "/plan/approach": REMOVED})
        needs[miles] = course(answer, "approach_then_divert:XTOR")["fuel"]["required_kg"]
    assert needs[None] == needs[10] < needs[30]


def _generated(name: str, /, **changes: Any) -> Any:
    situation = situation_of(case_from_mapping(with_changes(demo(name), changes)))
    return courses_in(situation)


def test_one_engine_may_burn_less_and_the_planned_reserve_still_governs() -> None:
    body = {"/fuel/planned_final_reserve_kg": 1500}
    courses = told("engine-out-gradient", **body)["courses"]
    assert courses
    for each in courses:
        fuel = each["fuel"]
        assert fuel["configured_final_reserve_kg"] < fuel["planned_final_reserve_kg"] == 1500.0
        assert fuel["final_reserve_kg"] == 1500.0


def test_gear_that_stays_down_needs_more_reserve_than_the_plan_and_then_that_governs() -> None:
    fuel = course(told("gear-stuck"), "approach_then_divert:XTOR")["fuel"]
    assert fuel["final_reserve_kg"] == fuel["configured_final_reserve_kg"]
    assert fuel["configured_final_reserve_kg"] > 1.3 * fuel["planned_final_reserve_kg"]


# --- windows ---


@pytest.mark.parametrize(
    ("bar", "before_min", "after_min"), [("in_flight", 0, 15), ("planning", 60, 60)]
)
def test_the_window_of_an_alternate_is_that_of_its_bar_and_wider_by_the_spread_of_the_arrival(
    bar: str, before_min: float, after_min: float
) -> None:
    """A far alternate, so that an hour before the arrival is not yet over."""
    far = {"/policy/alternate_bar": bar, "/alternates/1/track_from_present_nm": 700}
    answer = told(**far, **{"/fuel/on_board_kg": 8000, "/aircraft/mass_kg": 64_000})
    (attempt,) = course(answer, "divert_now:XTOR")["attempts"]
    at, window = instant(attempt["at"]), attempt["window"]
    early_min = (at - instant(window["start"])).total_seconds() / 60.0
    late_min = (instant(window["end"]) - at).total_seconds() / 60.0
    assert before_min < early_min < before_min + 20
    assert after_min < late_min < after_min + 20


def test_between_two_levels_the_wind_is_that_of_the_mean_vector() -> None:
    """From the north and from the east at two levels: from the north-east between, and weaker."""
    winds = [
        {"pressure_altitude_ft": level, "from_true_deg": direction, "speed_kt": 40}
        for level, direction in ((10_000, 0), (20_000, 90))
    ]
    case = case_from_mapping(with_changes(demo("clean"), {"/winds_aloft": winds}))
    there = case.alternates[1].aerodrome.position
    air = air_along(case, start=case.aircraft.position, end=there)
    low, high = air.levels
    middle = [{"pressure_altitude_ft": 15_000, "from_true_deg": 45, "speed_kt": 40 / 2**0.5}]
    between = case_from_mapping(with_changes(demo("clean"), {"/winds_aloft": middle}))
    (mean,) = air_along(between, start=case.aircraft.position, end=there).levels
    assert (low.headwind_kt + high.headwind_kt) / 2.0 == pytest.approx(mean.headwind_kt)


# --- verdict and words ---


def test_a_missing_report_is_only_a_caution_where_other_ways_are_known_to_be_legal() -> None:
    reports = [report for report in demo("clean")["weather"]["reports"] if "XBRE" not in report]
    answer = told(**{"/weather/reports": reports})
    assert answer["verdict"] == "GO_WITH_CAUTION"
    assert "NO_FORECAST" in {caution["code"] for caution in answer["cautions"]}
    assert course(answer, "approach_then_divert:XBRE")["legal"] is None
    assert course(answer, "approach_then_divert:XTOR")["legal"] is True


def test_the_percentile_decides_between_go_and_caution_and_never_legality() -> None:
    plain, wanting = told(), told(**{"/policy/margin_kg": 5000})
    assert (plain["verdict"], wanting["verdict"]) == ("GO", "GO_WITH_CAUTION")
    legal = [
        {each["course"]: each["legal"] for each in answer["courses"]} for answer in (plain, wanting)
    ]
    assert legal[0] == legal[1]


def test_a_failure_that_wants_the_ground_at_once_never_waits_for_weather() -> None:
    waiting = told("wait-for-fog")
    assert waiting["action"]["do"] == "HOLD"
    pressed = told("wait-for-fog", **{"/failures": [{"id": "smoke"}]})
    assert pressed["action"]["do"] != "HOLD"
    assert not [each for each in pressed["courses"] if each["kind"] == "hold_then_approach"]


def test_a_landing_here_is_not_behind_a_longer_way_when_the_failure_presses() -> None:
    answer = told("time-critical")
    assert (answer["action"]["do"], answer["basis"]) == ("COMMIT", "TIME_CRITICAL")
    longer = told("time-critical", **{"/fuel/on_board_kg": 5000, "/aircraft/mass_kg": 61_850})
    diverts = [each for each in longer["courses"] if each["kind"] == "divert_now" and each["legal"]]
    assert diverts
    assert longer["action"]["aerodrome"] == "XKAL"


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("rulebook", rulebook_ids())
def test_no_text_says_that_a_landing_is_prohibited_and_the_authority_of_the_pilot_is_cited(
    name: str, rulebook: str
) -> None:
    answer = demo_under(name, rulebook)
    said = f"{json.dumps(answer, default=str)} {brief(answer)}".lower()
    assert "prohibit" not in said
    assert "not allowed to land" not in said
    assert "must not land" not in said
    cited = load_rulebook(rulebook).row("emergency_basis")
    assert answer["emergency"]["basis"] == cited.citation


def test_little_fuel_at_a_good_place_is_less_bad_than_landing_below_minima() -> None:
    """About twenty-four minutes of fuel left against an RVR of 250 m without approval."""
    fog = "00000KT 0250 R27R/0250N FG VV001"
    reports = [
        "METAR XKAL 140600Z 00000KT 0250 R27R/0250N FG VV001 08/08 Q1013",
        f"TAF XKAL 140500Z 1406/1506 {fog.replace('R27R/0250N ', '')}",
        "METAR XBRE 140600Z 00000KT 0250 R23/0250N FG VV001 08/08 Q1013",
        f"TAF XBRE 140500Z 1406/1506 {fog.replace('R27R/0250N ', '')}",
        "METAR XTOR 140600Z 26010KT 9999 SCT030 08/07 Q1013",
        "TAF XTOR 140500Z 1406/1506 26010KT 9999 SCT030",
    ]
    answer = told(
        **{"/weather/reports": reports, "/fuel/on_board_kg": 1900, "/aircraft/mass_kg": 58_750}
    )
    assert (answer["verdict"], answer["basis"]) == ("NO_GO", "NO_LEGAL_COURSE")
    best = answer["courses"][0]
    assert best["course"] == "divert_now:XTOR"
    assert 20.0 < best["fuel"]["landing_min"] < 30.0
    behind = [each for each in answer["courses"][1:] if each["aerodrome"] != "XTOR"]
    assert any(
        finding["rule"] in {"AP-02", "WX-01"} and finding["outcome"] == "FAIL"
        for each in behind
        for finding in each["findings"]
    )


def test_the_hold_is_flown_as_the_aircraft_now_is() -> None:
    """With the gear already down for good the same wait costs more, and the deadline is earlier."""
    up = told(**{"/plan/hold_min": 20})
    down = told(
        **{
            "/plan/hold_min": 20,
            "/failures": [{"id": "gear-retraction"}],
            "/aircraft/gear": "down",
        }
    )
    holds = [
        next(
            step
            for step in course(answer, "commit_to_land:XKAL")["steps"]
            if "hold" in step["name"]
        )
        for answer in (up, down)
    ]
    assert holds[1]["fuel_kg"] > 1.3 * holds[0]["fuel_kg"]
    assert holds[0]["time_min"] == holds[1]["time_min"] == 20.0


def test_a_leak_drains_a_hold_too() -> None:
    dry = _generated("clean", **{"/plan/hold_min": 20})
    wet = _generated("clean", **{"/plan/hold_min": 20, "/fuel/leak_kg_per_h": 300})
    more = {
        one.label: one.ledger.landing_kg - other.ledger.landing_kg
        for one, other in zip(dry, wet, strict=True)
        if one.ledger is not None and other.ledger is not None and one.missed_at is not None
    }
    assert more
    assert all(lost_kg > 300.0 * 20.0 / 60.0 for lost_kg in more.values())


@pytest.mark.parametrize("rulebook", rulebook_ids())
def test_the_amount_of_dispatch_is_never_the_floor_in_flight(rulebook: str) -> None:
    """[CFR-121] 121.639: 45 minutes bind at dispatch; the floor is half an hour, there a policy."""
    book = load_rulebook(rulebook)
    assert book.number("final_reserve_min") == 30.0
    answer = demo_under("clean", rulebook)
    reserves = {each["fuel"]["planned_final_reserve_kg"] for each in answer["courses"]}
    others = {
        each["fuel"]["planned_final_reserve_kg"] for each in demo_under("clean", "icao")["courses"]
    }
    assert reserves == others


def test_a_verdict_does_not_depend_on_what_an_answer_is_asked_to_include() -> None:
    more = told(**{"/include": ["flip_points", "uncertainty", "steps", "ahead"]})
    assert more["verdict"] == told()["verdict"]
