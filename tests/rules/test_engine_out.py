"""With an engine out, through the whole decision: which aerodrome is nearest, in whose rulebook."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import REMOVED, demo, with_changes

GOOD = "26010KT 9999 SCT030"
FOG = "26003KT 0150 FG VV001"
Answer = dict[str, Any]


def flight(rulebook: str, near: str = GOOD, *, changes: Answer | None = None) -> Answer:
    """Ninety miles to the destination on one engine; XBRE is forty miles off, with that weather."""
    body = demo("engine-out-gradient")
    reports = []
    for icao, weather in (("XKAL", GOOD), ("XBRE", near), ("XTOR", GOOD)):
        reports += [
            f"METAR {icao} 140600Z {weather} 10/06 Q1013",
            f"TAF {icao} 140500Z 1406/1506 {weather}",
        ]
    alternates = [
        {"icao": icao, "track_nm": 70, "track_from_present_nm": miles, "minimum_level_ft": 5000}
        for icao, miles in (("XBRE", 40), ("XTOR", 80))
    ]
    body = with_changes(
        body,
        {
            "/rulebook": rulebook,
            "/destination": {"icao": "XKAL", "track_nm": 90, "minimum_level_ft": 5000},
            "/alternates": alternates,
            "/plan": {},
            "/weather/reports": reports,
            **(changes or {}),
        },
    )
    told: Answer = told_of(case_from_mapping(body))
    return told


def finding(course: Answer, rule: str) -> Answer:
    found: Answer
    (found,) = [each for each in course["findings"] if each["rule"] == rule]
    return found


def courses(answer: Answer, kind: str) -> list[Answer]:
    return [each for each in answer["courses"] if each["kind"] == kind]


def test_part_121_asks_for_the_nearest_airport_where_others_leave_it_to_the_trade() -> None:
    """[CFR-121] 121.565(a); elsewhere it is earlier by more than the policy's trade."""
    american, international = flight("faa-121"), flight("icao")
    assert (american["verdict"], american["action"]["aerodrome"]) == ("NO_GO", "XBRE")
    assert american["reasons"][0]["rule"] == "EO-01"
    assert "[CFR-121] 121.565(a)" in american["reasons"][0]["citation"]
    assert american["headline"].startswith("Divert to XBRE runway 23, the nearest suitable: ")
    assert (international["action"]["aerodrome"], international["basis"]) == (
        "XBRE",
        "NEAREST_SUITABLE",
    )
    left = finding(international["courses"][0], "EO-01")
    assert left["outcome"] == "NOT_APPLICABLE"
    assert "[ASSUMED]" in left["citation"]


def test_a_place_in_fog_is_not_suitable_and_the_next_one_is_the_nearest() -> None:
    there = flight("faa-121", FOG)
    assert there["action"]["aerodrome"] == "XKAL"
    onward = courses(there, "approach_then_divert")
    assert onward
    assert {finding(each, "EO-01")["outcome"] for each in onward} == {"PASS"}


def test_a_place_without_reports_may_be_the_nearest() -> None:
    assert flight("faa-121")["verdict"] == "NO_GO"
    reports = [
        report
        for icao in ("XKAL", "XTOR")
        for report in (
            f"METAR {icao} 140600Z {GOOD} 10/06 Q1013",
            f"TAF {icao} 140500Z 1406/1506 {GOOD}",
        )
    ]
    lacking = flight("faa-121", changes={"/weather/reports": reports})
    assert lacking["verdict"] == "INSUFFICIENT_DATA"
    approach = courses(lacking, "approach_then_divert")[0]
    assert finding(approach, "EO-01")["outcome"] == "UNKNOWN"
    assert "whether XBRE is suitable is not known" in finding(approach, "EO-01")["text"]


def test_a_place_at_an_unknown_distance_may_be_the_nearest() -> None:
    without = {"/alternates/0/track_from_present_nm": REMOVED, "/aircraft/position": REMOVED}
    lacking = flight("faa-121", changes=without)
    onward = courses(lacking, "approach_then_divert")
    assert onward
    for each in onward:
        assert finding(each, "EO-01")["outcome"] == "UNKNOWN"


def test_a_way_kept_open_from_the_last_clean_point_is_weighed_by_the_approach_it_belongs_to() -> (
    None
):
    near = flight("faa-121")
    approach = finding(courses(near, "approach_then_divert")[0], "EO-01")
    kept = [each for each in courses(near, "divert_now") if each["from"] == "last_clean_point"]
    assert kept
    assert all(finding(each, "EO-01")["value"] == approach["value"] for each in kept)


def test_a_way_kept_open_past_a_place_in_fog_is_no_suitable_place_by_that_time() -> None:
    """XKAL, 40 miles off, cannot be landed at: the nearest is XBRE at its own, later time."""
    alternates = [
        {"icao": icao, "track_nm": 70, "track_from_present_nm": miles, "minimum_level_ft": 5000}
        for icao, miles in (("XBRE", 80), ("XTOR", 120))
    ]
    told = flight(
        "faa-121",
        changes={
            "/destination/track_nm": 40,
            "/alternates": alternates,
            "/weather/reports": [
                *(f"METAR XKAL 140600Z {FOG} 10/06 Q1013", f"TAF XKAL 140500Z 1406/1506 {FOG}"),
                *(f"METAR XBRE 140600Z {GOOD} 10/06 Q1013", f"TAF XBRE 140500Z 1406/1506 {GOOD}"),
                *(f"METAR XTOR 140600Z {GOOD} 10/06 Q1013", f"TAF XTOR 140500Z 1406/1506 {GOOD}"),
            ],
        },
    )
    (now,) = (each for each in told["courses"] if each["course"] == "divert_now:XBRE")
    kept = [each for each in courses(told, "divert_now") if each["from"] == "last_clean_point"]
    assert finding(now, "EO-01")["outcome"] == "PASS"
    assert "the nearest suitable in time" in finding(now, "EO-01")["text"]
    assert kept
    assert all(finding(each, "EO-01")["value"] < finding(now, "EO-01")["value"] for each in kept)


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_going_on_to_a_runway_that_is_too_short_names_what_is_safer(rulebook: str) -> None:
    """[CFR-121] 121.627(a), [EU-AO] CAT.OP.MPA.245(b), [ICAO-ANNEX6] 4.4.1.1."""
    short = {
        "icao": "XKAL",
        "elevation_ft": 100,
        "track_nm": 90,
        "runways": [{"ident": "27R", "true_bearing_deg": 270, "lda_m": 900, "condition_code": 6}],
        "approaches": [{"id": "A", "runway": "27R", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}],
    }
    told = flight(rulebook, changes={"/destination": short})
    onward = courses(told, "approach_then_divert")
    assert onward
    for each in onward:
        broken = finding(each, "EO-02")
        assert broken["outcome"] == "FAIL"
        assert "(cannot stop)" in broken["text"]
        assert "safer: leaving for XBRE" in broken["text"]


def test_with_all_engines_neither_rule_speaks() -> None:
    told = flight("faa-121", changes={"/failures": []})
    assert {
        finding(each, rule)["outcome"] for each in told["courses"] for rule in ("EO-01", "EO-02")
    } == {"NOT_APPLICABLE"}
