"""The accuracy of the model stands in the profile, in every answer and in the brief."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from decision.brief import ACCURACY_OF, ACCURACY_UNIT, WIDTH, brief
from decision.case import case_from_mapping
from decision.profile import load_profile, profile_ids
from decision.profile.load import read_profile
from decision.profile.types import AccuracyOf
from decision.rulebooks.rulebook import load_rulebook
from decision.rules.climb import gradient_short, gradient_within_error
from decision.rules.registry import Context
from tests.answer.told import told_of
from tests.case.builders import demo
from tests.changing import replace
from tests.profile.builders import file_with
from tests.rules.builders import AWAY, attempt


def answer() -> dict[str, Any]:
    return told_of(case_from_mapping(demo("clean")))


@pytest.mark.parametrize("name", profile_ids())
def test_a_profile_states_each_accuracy_once_with_what_it_rests_on(name: str) -> None:
    stated = load_profile(name).accuracy
    assert sorted(row.of for row in stated) == sorted(AccuracyOf)
    assert all(row.check and row.source for row in stated)


@pytest.mark.parametrize("name", profile_ids())
def test_degraded_figures_are_not_stated_better_than_sound_ones(name: str) -> None:
    within = {row.of: row.within for row in load_profile(name).accuracy}
    assert within[AccuracyOf.DEGRADED_FUEL] >= within[AccuracyOf.CLEAN_FUEL]
    assert within[AccuracyOf.CONTAMINATED_LANDING] >= within[AccuracyOf.DRY_LANDING]


@pytest.mark.parametrize("name", profile_ids())
@pytest.mark.parametrize(("share", "within"), [(0.98, True), (1.02, False)])
def test_the_error_that_a_profile_states_is_the_one_that_makes_a_gradient_doubtful(
    name: str, share: float, within: bool
) -> None:
    """Above and below the published 2.5 percent alike."""
    stated = {row.of: row.within for row in load_profile(name).accuracy}
    case = case_from_mapping(demo("clean"))
    aircraft = replace(case.aircraft, profile=load_profile(name))
    here = Context(case=replace(case, aircraft=aircraft), rulebook=load_rulebook("icao"))
    for side in (-1.0, 1.0):
        climbed = 2.5 + side * share * stated[AccuracyOf.CLIMB_GRADIENT]
        flown = attempt(
            climb=replace(AWAY, gradient_percent=climbed, ground_gradient_percent=climbed)
        )
        assert gradient_within_error(flown, here) is within
        assert gradient_short(flown, here) is (side < 0.0 and not within)


def test_the_answer_repeats_what_the_profile_states() -> None:
    assert [(row["of"], row["within"], row["unit"]) for row in answer()["accuracy"]] == [
        (row.of, row.within, row.of.unit) for row in load_profile("xtj150").accuracy
    ]


def test_the_brief_says_it_in_one_line() -> None:
    (line,) = (line for line in brief(answer()).splitlines() if line.startswith("Model error"))
    assert line == (
        "Model error: fuel 5 %, degraded 15 %, climb 0.6 pt, landing 10 %, slippery 20 %"
    )
    assert len(line) <= WIDTH


def test_the_brief_has_words_for_every_figure_and_unit() -> None:
    assert set(ACCURACY_OF) == set(AccuracyOf)
    assert set(ACCURACY_UNIT) == {of.unit for of in AccuracyOf}


def test_an_answer_stored_before_accuracy_was_stated_still_reads() -> None:
    stored = answer()
    del stored["accuracy"]
    assert "Model error" not in brief(stored)


def test_a_figure_stated_twice_or_not_at_all_is_told(tmp_path: Path) -> None:
    path = file_with(tmp_path, ('of = "degraded_fuel"', 'of = "clean_fuel"'))
    assert [fault.key for fault in read_profile(path).faults] == ["accuracy"]
