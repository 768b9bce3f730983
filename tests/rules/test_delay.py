"""A delay that air traffic control has told is flown before the approach, in every course of it."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes


def told(**changes: Any) -> dict[str, Any]:
    answer: dict[str, Any] = told_of(case_from_mapping(with_changes(demo("clean"), changes)))
    return answer


def landing_kg(answer: dict[str, Any]) -> dict[str, float]:
    return {each["course"]: each["fuel"]["landing_kg"] for each in answer["courses"]}


def test_a_delay_costs_the_fuel_of_as_long_a_hold() -> None:
    delayed = told(**{"/air_traffic": {"delay_min": 12}})
    assert landing_kg(delayed) == landing_kg(told(**{"/plan/hold_min": 12}))


def test_a_delay_comes_on_top_of_the_hold_that_is_planned() -> None:
    both = told(**{"/air_traffic": {"delay_min": 5}, "/plan/hold_min": 7})
    assert landing_kg(both) == landing_kg(told(**{"/plan/hold_min": 12}))


def test_a_diversion_from_the_present_position_does_not_wait() -> None:
    now, delayed = told(), told(**{"/air_traffic": {"delay_min": 12}})
    before, after = landing_kg(now), landing_kg(delayed)
    at_once = [course["course"] for course in now["courses"] if course["from"] == "present"]
    assert {"divert_now:XTOR", "divert_now:XBRE"} <= set(at_once)
    assert all(after[course] == before[course] for course in at_once)
    assert all(after[course] < before[course] for course in before if course not in at_once)


@pytest.mark.parametrize("minutes", [0, None])
def test_no_delay_changes_nothing(minutes: float | None) -> None:
    assert landing_kg(told(**{"/air_traffic": {"delay_min": minutes}})) == landing_kg(told())


def test_a_long_delay_takes_the_way_out_after_a_miss() -> None:
    assert told()["verdict"] == "GO"
    assert told(**{"/air_traffic": {"delay_min": 60}})["verdict"] == "NO_GO"
