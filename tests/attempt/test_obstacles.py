"""Obstacles under the missed approach, through whole decisions."""

from __future__ import annotations

import json
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.case.library import AERODROMES, load_aerodrome
from decision.errors import InvalidCase
from tests.answer.told import told_of
from tests.case.builders import demo

WANTED_FT = 164.0


def described(*obstacles: dict[str, float], **approach: Any) -> dict[str, Any]:
    """The clean case with its destination described: one approach, over obstacles."""
    known = load_aerodrome(AERODROMES / "XKAL.toml")
    runway = known.runway("27R")
    assert runway is not None
    body = demo("clean")
    body["plan"] = {}
    body["destination"] |= {
        "elevation_ft": known.elevation_ft,
        "runways": [
            {
                "ident": runway.ident,
                "true_bearing_deg": runway.true_bearing_deg,
                "lda_m": runway.lda_m,
            }
        ],
        "approaches": [
            {
                "id": "ILS",
                "runway": runway.ident,
                "kind": "3D-B",
                "needs": ["ILS"],
                "dh_ft": 200,
                "rvr_m": 550,
                "visibility_m": 800,
                "missed_altitude_ft": known.elevation_ft + 3000,
                "obstacles": list(obstacles),
                **approach,
            }
        ],
    }
    return body


def found(body: dict[str, Any]) -> list[dict[str, Any]]:
    """What the rule said of every attempt that it applies to."""
    answer = told_of(case_from_mapping(body))
    return [
        finding
        for course in answer["courses"]
        for finding in course["findings"]
        if finding["rule"] == "MA-02" and finding["outcome"] != "NOT_APPLICABLE"
    ]


def elevation_ft() -> float:
    return load_aerodrome(AERODROMES / "XKAL.toml").elevation_ft


def test_without_obstacles_the_rule_does_not_apply() -> None:
    assert found(described()) == []


def test_the_obstacle_cleared_by_least_decides() -> None:
    low = {"distance_nm": 8.0, "elevation_ft": elevation_ft()}
    high = {"distance_nm": 2.0, "elevation_ft": elevation_ft() + 4000.0}
    assert {each["outcome"] for each in found(described(low))} == {"PASS"}
    both = found(described(low, high))
    assert {each["outcome"] for each in both} == {"FAIL"}
    assert all("at 2 NM" in each["text"] for each in both)


def test_no_obstacle_is_cleared_by_a_climb_beyond_the_missed_approach_altitude() -> None:
    top = {"distance_nm": 40.0, "elevation_ft": elevation_ft() + 3000.0 - WANTED_FT}
    (first, *_) = found(described(top))
    assert first["outcome"] == "PASS"
    assert first["value"] == pytest.approx(WANTED_FT)
    higher = top | {"elevation_ft": top["elevation_ft"] + 1.0}
    assert {each["outcome"] for each in found(described(higher))} == {"FAIL"}


def test_a_procedure_without_a_decision_height_leaves_it_unknown() -> None:
    obstacle = {"distance_nm": 8.0, "elevation_ft": elevation_ft()}
    body = described(obstacle)
    del body["destination"]["approaches"][0]["dh_ft"]
    assert {each["outcome"] for each in found(body)} == {"UNKNOWN"}


def test_an_obstacle_not_cleared_bars_the_approach() -> None:
    high = {"distance_nm": 1.0, "elevation_ft": elevation_ft() + 2500.0}
    answer = told_of(case_from_mapping(described(high)))
    assert answer["verdict"] not in ("GO", "GO_WITH_CAUTION")
    assert "MA-02" in json.dumps(answer["reasons"])


def test_an_obstacle_needs_distance_and_elevation() -> None:
    with pytest.raises(InvalidCase) as refusal:
        case_from_mapping(described({"distance_nm": 5.0}))
    (fault,) = refusal.value.faults
    assert fault.pointer == "/destination/approaches/0/obstacles/0/elevation_ft"


@pytest.mark.parametrize(("room_ft", "verdict"), [(400.0, "GO"), (100.0, "GO_WITH_CAUTION")])
def test_an_obstacle_cleared_within_the_model_s_error_is_a_caution(
    room_ft: float, verdict: str
) -> None:
    """At 4 NM an error of 0.6 point of the gradient is 146 ft."""
    at = {"distance_nm": 4.0, "elevation_ft": elevation_ft()}
    (first, *_) = found(described(at))
    top_ft = elevation_ft() + first["margin"] - room_ft
    answer = told_of(case_from_mapping(described(at | {"elevation_ft": top_ft})))
    assert answer["verdict"] == verdict
