"""Places as given: bearings against names, hours, and what is taken for granted of a runway."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.case.bearing import doubtful_bearings
from decision.errors import InvalidCase
from tests.answer.told import told_of
from tests.case.builders import demo

RUNWAY = {"ident": "27", "true_bearing_deg": 270, "lda_m": 2500, "width_m": 45, "closed": False}
ILS = {"id": "ILS", "runway": "27", "kind": "3D-B", "dh_ft": 200, "rvr_m": 550}


def described(runway: dict[str, Any], **place: Any) -> dict[str, Any]:
    """The clean case to a destination with one runway."""
    body = demo("clean")
    approach = {**ILS, "runway": runway["ident"]}
    body["destination"] |= {
        "elevation_ft": 300,
        "runways": [runway],
        "approaches": [approach],
        **place,
    }
    body["plan"] = {}
    return body


def faults(body: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(InvalidCase) as refusal:
        case_from_mapping(body)
    return {fault.pointer: fault.message for fault in refusal.value.faults}


def told(body: dict[str, Any]) -> dict[str, Any]:
    """Assumptions of the answer by their field."""
    answer = told_of(case_from_mapping(body))
    return {each["field"]: each for each in answer["assumptions"]}


@pytest.mark.parametrize(
    ("ident", "bearing_deg"), [("27", 90), ("09", 270), ("36", 180), ("18L", 89), ("01", 279)]
)
def test_a_bearing_of_the_other_end_is_a_fault(ident: str, bearing_deg: float) -> None:
    found = faults(described({**RUNWAY, "ident": ident, "true_bearing_deg": bearing_deg}))
    assert f"cannot bear {bearing_deg:g}" in found["/destination/runways/0/true_bearing_deg"]


@pytest.mark.parametrize(
    ("ident", "bearing_deg", "apart_deg"),
    [("27", 301, 31), ("27", 180, 90), ("36", 31, 31), ("01", 331, 39), ("36R", 320, 40)],
)
def test_a_bearing_that_variation_does_not_explain_is_told(
    ident: str, bearing_deg: float, apart_deg: float
) -> None:
    body = described({**RUNWAY, "ident": ident, "true_bearing_deg": bearing_deg})
    (doubt,) = doubtful_bearings(case_from_mapping(body))
    assert (doubt.icao, doubt.runway.ident, doubt.apart_deg) == ("XKAL", ident, apart_deg)
    assert f"XKAL runway {ident} bearing" in told(body)


@pytest.mark.parametrize(
    ("ident", "bearing_deg"), [("27", 300), ("27", 240), ("36", 0), ("36", 360)]
)
def test_a_bearing_that_variation_explains_is_not(ident: str, bearing_deg: float) -> None:
    body = described({**RUNWAY, "ident": ident, "true_bearing_deg": bearing_deg})
    assert doubtful_bearings(case_from_mapping(body)) == ()
    assert not [field for field in told(body) if "bearing" in field]


def test_a_runway_of_which_nobody_says_that_it_is_open_is_an_assumption() -> None:
    silent = {name: value for name, value in RUNWAY.items() if name != "closed"}
    assert told(described(silent))["XKAL runways closed"]["value"] is False
    assert "XKAL runways closed" not in told(described(RUNWAY))


def test_a_loaded_aerodrome_lists_it_too_and_once() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    fields = [each["field"] for each in answer["assumptions"]]
    assert fields.count("XKAL runways closed") == 1
    assert fields.count("XBRE runways closed") == 1


def test_a_width_that_is_not_given_is_an_assumption() -> None:
    bare = {name: value for name, value in RUNWAY.items() if name != "width_m"}
    assert told(described(bare))["XKAL runway 27 width"]["value"] == 30.0
    assert "XKAL runway 27 width" not in told(described(RUNWAY))


def test_a_runway_too_narrow_bars_the_landing_but_endangers_nobody() -> None:
    answer = told_of(case_from_mapping(described({**RUNWAY, "width_m": 23})))
    here = next(each for each in answer["courses"] if each["kind"] == "commit_to_land")
    (finding,) = [each for each in here["findings"] if each["rule"] == "AD-05"]
    assert finding["outcome"] == "FAIL"
    assert "23 m is 7 m below the minimum of 30 m" in finding["text"]
    assert here["legal"] is False


def test_outside_its_hours_a_place_is_closed() -> None:
    hours = [{"from_at": "2026-03-14T10:00:00Z", "until_at": "2026-03-14T20:00:00Z"}]
    answer = told_of(case_from_mapping(described(RUNWAY, opening=hours)))
    outcomes = {
        finding["outcome"]
        for course in answer["courses"]
        for finding in course["findings"]
        if finding["rule"] == "AD-01" and finding["text"].startswith("XKAL")
    }
    assert outcomes == {"FAIL"}


def test_hours_that_end_before_they_begin_are_a_fault() -> None:
    hours = [{"from_at": "2026-03-14T20:00:00Z", "until_at": "2026-03-14T10:00:00Z"}]
    found = faults(described(RUNWAY, opening=hours, closures=hours))
    assert found["/destination/opening/0/until_at"] == "an opening ends after it begins"
    assert found["/destination/closures/0/until_at"] == "a closure ends after it begins"


def test_people_and_heading_are_carried_as_given() -> None:
    body = demo("clean")
    assert case_from_mapping(body).aircraft.persons_on_board is None
    body["aircraft"] |= {"persons_on_board": 156, "heading_true_deg": 90}
    aircraft = case_from_mapping(body).aircraft
    assert (aircraft.persons_on_board, aircraft.heading_true_deg) == (156, 90.0)
    body["aircraft"]["persons_on_board"] = 0
    assert "/aircraft/persons_on_board" in faults(body)
