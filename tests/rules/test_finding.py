"""Findings and their sentences: margins positive for room, rounded down, never typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.rules.combine import (
    at_least,
    at_most,
    doubtful,
    holds,
    not_applicable,
    unknown,
    worst_of,
)
from decision.rules.finding import Judgement, Outcome, shown, shown_down

FIGURES = st.floats(-1e5, 1e5)


@pytest.mark.parametrize(
    ("value", "limit", "outcome", "margin"),
    [
        pytest.param(900.0, 1000.0, Outcome.FAIL, -100.0, id="below"),
        pytest.param(1000.0, 1000.0, Outcome.PASS, 0.0, id="at"),
        pytest.param(1100.0, 1000.0, Outcome.PASS, 100.0, id="above"),
    ],
)
def test_a_minimum_is_met_at_its_figure(
    value: float, limit: float, outcome: Outcome, margin: float
) -> None:
    judged = at_least("fuel", value, limit, unit="kg")
    assert (judged.outcome, judged.margin) == (outcome, margin)


@pytest.mark.parametrize(
    ("value", "outcome", "margin"),
    [
        pytest.param(9.0, Outcome.PASS, 1.0, id="below"),
        pytest.param(10.0, Outcome.PASS, 0.0, id="at"),
        pytest.param(11.0, Outcome.FAIL, -1.0, id="above"),
    ],
)
def test_a_maximum_is_kept_at_its_figure(value: float, outcome: Outcome, margin: float) -> None:
    judged = at_most("tailwind", value, 10.0, unit="kt")
    assert (judged.outcome, judged.margin) == (outcome, margin)


@pytest.mark.parametrize(("value", "limit"), [(None, 1.0), (1.0, None), (None, None)])
def test_a_missing_figure_is_unknown_and_has_no_margin(
    value: float | None, limit: float | None
) -> None:
    judged = at_least("fuel", value, limit, unit="kg", missing="no gauge")
    assert judged.outcome is Outcome.UNKNOWN
    assert judged.margin is None
    assert "no gauge" in judged.text


def test_the_sentence_of_a_failure_says_by_how_much() -> None:
    judged = at_least("fuel on landing", 1074.0, 1180.0, unit="kg")
    assert judged.text == "fuel on landing 1070 kg is 110 kg below the minimum of 1180 kg"


def test_the_sentence_of_a_pass_says_how_much_room_is_left() -> None:
    judged = at_most("landing distance", 1322.0, 1650.0, unit="m")
    assert judged.text == "landing distance 1330 m, maximum 1650 m: margin 320 m"


@given(FIGURES, FIGURES)
def test_room_and_outcome_never_disagree(value: float, limit: float) -> None:
    for judged in (at_least("x", value, limit, unit="kg"), at_most("x", value, limit, unit="kg")):
        assert judged.margin is not None
        assert (judged.outcome is Outcome.PASS) == (judged.margin >= 0)


@given(st.floats(-1e4, 1e4), st.sampled_from(["kg", "m", "percent", "min", "kt", "unheard of"]))
def test_a_margin_in_text_is_never_better_than_the_margin(value: float, unit: str) -> None:
    printed = float(shown_down(value, unit).split()[0])
    assert printed <= value + 1e-6


def test_figures_are_shown_to_what_the_model_can_tell() -> None:
    assert shown(1234.0, "kg") == "1230 kg"
    assert shown(2.46, "percent") == "2.5 percent"
    assert shown_down(2.49, "percent") == "2.4 percent"
    assert shown_down(0.3, "percent") == "0.3 percent"
    assert shown_down(-104.0, "kg") == "-110 kg"


@pytest.mark.parametrize(
    ("condition", "outcome", "text"),
    [(True, Outcome.PASS, "y"), (False, Outcome.FAIL, "n"), (None, Outcome.UNKNOWN, "u")],
)
def test_a_question_has_a_sentence_for_each_answer(
    condition: bool | None, outcome: Outcome, text: str
) -> None:
    judged = holds(condition, yes="y", no="n", unknown="u")
    assert (judged.outcome, judged.text) == (outcome, text)


def test_a_pass_on_an_incomplete_reading_is_unknown_and_a_failure_stays() -> None:
    passed, failed = at_least("x", 2, 1, unit="m"), at_least("x", 1, 2, unit="m")
    assert doubtful(passed, "a group was not read").outcome is Outcome.UNKNOWN
    assert doubtful(passed, None) is passed
    assert doubtful(failed, "a group was not read") is failed


@given(st.lists(st.sampled_from(Outcome), min_size=1, max_size=5))
def test_the_worst_outcome_decides_for_the_whole(outcomes: list[Outcome]) -> None:
    worst = worst_of(Judgement(outcome=each, what="") for each in outcomes).outcome
    for bad in (Outcome.FAIL, Outcome.UNKNOWN, Outcome.PASS, Outcome.NOT_APPLICABLE):
        if bad in outcomes:
            assert worst is bad
            break


def test_what_cannot_be_judged_says_why() -> None:
    assert not_applicable("no miss here").outcome is Outcome.NOT_APPLICABLE
    assert unknown("no report").text == "no report"
