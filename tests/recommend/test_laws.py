"""The laws of a decision, on generated cases: what can never make it better, or make it differ."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from decision.profile import load_profile
from decision.recommend import recommend_mapping
from tests.case.builders import demo, with_changes

LEVEL_RULE = 0.01  # the planner takes the lowest level within 1 % of the least fuel
FAILURE_IDS = sorted(entry.id for entry in load_profile("xtj150").systems.catalogue.values())
NEEDS = {"flaps-jammed": {"detent": "0"}, "slats-jammed": {"position": "in"}}
FLIGHTS = st.sampled_from(["clean", "gear-stuck", "choice", "engine-out-gradient", "wait-for-fog"])
LAW = settings(max_examples=25, deadline=None)
GOOD = {"GO", "GO_WITH_CAUTION"}


def failure(id_: str) -> dict[str, Any]:
    return {"id": id_, **NEEDS.get(id_, {})}


@st.composite
def flights(draw: st.DrawFn) -> dict[str, Any]:
    body = demo(draw(FLIGHTS))
    fuel_kg = draw(st.integers(1500, 5000))
    body["fuel"]["on_board_kg"] = fuel_kg
    body["aircraft"]["mass_kg"] = 56_500 + fuel_kg
    for leg in body["alternates"]:
        leg["track_nm"] = draw(st.integers(60, 220))
    return body


def decided(body: dict[str, Any]) -> dict[str, Any]:
    return recommend_mapping(case_from_mapping(body))


def courses(body: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {each["course"]: each for each in decided(body)["courses"]}


def assert_never_better(
    before: dict[str, Any], after: dict[str, Any], *, slack_share: float = 0.0
) -> None:
    """No course of the second has more margin than in the first, or is legal where it was not."""
    first, second = courses(before), courses(after)
    for label in first.keys() & second.keys():
        one, other = first[label], second[label]
        if one["fuel"] and other["fuel"]:
            slack_kg = slack_share * one["fuel"]["flight_kg"] + 0.01
            assert other["fuel"]["margin_kg"] <= one["fuel"]["margin_kg"] + slack_kg, label
        if one["legal"] is False and one["fuel"] and one["fuel"]["margin_kg"] < 0:
            assert other["legal"] is not True, label


@LAW
@given(flights(), st.integers(10, 400))
def test_less_fuel_never_raises_a_margin_or_makes_a_course_legal(
    body: dict[str, Any], less_kg: int
) -> None:
    poorer = with_changes(body, {"/fuel/on_board_kg": body["fuel"]["on_board_kg"] - less_kg})
    assert_never_better(body, poorer)


@LAW
@given(flights(), st.integers(1, 60))
def test_more_distance_never_raises_a_margin_beyond_the_level_rule(
    body: dict[str, Any], more_nm: int
) -> None:
    farther = with_changes(
        body,
        {
            f"/alternates/{i}/{key}": leg[key] + more_nm
            for i, leg in enumerate(body["alternates"])
            for key in ("track_nm", "track_from_present_nm")
        },
    )
    assert_never_better(body, farther, slack_share=LEVEL_RULE)


@LAW
@given(flights(), st.sampled_from(FAILURE_IDS))
def test_one_more_failure_never_makes_an_illegal_course_legal(
    body: dict[str, Any], id_: str
) -> None:
    worse = with_changes(body, {"/failures": [*body["failures"], failure(id_)]})
    try:
        after = courses(worse)
    except InvalidCase:
        return  # a failure that contradicts the state of the aircraft
    before = courses(body)
    for label in before.keys() & after.keys():
        broken = {
            finding["rule"]
            for finding in before[label]["findings"]
            if finding["outcome"] == "FAIL" and finding["rule"].startswith(("LD", "WD", "AP", "FU"))
        }
        if broken:
            assert after[label]["legal"] is not True, label


@LAW
@given(flights(), st.integers(0, 5))
def test_taking_a_report_away_never_leads_to_go(body: dict[str, Any], index: int) -> None:
    reports = body["weather"]["reports"]
    index %= len(reports)
    fewer = with_changes(body, {"/weather/reports": reports[:index] + reports[index + 1 :]})
    before, after = decided(body)["verdict"], decided(fewer)["verdict"]
    assert after != "GO" or before == "GO"


@LAW
@given(flights(), st.randoms(use_true_random=False))
def test_the_same_case_gives_the_same_bytes_and_the_order_of_reports_does_not_matter(
    body: dict[str, Any], random: Any
) -> None:
    first = json.dumps(decided(body))
    assert json.dumps(decided(body)) == first
    shuffled = with_changes(body, {})
    random.shuffle(shuffled["weather"]["reports"])
    one, other = json.loads(first), decided(shuffled)
    for told in (one, other):
        told["provenance"].pop("input_digest")
    assert json.dumps(one) == json.dumps(other)


@LAW
@given(flights(), st.integers(1000, 2600))
def test_a_shorter_runway_never_makes_a_course_legal(body: dict[str, Any], lda_m: int) -> None:
    described = {
        "elevation_ft": 100,
        "approaches": [{"id": "A", "runway": "23", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}],
    }
    runway = {"ident": "23", "true_bearing_deg": 230, "lda_m": lda_m + 400}
    long = with_changes(body, {"/alternates/0": {**body["alternates"][0], **described}})
    long["alternates"][0]["runways"] = [runway]
    short = with_changes(long, {"/alternates/0/runways/0/lda_m": lda_m})
    first, second = courses(long), courses(short)
    for label in first.keys() & second.keys():
        if first[label]["legal"] is False:
            assert second[label]["legal"] is False, label


@pytest.mark.parametrize("id_", FAILURE_IDS)
def test_every_failure_alone_is_decided_and_explains_itself(id_: str) -> None:
    body = with_changes(demo("clean"), {"/failures": [failure(id_)]})
    try:
        told = decided(body)
    except InvalidCase as error:
        refused = error.faults
    else:
        refused = ()
        assert told["verdict"] in {"GO", "GO_WITH_CAUTION", "NO_GO", "INSUFFICIENT_DATA"}
        assert told["headline"]
    assert all(fault.pointer.startswith(("/failures/0", "/aircraft")) for fault in refused)


@pytest.mark.parametrize("id_", ["engine-1-thrust-limited", "fuel-quantity-indication"])
def test_what_the_performance_cannot_model_is_unknown_and_never_go(id_: str) -> None:
    assert id_ in FAILURE_IDS
    told = decided(with_changes(demo("clean"), {"/failures": [failure(id_)]}))
    assert told["verdict"] == "INSUFFICIENT_DATA"
    assert all(course["legal"] is not True for course in told["courses"])


def test_no_failure_with_a_speed_increment_lands_as_if_it_had_none() -> None:
    raised = 0
    for id_ in FAILURE_IDS:
        body = with_changes(demo("clean"), {"/failures": [failure(id_)]})
        try:
            told = decided(body)
        except InvalidCase:
            continue
        names = {limit["name"] for limit in told["capability"]["limits"]}
        if "min_approach_speed_increment_kt" in names:
            raised += 1
            attempts = [each for course in told["courses"] for each in course["attempts"]]
            assert all(each["landing_distance_m"] is None for each in attempts), id_
    assert raised > 0


def test_doors_that_hang_with_the_gear_up_cost_fuel() -> None:
    whole = courses(demo("clean"))["divert_now:XTOR"]
    hanging = courses(with_changes(demo("clean"), {"/failures": [failure("gear-doors-open")]}))
    assert "doors open" in hanging["divert_now:XTOR"]["configuration"]
    assert hanging["divert_now:XTOR"]["fuel"]["flight_kg"] > whole["fuel"]["flight_kg"] + 20.0
