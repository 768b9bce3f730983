"""A row says what the whole answer says, in figures, and is made with less."""

from __future__ import annotations

import cProfile
import pstats
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping, recommend_row
from tests.case.builders import NAMES, demo

SAME = ("flight_id", "as_of", "verdict", "basis", "action", "deadline", "fuel_state", "ways_out")


@pytest.mark.parametrize("name", NAMES)
def test_a_row_says_what_the_answer_says(name: str) -> None:
    case = case_from_mapping(demo(name))
    row, answer = recommend_row(case), recommend_mapping(case)
    assert {each: row[each] for each in SAME} == {each: answer[each] for each in SAME}
    assert row["rulebook"] == answer["provenance"]["rulebook"]["id"]
    assert [(each["course"], each["legal"]) for each in row["margins"]] == [
        (each["course"], each["legal"]) for each in answer["courses"]
    ]
    for margin, course in zip(row["margins"], answer["courses"], strict=True):
        fuel = course["fuel"] or {"margin_kg": None, "margin_p95_kg": None}
        assert margin["margin_kg"] == fuel["margin_kg"]
        if course["fuel"] is not None:
            assert margin["margin_p95_kg"] == fuel["margin_p95_kg"]


def calls_of(verb: Any, mass_kg: float) -> int:
    """Calls of functions in one decision; no other has that mass."""
    body = demo("escape-thin") | {"include": [], "compare_rulebooks": False}
    body["aircraft"] = {**body["aircraft"], "mass_kg": mass_kg}
    case, profile = case_from_mapping(body), cProfile.Profile()
    profile.runcall(verb, case)
    stats: Any = pstats.Stats(profile)
    return int(stats.total_calls)


def test_a_row_takes_four_fifths_of_an_answer_at_most() -> None:
    mass_kg = float(demo("escape-thin")["aircraft"]["mass_kg"])
    calls_of(recommend_mapping, mass_kg + 0.1371)  # what is read once for all cases
    whole, row = (
        calls_of(verb, mass_kg + more_kg)
        for verb, more_kg in ((recommend_mapping, 0.2371), (recommend_row, 0.3371))
    )
    assert row <= 0.8 * whole
