"""Variations of one answer share what was drawn up and judged, and decide as if they had not."""

from __future__ import annotations

from functools import partial
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.case import Case, case_from_mapping
from decision.decide.attempts import JudgedAttempts
from decision.decide.decision import Decided
from decision.errors import InvalidCase
from decision.flight.situation import varied_situation
from decision.flight.tried import AS_IT_IS, WhatIf
from decision.recommend import Recommendation, decide_varied, recommend
from decision.what_if.flip import flip_points
from decision.what_if.vary import INPUTS
from tests.case.builders import NAMES, demo, with_changes
from tests.changing import replace
from tests.recommend.generated import flights


def same(one: Decided, other: Decided) -> bool:
    """The same verdict by the same courses with the same findings."""
    return one.verdict is other.verdict and one.courses == other.courses


def tried(answer: Recommendation, share: float) -> list[tuple[Case, WhatIf]]:
    """Every input at one place of its range."""
    found = []
    for varied in INPUTS:
        low, high = varied.span(answer)
        found.append(varied.tried(answer.situation.case, low + share * (high - low)))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_a_variation_is_decided_as_a_case_of_its_own(name: str) -> None:
    answer, attempts = recommend(case_from_mapping(demo(name))), JudgedAttempts()
    for share in (0.3, 0.7):
        variations = tried(answer, share)
        assert len(variations) == len(INPUTS)
        for case, what_if in variations:
            shared = decide_varied(case, what_if, like=answer.situation, attempts=attempts)
            assert same(shared, decide_varied(case, what_if))


@given(body=flights(), share=st.floats(0.05, 0.95))
@settings(max_examples=15)  # of some twenty decisions each
def test_with_any_failures_and_weather_too(body: dict[str, Any], share: float) -> None:
    try:
        answer = recommend(case_from_mapping(body))
    except InvalidCase:
        return
    attempts = JudgedAttempts()
    for case, what_if in tried(answer, share):
        shared = decide_varied(case, what_if, like=answer.situation, attempts=attempts)
        assert same(shared, decide_varied(case, what_if))


@pytest.mark.parametrize("name", NAMES[::3])  # some sixty decisions each, twice
def test_flip_points_are_those_of_decisions_that_share_nothing(name: str) -> None:
    answer = recommend(case_from_mapping(demo(name)))
    sharing = partial(decide_varied, like=answer.situation, attempts=JudgedAttempts())
    assert flip_points(answer, sharing) == flip_points(answer, decide_varied)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("policy", {"/policy/landing_factor": 1.3}),
        ("aircraft", {"/aircraft/anti_ice": True}),
        ("failures", {"/failures": [{"id": "anti-skid"}]}),
        ("approvals", {"/approvals": ["LVO"]}),
        (
            "weather",
            {"/weather/reports/0": "METAR XKAL 140600Z 27030G45KT 1500 +TSRA BKN004 08/07 Q1013"},
        ),
    ],
)
def test_another_case_starts_afresh(field: str, changes: dict[str, Any]) -> None:
    """Whatever moves but fuel, mass and hold, nothing that was kept is used for it."""
    answer = recommend(case_from_mapping(demo("gear-stuck")))
    asked = case_from_mapping(with_changes(demo("gear-stuck"), changes))
    other: Case = replace(answer.situation.case, **{field: getattr(asked, field)})
    assert other != answer.situation.case
    assert varied_situation(answer.situation, other, AS_IT_IS) is None
    attempts = JudgedAttempts()
    decide_varied(answer.situation.case, AS_IT_IS, like=answer.situation, attempts=attempts)
    shared = decide_varied(other, AS_IT_IS, like=answer.situation, attempts=attempts)
    assert same(shared, decide_varied(other, AS_IT_IS))
