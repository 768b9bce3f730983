"""The laws of a decision, on generated cases: what can never make it better, or make it differ.

The laws hold at fixed mass, wind and weather of the window. What breaks them in the real world is
no violation and is left out by name: another failure burns fuel, so that the aircraft may arrive
below a landing mass that it broke before; one engine burns less than two low down; what is the
nearest suitable aerodrome depends on which others still are suitable; a jam that keeps flaps or
slats in spares what they cost: time with flaps out, and drag in a climb on one engine.
"""

from __future__ import annotations

import json
from collections.abc import Set
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from decision.case import case_from_mapping
from decision.decide.rank import ranked
from decision.flight.situation import situation_of
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.decide.builders import judged_in
from tests.recommend.generated import (
    FAILURE_IDS,
    STEADY,
    answered,
    by_label,
    decided,
    failure,
    flights,
    metar,
    places,
    taf,
    with_flaps_of,
)

FEWER = 25  # of what `tests/outside/test_properties.py` asks too, there on a hundred cases
LEVEL_RULE = 0.01  # the planner takes the lowest level within 1 % of the least fuel
ROUNDING_KG = 0.01
# On shorter legs the planner's rule on how long a cruise is worth its climb also plays: a headwind
# steepens the climb over the ground, a higher level becomes worth it, and up to 2 % is saved.
SHORT_LEG_NM = 60
LEGALITY = {False: 0, None: 1, True: 2}
GO_RANK = {"GO": 2, "GO_WITH_CAUTION": 1}
LANDING_MASS = {"LD-03", "AD-03"}
# Weighs a course against the others: when the nearer place is lost, the next one is the nearest.
RELATIVE = {"EO-01"}

Answer = dict[str, Any]


def broken(course: Answer) -> set[str]:
    return {each["rule"] for each in course["findings"] if each["outcome"] == "FAIL"}


def legality(course: Answer) -> int:
    """Of the rules that judge a course by itself: false below unknown, unknown below true."""
    found = {each["outcome"] for each in course["findings"] if each["rule"] not in RELATIVE}
    return 0 if "FAIL" in found else 1 if "UNKNOWN" in found else 2


def pairs(before: Answer, after: Answer) -> list[tuple[Answer, Answer]]:
    """The same course in both answers."""
    first, second = by_label(before), by_label(after)
    return [(first[label], second[label]) for label in first if label in second]


def assert_margins_never_rise(before: Answer, after: Answer, *, share: float = 0.0) -> None:
    """No course gains margin, but for a share of the fuel that it takes."""
    for one, other in pairs(before, after):
        if one["fuel"] and other["fuel"]:
            slack_kg = share * one["fuel"]["flight_kg"] + ROUNDING_KG
            gain_kg = other["fuel"]["margin_kg"] - one["fuel"]["margin_kg"]
            assert gain_kg <= slack_kg, one["course"]


def assert_legality_never_rises(
    before: Answer, after: Answer, *, but_for: Set[str] = frozenset()
) -> None:
    """`but_for`: rules that may have barred alone."""
    for one, other in pairs(before, after):
        if not (broken(one) and broken(one) <= but_for | RELATIVE) and not too_short(one):
            assert legality(other) <= legality(one), one["course"]


def too_short(course: Answer) -> bool:
    """The way is too short to climb and to come down: more drag comes down on fewer miles."""
    return any(
        each["rule"] == "ER-01" and "is too short" in each["text"] for each in course["findings"]
    )


def assert_no_nearer_to_go(before: Answer, after: Answer) -> None:
    weighed = any(
        each["rule"] in RELATIVE and each["outcome"] in {"FAIL", "UNKNOWN"}
        for course in before["courses"]
        for each in course["findings"]
    )
    if not weighed:
        assert GO_RANK.get(after["verdict"], 0) <= GO_RANK.get(before["verdict"], 0)


@given(flights(), st.integers(1, 1500))
@settings(max_examples=FEWER)
def test_less_fuel_never_makes_anything_better(body: Answer, less_kg: int) -> None:
    before = answered(body)
    poorer = with_changes(body, {"/fuel/on_board_kg": body["fuel"]["on_board_kg"] - less_kg})
    assume(body["fuel"]["on_board_kg"] >= less_kg)
    after = answered(poorer)
    assert_margins_never_rise(before, after)
    assert_legality_never_rises(before, after)
    assert_no_nearer_to_go(before, after)


