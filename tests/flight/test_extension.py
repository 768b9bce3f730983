"""What an early extension costs, against approaches planned with it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from decision.brief import brief
from decision.case import case_from_mapping
from decision.flight.irreversible import PRICED_NM
from tests.answer.told import told_of
from tests.case.builders import REMOVED, demo, with_changes

AWAY = "approach_then_divert:XTOR"


def told(name: str = "gear-stuck", /, **changes: Any) -> Any:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def priced_nm(answer: Any) -> list[float]:
    return [each["distance_to_go_nm"] for each in answer["gear_extension"]]


def at_minimum_kg(answer: Any) -> float:
    [course] = [each for each in answer["courses"] if each["course"] == AWAY]
    return float(course["fuel"]["at_missed_approach_kg"])


def test_ten_seven_and_five_miles_are_priced_and_the_plan_is_one_of_them() -> None:
    answer = told()
    assert priced_nm(answer) == list(PRICED_NM) == [10.0, 7.0, 5.0]
    assert [each["planned"] for each in answer["gear_extension"]] == [False, False, True]


@pytest.mark.parametrize("gear_nm", PRICED_NM)
def test_a_price_is_the_fuel_of_an_approach_planned_so(gear_nm: float) -> None:
    [priced] = [each for each in told()["gear_extension"] if each["distance_to_go_nm"] == gear_nm]
    planned = told(**{"/plan/gear_extension_nm": gear_nm})
    assert priced["at_missed_approach_kg"] == at_minimum_kg(planned)
    assert priced["at"] == planned["last_clean_diversion"]["at"]


def test_the_earlier_the_gear_is_out_the_more_it_costs() -> None:
    found = told()["gear_extension"]
    assert found[-1]["more_kg"] == 0.0
    for early, late in pairwise(found):
        assert early["more_kg"] > late["more_kg"]
        assert early["at"] < late["at"]
        saved_kg = late["at_missed_approach_kg"] - early["at_missed_approach_kg"]
        assert saved_kg == pytest.approx(early["more_kg"] - late["more_kg"], abs=0.002)


def test_a_distance_of_the_plan_stands_beside_the_three() -> None:
    answer = told(**{"/plan/gear_extension_nm": 8.0})
    assert priced_nm(answer) == [10.0, 8.0, 7.0, 5.0]
    assert [each["planned"] for each in answer["gear_extension"]] == [False, True, False, False]


def test_only_what_is_still_ahead_is_priced() -> None:
    assert priced_nm(told(**{"/destination/track_nm": 8.5, "/plan/checklist_min": 0})) == [7.0, 5.0]


def test_flaps_that_stay_out_go_out_no_later_than_they_have_to() -> None:
    """With a slow drive they start some ten miles out: nothing nearer can be had."""
    failures = [{"id": "gear-retraction"}, {"id": "flaps-retraction"}, {"id": "hydraulic-2"}]
    answer = told(**{"/failures": failures})
    point_nm = answer["last_clean_diversion"]["distance_to_go_nm"]
    assert min(priced_nm(answer)) == point_nm > 9.0


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("clean", {}),  # it comes up again: no step is for good
        ("gear-stuck", {"/aircraft/gear": "down"}),
        ("gear-stuck", {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED}),
        ("gear-stuck", {"/failures": [{"id": "flaps-retraction"}], "/aircraft/gear": "down"}),
    ],
)
def test_nothing_is_priced_where_no_gear_goes_out_for_good(
    name: str, changes: dict[str, Any]
) -> None:
    assert told(name, **changes)["gear_extension"] == []


def test_the_brief_shows_them_and_reads_answers_that_have_none() -> None:
    answer = told()
    lines = brief(answer).splitlines()
    start = lines.index("GEAR OUT AT    fuel at the minimum")
    assert [line.split()[0] for line in lines[start + 1 : start + 4]] == ["10.0", "7.0", "5.0"]
    assert lines[start + 3].endswith(", as planned")
    older = {key: value for key, value in answer.items() if key != "gear_extension"}
    assert "GEAR OUT AT" not in brief(older)
