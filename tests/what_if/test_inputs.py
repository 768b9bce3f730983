"""What flip points vary is what the page says, and the nearer of two flips is told."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from decision.case import Case, case_from_mapping
from decision.decide.decision import Verdict
from decision.flight.tried import WhatIf
from decision.recommend import recommend
from decision.what_if.flip import flip_points
from decision.what_if.vary import INPUTS
from service.documents import FOLDER
from tests.case.builders import demo
from tests.changing import replace

ROW = re.compile(r"^\| `(\w+)` \| (\S+) \| ([^|]+) \| ([\d.]+) \|", re.MULTILINE)
TOLD = ROW.findall((FOLDER / "api.md").read_text(encoding="utf-8"))


def test_the_page_tells_every_input_in_the_order_in_which_they_are_looked_at() -> None:
    assert [name for name, *_ in TOLD] == [each.name for each in INPUTS]


@pytest.mark.parametrize(("name", "unit", "span", "step"), TOLD)
def test_range_unit_and_step_of_an_input_are_those_of_the_page(
    name: str, unit: str, span: str, step: str
) -> None:
    [varied] = [each for each in INPUTS if each.name == name]
    answer = recommend(case_from_mapping(demo("gear-stuck")))
    assert varied.unit == unit
    assert varied.step == float(step)
    if name == "mass_kg":
        masses = answer.situation.case.aircraft.profile.masses
        fuel_kg = answer.situation.case.fuel.on_board_kg
        assert span.strip() == "what the fuel on board leaves"
        assert varied.span(answer) == (
            masses.oew_kg + fuel_kg,
            min(masses.mtow_kg, masses.mzfw_kg + fuel_kg),
        )
        return
    low, high = (float(each) for each in span.split(" to "))
    assert varied.span(answer) == (low, high)


def turning(least: float, most: float) -> Callable[[Case, WhatIf], Any]:
    """Decides as the case does with a headwind between the two, else the other way."""
    given = recommend(case_from_mapping(demo("escape-thin")))
    other = replace(given.decision, verdict=Verdict.NO_GO)

    def decide(_case: Case, what_if: WhatIf) -> Any:
        same = least < what_if.headwind_kt < most
        return given if same else replace(given, decision=other)

    return decide


@pytest.mark.parametrize(
    ("least", "most", "flips_at"), [(-9.0, 4.0, 4.0), (-3.0, 8.0, -3.0), (-99.0, 30.0, 30.0)]
)
def test_of_two_flips_the_nearer_one_is_told(least: float, most: float, flips_at: float) -> None:
    given = recommend(case_from_mapping(demo("escape-thin")))
    assert given.decision.verdict is Verdict.GO_WITH_CAUTION
    found = {each.input: each for each in flip_points(given, turning(least, most)).found}
    assert found["diversion_headwind_kt"].flips_at == flips_at