@given(flights(steady=True), st.integers(1, 80))
def test_more_miles_to_divert_never_raise_a_margin(body: Answer, more_nm: int) -> None:
    farther = with_changes(
        body,
        {
            f"/alternates/{i}/{key}": leg[key] + more_nm
            for i, leg in enumerate(body["alternates"])
            for key in ("track_nm", "track_from_present_nm")
        },
    )
    before, after = answered(body), answered(farther)
    assert_margins_never_rise(before, after, share=LEVEL_RULE)
    for one, other in pairs(before, after):
        if one["legal"] is False and not broken(one) & LANDING_MASS and one["fuel"]:
            short_kg = -one["fuel"]["margin_kg"]
            if short_kg > LEVEL_RULE * one["fuel"]["flight_kg"]:
                assert other["legal"] is False, one["course"]


@given(flights(steady=True), st.integers(1, 60))
def test_more_headwind_on_the_way_never_raises_a_margin(body: Answer, more_kt: int) -> None:
    """From dead calm to a wind against every diversion: the aerodromes lie to the south-west."""
    lengths = {
        f"/alternates/{i}/{key}": max(SHORT_LEG_NM, leg[key])
        for i, leg in enumerate(body["alternates"])
        for key in ("track_nm", "track_from_present_nm")
    }
    calm = with_changes(body, {**lengths, "/winds_aloft": [blowing(0)]})
    against = with_changes(body, {**lengths, "/winds_aloft": [blowing(more_kt)]})
    for described in (calm, against):
        described["aircraft"].pop(
            "position", None
        )  # no bearing is known: the whole wind is headwind
    before, after = answered(calm), answered(against)
    first, second = by_label(before), by_label(after)
    for label in first.keys() & second.keys():
        if first[label]["from"] == "present" and first[label]["fuel"] and second[label]["fuel"]:
            gain_kg = second[label]["fuel"]["margin_kg"] - first[label]["fuel"]["margin_kg"]
            assert gain_kg <= LEVEL_RULE * first[label]["fuel"]["flight_kg"] + ROUNDING_KG, label


def blowing(speed_kt: int) -> dict[str, float]:
    level = {"pressure_altitude_ft": 10_000, "from_true_deg": 270, "temperature_degc": -5}
    return {**level, "speed_kt": speed_kt}


@given(flights(steady=True), st.sampled_from(FAILURE_IDS))
@settings(max_examples=FEWER)
def test_one_more_failure_never_makes_a_course_legal(body: Answer, id_: str) -> None:
    assume(all(each["id"] != id_ for each in body["failures"]))
    before, after = with_one_more(body, id_)
    assert_legality_never_rises(without_moved_point(before), after, but_for=LANDING_MASS)
    if not any(broken(course) & LANDING_MASS for course in before["courses"]):
        assert_no_nearer_to_go(before, after)


def with_one_more(body: Answer, id_: str) -> tuple[Answer, Answer]:
    """The answers without and with a failure, for a landing at the same flap setting."""
    after = answered(with_changes(body, {"/failures": [*body["failures"], failure(id_)]}))
    return answered(with_flaps_of(body, after)), after


def without_moved_point(answer: Answer) -> Answer:
    """The answer without courses from the last clean point.

    A failure can move the point itself: an alternate extension starts ten miles out, not five. From
    there the way is another one, longer, and a short leg over high ground may only then be flyable.
    """
    kept = [each for each in answer["courses"] if each["from"] != "last_clean_point"]
    return {**answer, "courses": kept}


@given(flights(steady=True), st.sampled_from(FAILURE_IDS))
def test_one_more_failure_saves_no_fuel_unless_an_engine_stops(body: Answer, id_: str) -> None:
    """Told where the failure changes neither the height nor the point at which flaps start.

    Flaps that do not come in again start so far out that more of the descent is on the path; a
    descent to a level limit, fast and at idle, can be cheaper than the same height lost later; and
    an approach without slats is flown faster, so that its last miles take fewer minutes.
    """
    assume(id_ not in {"flaps-retraction", "slats-retraction"})
    assume(all(each["id"] != id_ for each in body["failures"]))
    before, after = with_one_more(body, id_)
    assume(before["capability"]["engines_running"] == after["capability"]["engines_running"])
    assume(body["aircraft"]["pressure_altitude_ft"] <= highest_ft(after))
    assume(approach_kt(after) <= approach_kt(before))
    assert_margins_never_rise(without_moved_point(before), after, share=LEVEL_RULE)


def approach_kt(answer: Answer) -> float:
    """The fastest approach of all courses; 0 where none is flown."""
    steps = [each for course in answer["courses"] for each in course["steps"] or ()]
    return max((each["cas_kt"] for each in steps if each["name"] == "approach"), default=0.0)


