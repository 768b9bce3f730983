"""What bounds a hold besides fuel, and that the answer says so."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from tests.case.builders import demo, with_changes


def told(name: str, /, **changes: Any) -> dict[str, Any]:
    return recommend_mapping(case_from_mapping(with_changes(demo(name), changes)))


def codes(answer: dict[str, Any]) -> set[str]:
    return {caution["code"] for caution in answer["cautions"]}


UNPRESSURISED: dict[str, Any] = {
    "/failures": [{"id": "pressurisation"}],
    "/aircraft/pressure_altitude_ft": 14_000,
    "/destination/track_nm": 60,
    "/plan/checklist_min": 0,
    "/fuel/on_board_kg": 8000,
    "/aircraft/mass_kg": 64_000,
    "/alternates/0/track_from_present_nm": 70,
    "/alternates/1/track_from_present_nm": 60,
}


def test_a_hold_that_terrain_forbids_is_no_choice_and_the_answer_says_so() -> None:
    free = told("wait-for-fog")
    barred = told("wait-for-fog", **{"/destination/minimum_level_ft": 9_100})
    assert free["action"]["do"] == "HOLD"
    assert "HOLD_BARRED" not in codes(free)
    assert barred["action"]["do"] != "HOLD"
    text = next(each["text"] for each in barred["cautions"] if each["code"] == "HOLD_BARRED")
    assert "9000 ft is below the minimum level of 9100 ft" in text


def held(answer: dict[str, Any]) -> bool:
    return any(course["kind"] == "hold_then_approach" for course in answer["courses"])


def test_no_hold_is_offered_in_icing_weather_without_protection() -> None:
    reports = demo("wait-for-fog")["weather"]["reports"]
    icing = [reports[0].replace(" FG ", " FZFG "), *reports[1:]]
    unprotected: dict[str, Any] = {
        "/failures": [{"id": "wing-anti-ice"}],
        "/weather/reports": icing,
    }
    protected = told("wait-for-fog", **{"/weather/reports": icing})
    answer = told("wait-for-fog", **unprotected)
    assert held(protected)
    assert not held(answer)
    assert ("HOLD_BARRED" in codes(protected), "HOLD_BARRED" in codes(answer)) == (False, True)
    assert answer["action"]["do"] == "DIVERT"


def test_a_leak_shortens_what_can_be_waited_for() -> None:
    dry, leaking = (
        told("wait-for-fog", **{"/fuel/leak_kg_per_h": leak_kg_per_h}) for leak_kg_per_h in (0, 900)
    )
    for which in ("clean_diversion", "approach_and_miss"):
        before, after = dry["holding"][which], leaking["holding"][which]
        assert before is not None
        assert after is None or after["available_min"] < before["available_min"]


@pytest.mark.parametrize("oxygen_min", [40, 55])
def test_oxygen_ends_a_hold_where_people_breathe_it(oxygen_min: int) -> None:
    """Above 13 000 ft every minute counts; what the way out uses is no time to hold."""
    answer = told("clean", **UNPRESSURISED, **{"/aircraft/oxygen_min": oxygen_min})
    clean = answer["holding"]["clean_diversion"]
    assert clean is not None
    assert clean["limited_by"] == "oxygen"
    assert oxygen_min - 15.0 < clean["available_min"] < oxygen_min
    until = datetime.fromisoformat(clean["until"]) - datetime.fromisoformat(answer["as_of"])
    assert until.total_seconds() / 60.0 == pytest.approx(clean["available_min"], abs=0.02)


def test_oxygen_does_not_bound_a_hold_below_the_levels_of_its_use() -> None:
    low = UNPRESSURISED | {"/aircraft/pressure_altitude_ft": 9_000}
    clean = told("clean", **low, **{"/aircraft/oxygen_min": 5})["holding"]["clean_diversion"]
    assert clean is not None
    assert clean["limited_by"] != "oxygen"
