"""The answer as a whole: what it takes for granted, what it asks, until when it holds."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from decision.answer.figures import number
from decision.case import case_from_mapping
from decision.errors import InvalidCase
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes

FAIR = "26011KT 9999 SCT030 08/04 Q1013"
RUNWAY = {"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}
BARE = {
    "icao": "XNEW",
    "elevation_ft": 100,
    "track_nm": 42,
    "runways": [RUNWAY],
    "approaches": [],
}


def told(name: str = "clean", /, **changes: Any) -> dict[str, Any]:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def test_a_policy_looser_than_the_rulebook_is_refused_unless_it_says_why() -> None:
    with pytest.raises(InvalidCase) as caught:
        told(**{"/policy/landing_factor": 1.0})
    assert [fault.pointer for fault in caught.value.faults] == ["/policy/landing_factor"]
    assert told(**{"/policy/landing_factor": 1.0, "/policy/deviation_reason": "ferry"})


def test_each_default_and_each_runway_state_that_is_taken_for_granted_is_listed_once() -> None:
    seen = told()["assumptions"]
    fields = [each["field"] for each in seen]
    assert len(set(fields)) == len(fields)
    assert "/policy/landing_factor" in fields
    assert any("runway 27R condition" in field for field in fields)


@pytest.mark.parametrize(("failures", "flown"), [([], True), ([{"id": "smoke"}], False)])
def test_a_hold_that_haste_leaves_out_is_told_as_an_assumption(
    failures: list[dict[str, Any]], flown: bool
) -> None:
    answer = told(**{"/plan/hold_min": 12, "/failures": failures})
    said = [each for each in answer["assumptions"] if each["field"] == "/plan/hold_min"]
    held = {step["name"] for course in answer["courses"] for step in course["steps"] or ()}
    assert ("holding" in held) is flown
    assert [each["value"] for each in said] == ([] if flown else [0.0])


def test_a_gradient_that_is_not_charted_is_taken_from_the_rulebook_and_said() -> None:
    procedure = {"id": "A", "runway": "27", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}
    changes = {"/plan/approach": REMOVED, "/weather/reports/0": f"METAR XNEW 140600Z {FAIR}"}
    described = told(**{**changes, "/destination": {**BARE, "approaches": [procedure]}})
    listed = {each["field"]: each["value"] for each in described["assumptions"]}
    assert listed["XNEW A missed approach gradient"] == 2.5


def test_without_runway_or_procedure_nothing_is_assumed_of_them() -> None:
    place = {**BARE, "runways": [{**RUNWAY, "closed": True}]}
    seen = told(**{"/destination": place, "/plan/approach": REMOVED})
    assert not [each for each in seen["assumptions"] if "XNEW" in each["field"]]
    assert seen["action"]["aerodrome"] is not None


def test_an_unknown_says_whom_to_ask_and_is_said_once() -> None:
    unknowns = told(**{"/weather/reports": []})["unknowns"]
    assert len(set(unknowns)) == len(unknowns)
    assert any("Ask: air traffic control" in line for line in unknowns)


@pytest.mark.parametrize("name", NAMES)
def test_the_next_look_and_the_end_of_the_answer_lie_ahead(name: str) -> None:
    seen = told(name)
    as_of = datetime.fromisoformat(seen["as_of"])
    for part in ("next_look", "valid_until"):
        ahead = datetime.fromisoformat(seen[part]["at"]) - as_of
        assert 0 < ahead.total_seconds() <= 1800
        assert seen[part]["why"]


def test_without_reports_the_next_look_is_the_next_fuel_check() -> None:
    seen = told(**{"/weather/reports": []})
    assert seen["next_look"] == {"at": "2026-03-14T06:40:00Z", "why": "fuel check"}


def test_with_no_course_that_is_known_to_be_legal_it_holds_for_what_is_missing() -> None:
    seen = told("alternate-weather-missing")
    assert (seen["basis"], seen["action"]["do"]) == ("MISSING", "HOLD")
    assert seen["action"]["aerodrome"] == "XKAL"
    assert seen["ask"]


@pytest.mark.parametrize("also", [(), (0, 1)])
def test_a_course_of_unknown_miles_is_unknown_and_not_a_place_that_is_unfit(
    also: tuple[int, ...],
) -> None:
    changes: dict[str, Any] = {f"/alternates/{leg}/track_from_present_nm": REMOVED for leg in also}
    seen = told(**changes, **{"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED})
    assert seen["verdict"] == "INSUFFICIENT_DATA"
    assert any("XKAL" in each["what"] for each in seen["ask"])


def test_a_reason_is_never_a_rule_that_says_nothing() -> None:
    nowhere: dict[str, Any] = {
        f"/alternates/{leg}/track_from_present_nm": REMOVED for leg in (0, 1)
    }
    seen = told(**nowhere, **{"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED})
    assert seen["reasons"]
    assert not [each for each in seen["reasons"] if "judged for" in each["text"]]


def test_where_nothing_at_all_is_known_a_course_is_named_all_the_same() -> None:
    nowhere = {
        "/destination/track_nm": REMOVED,
        "/aircraft/position": REMOVED,
        "/weather/reports": [],
    }
    seen = told(**nowhere)
    assert seen["action"]["do"] == "DIVERT"
    assert seen["action"]["aerodrome"] in ("XTOR", "XBRE")
    assert seen["verdict"] not in ("GO", "GO_WITH_CAUTION")


@pytest.mark.parametrize(("value", "shown"), [(None, None), (-0.0001, 0), (1.23456, 1.235)])
def test_a_figure_keeps_a_thousandth_and_no_minus_before_zero(
    value: float | None, shown: float | None
) -> None:
    assert number(value) == shown
    assert str(number(value)) == str(shown)


@given(st.floats(-1e12, 1e12) | st.integers(-(10**9), 10**9).map(lambda halves: halves / 2000.0))
@example(1.0005)
@example(999_999.9995)
@example(1e300)
def test_a_figure_is_the_nearest_thousandth_to_the_last_bit(value: float) -> None:
    rounded = round(value, 3)
    assert number(value) == rounded
    assert isinstance(number(value), int) == rounded.is_integer()


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_figure_that_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="not a finite number"):
        number(value)


def test_a_hold_happens_at_the_destination_and_a_diversion_where_it_ends() -> None:
    assert told("wait-for-fog")["action"]["aerodrome"] == "XKAL"
    assert told("gear-stuck")["action"]["aerodrome"] == "XTOR"


@pytest.mark.parametrize("name", NAMES)
def test_the_weather_of_every_place_says_what_governs_and_in_which_window(name: str) -> None:
    seen = told(name)
    flown = {each["aerodrome"] for each in seen["courses"] if each["limited_by"] is None}
    assert flown
    assert flown <= seen["weather"].keys()
    for icao, place in seen["weather"].items():
        if icao not in flown:
            assert place["window"] is None  # nobody arrives there
            continue
        assert place["window"]["start"] < place["window"]["end"], icao
        assert place["governing"]["ceiling"]["why"], icao


def test_what_was_fetched_for_a_place_stands_beside_its_reports_with_its_age() -> None:
    got = {
        "icao": "XTOR",
        "kind": "observation",
        "at": "2026-03-14T06:08:00Z",
        "age_s": 120,
        "stale": False,
    }
    missed = {"icao": "XTOR", "kind": "forecast", "stale": True, "problem": "no answer in time"}
    weather = told(**{"/weather/fetched": [got, missed]})["weather"]
    assert weather["XTOR"]["fetched"] == [
        {
            "kind": "observation",
            "at": "2026-03-14T06:08:00Z",
            "age_s": 120.0,
            "stale": False,
            "problem": None,
        },
        {
            "kind": "forecast",
            "at": None,
            "age_s": None,
            "stale": True,
            "problem": "no answer in time",
        },
    ]
    assert weather["XKAL"]["fetched"] == []


def test_a_place_that_no_course_reaches_has_no_window() -> None:
    seen = told(**{"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED})
    assert seen["weather"]["XKAL"]["window"] is None
    assert seen["weather"]["XKAL"]["observation"]["raw"].startswith("METAR XKAL ")


def test_the_verdict_s_citation_and_the_versions_in_use_are_given() -> None:
    seen = told()
    assert seen["emergency"]["basis"].startswith("[ICAO-ANNEX6]")
    assert all(finding["citation"] for course in seen["courses"] for finding in course["findings"])
    assert len(seen["provenance"]["input_digest"]) == 64
    assert seen["provenance"]["rulebook"]["id"] == "icao"
    assert seen["id"] is None