def highest_ft(answer: Answer) -> float:
    """The altitude limit of the failures; with thrust limited, where it is surely held."""
    limits = {each["name"]: each["value"] for each in answer["capability"]["limits"]}
    named_ft: float = limits.get("max_pressure_altitude_ft", 45_000.0)
    weak = any("limited thrust" in each["configuration"] for each in answer["courses"])
    return min(named_ft, 12_000.0) if weak else named_ft


def test_a_jam_with_the_flaps_up_saves_only_what_a_landing_planned_so_would_save() -> None:
    """A slow retraction and time with flaps out: why the law is told at one flap setting."""
    changes = {"/plan/checklist_min": 0, "/failures": [{"id": "hydraulic-2"}]}
    body = with_changes(demo("gear-stuck"), changes)
    jammed = [*body["failures"], {"id": "flaps-jammed", "detent": "0"}]
    after = answered(with_changes(body, {"/failures": jammed}))
    as_usual, flaps_up = answered(body), answered(with_flaps_of(body, after))
    label = "approach_then_divert:XTOR"
    usual_kg, up_kg, after_kg = (
        by_label(each)[label]["fuel"]["margin_kg"] for each in (as_usual, flaps_up, after)
    )
    assert usual_kg < after_kg <= up_kg + ROUNDING_KG


DESCRIBED = {
    "elevation_ft": 100,
    "approaches": [{"id": "A", "runway": "23", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}],
}


def with_runway(body: Answer, **changes: Any) -> Answer:
    """The first alternate with one runway, described in the request."""
    assume(bool(body["alternates"]))
    runway = {"ident": "23", "true_bearing_deg": 230, "lda_m": 2400, **changes}
    place = {**body["alternates"][0], **DESCRIBED, "runways": [runway]}
    return with_changes(body, {"/alternates/0": place})


@given(flights(), st.integers(800, 3000), st.integers(1, 1500))
@settings(max_examples=FEWER)
def test_a_shorter_runway_never_makes_anything_better(
    body: Answer, lda_m: int, less_m: int
) -> None:
    before = answered(with_runway(body, lda_m=lda_m))
    after = answered(with_runway(body, lda_m=max(300, lda_m - less_m)))
    assert_legality_never_rises(before, after)
    assert_no_nearer_to_go(before, after)


@given(flights(), st.integers(0, 6), st.integers(1, 6))
def test_a_slipperier_runway_never_makes_anything_better(
    body: Answer, code: int, worse: int
) -> None:
    before = answered(with_runway(body, condition_code=code))
    after = answered(with_runway(body, condition_code=max(0, code - worse)))
    assert_legality_never_rises(before, after)
    assert_no_nearer_to_go(before, after)


WORSE_AND_WORSE = (
    "26010KT 9999 SCT030",
    "26010KT 9999 BKN020",
    "26010KT 4000 BR BKN008",
    "26010KT 1500 BR BKN003",
    "26010KT 0800 FG OVC002",
    "26010KT 0300 FG OVC001",
    "26010KT 0050 FG VV///",
)


@given(
    flights(steady=True),
    st.integers(0, len(WORSE_AND_WORSE) - 1),
    st.integers(0, len(WORSE_AND_WORSE) - 1),
    st.data(),
)
@settings(max_examples=FEWER)
def test_worse_weather_never_makes_anything_better(
    body: Answer, first: int, second: int, data: st.DataObject
) -> None:
    """At any one place, observed and forecast."""
    icao = data.draw(st.sampled_from(places(body)))
    others = [report for report in body["weather"]["reports"] if icao not in report]
    better, worse = (
        with_changes(body, {"/weather/reports": [*others, metar(icao, groups), taf(icao, groups)]})
        for groups in (WORSE_AND_WORSE[min(first, second)], WORSE_AND_WORSE[max(first, second)])
    )
    before, after = answered(better), answered(worse)
    assert_legality_never_rises(before, after)
    assert_no_nearer_to_go(before, after)


@given(flights(), st.integers(0, 20))
@settings(max_examples=FEWER)
def test_taking_a_report_away_never_leads_to_go(body: Answer, index: int) -> None:
    reports = body["weather"]["reports"]
    assume(reports)
    index %= len(reports)
    fewer = with_changes(body, {"/weather/reports": reports[:index] + reports[index + 1 :]})
    before, after = answered(body), answered(fewer)
    assert after["verdict"] != "GO" or before["verdict"] == "GO"


NOT_SAID = (
    "/aircraft/position",
    "/winds_aloft",
    "/destination/track_nm",
    "/alternates/0/track_nm",
    "/alternates/0/track_from_present_nm",
    "/alternates/0/minimum_level_ft",
)


@given(st.lists(st.sampled_from(NOT_SAID), min_size=1, unique=True), flights())
def test_saying_less_of_the_flight_is_never_an_error(without: list[str], body: Answer) -> None:
    said = [each for each in without if body["alternates"] or "/alternates" not in each]
    told = answered(with_changes(body, dict.fromkeys(said)))
    assert told["verdict"] in {"GO", "GO_WITH_CAUTION", "NO_GO", "INSUFFICIENT_DATA"}
    assert told["headline"]


@given(flights(), st.randoms(use_true_random=False))
@settings(max_examples=FEWER)
def test_the_same_case_gives_the_same_bytes_and_no_order_in_it_matters(
    body: Answer, random: Any
) -> None:
    first = answered(body)
    assert json.dumps(answered(body)) == json.dumps(first)
    shuffled, turned = with_changes(body, {}), with_changes(body, {})
    random.shuffle(shuffled["weather"]["reports"])
    turned["alternates"].reverse()
    other = answered(shuffled)
    for told in (first, other):
        told["provenance"].pop("input_digest")
    assert json.dumps(other) == json.dumps(first)
    swapped = answered(turned)
    for part in ("verdict", "action", "basis", "headline", "fuel_state", "reasons", "courses"):
        assert swapped[part] == first[part], part


@given(flights())
def test_unknown_is_never_taken_for_passed_and_legal_comes_first(body: Answer) -> None:
    told = answered(body)
    for course in told["courses"]:
        outcomes = {finding["outcome"] for finding in course["findings"]}
        assert (course["legal"] is False) == bool(course["breaks"])
        assert (course["legal"] is None) == ("UNKNOWN" in outcomes and not course["breaks"])
        if course["breaks"] or course["advised_against"]:
            assert "FAIL" in outcomes
    ways = [course for course in told["courses"] if course["kind"] != "second_approach"]
    order = [LEGALITY[course["legal"]] for course in ways]
    assert all(one >= other for one, other in pairwise(order))
    ranks = [course["rank"] for course in told["courses"]]
    assert ranks == list(range(1, len(ranks) + 1))
    if told["verdict"] in GO_RANK and told["basis"] != "NO_ALTERNATE":
        assert by_label(told)[told["action"]["course"]]["legal"] is True


@given(flights(), st.randoms(use_true_random=False))
def test_the_ranking_is_total_and_does_not_depend_on_where_a_course_stood(
    body: Answer, random: Any
) -> None:
    assume(decided(body) is not None)
    situation = situation_of(case_from_mapping(body))
    judged = list(judged_in(situation))
    best_first = ranked(judged, situation)
    assert len({each.course.label for each in judged}) == len(judged)
    random.shuffle(judged)
    assert ranked(judged, situation) == best_first


@given(
    flights(steady=True, failures=1),
    st.sampled_from(["gear-retraction", "hydraulic-1", "gear-doors-open"]),
)
def test_gear_that_stays_down_never_needs_less_than_the_clean_aircraft(
    body: Answer, id_: str
) -> None:
    body = with_changes(body, {"/failures": [failure(id_)], "/aircraft/gear": "up"})
    for each in answered(body)["last_clean_diversion"]["penalties"]:
        if each["fuel_penalty_kg"] is not None:
            assert each["after_kg"] >= each["clean_kg"]


def test_the_weathers_to_draw_from_can_all_be_read() -> None:
    """A group that could not be read would make the laws on weather say nothing."""
    assert STEADY
    for groups in (*STEADY, *WORSE_AND_WORSE[:-1]):
        body = demo("clean")
        body["weather"]["reports"] = [
            line for icao in places(body) for line in (metar(icao, groups), taf(icao, groups))
        ]
        told = told_of(case_from_mapping(body))
        assert told["weather"].keys() == set(places(body))
        assert all(not place["unread"] for place in told["weather"].values()), groups


@pytest.mark.parametrize("track_nm", [2, 6, 9])
def test_too_high_and_too_near_is_flown_by_extra_track(track_nm: int) -> None:
    """At 9000 ft over the gear extension point there is no path down: miles are added for it."""
    body = with_changes(demo("clean"), {"/destination/track_nm": track_nm})
    told = told_of(case_from_mapping(body))
    steps = by_label(told)["commit_to_land:XKAL"]["steps"]
    assert sum(step["distance_nm"] for step in steps) > track_nm + 10
