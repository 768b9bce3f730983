"""Flip points on a decision laid out by hand: the nearest value, and none that was not seen."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from decision.case import Case, case_from_mapping
from decision.courses.what_if import WhatIf
from decision.recommend import recommend
from decision.recommend.answer import Verdict
from decision.recommend.flip import FlipPoint, flip_points
from tests.case.builders import REMOVED, demo, with_changes

GO, NO_GO = Verdict.GO, Verdict.NO_GO


def fuel_flip(decides: Callable[[float], Verdict], fuel_kg: int = 3450) -> FlipPoint:
    body = with_changes(demo("clean"), {"/fuel/on_board_kg": fuel_kg})
    given = recommend(case_from_mapping(body))

    def decide(case: Case, what_if: WhatIf) -> Verdict:
        return decides(case.fuel.on_board_kg) if what_if == WhatIf() else given.decision.verdict

    return flip_points(given, decide)[0]


@pytest.mark.parametrize(
    ("decides", "flips_at"),
    [
        (lambda kg: GO if kg >= 3000 else NO_GO, 2990.0),
        (lambda kg: GO if kg <= 4000 else NO_GO, 4010.0),
        (lambda kg: GO if 3400 <= kg <= 9000 else NO_GO, 3390.0),  # two flips: the nearer
        (lambda kg: GO if 1000 <= kg <= 3500 else NO_GO, 3510.0),
        (lambda _kg: GO, None),
        (lambda kg: GO if kg in (0.0, 20_000.0) else NO_GO, None),  # the ends agree
    ],
)
def test_the_nearest_flip_is_found_to_one_step(
    decides: Callable[[float], Verdict], flips_at: float | None
) -> None:
    found = fuel_flip(decides)
    assert found.flips_at == flips_at
    assert found.to_verdict is (None if flips_at is None else NO_GO)


def test_a_present_value_that_decides_otherwise_when_tried_gives_no_flip() -> None:
    """As where one alternate is in fog and another is not: no one value stands for both."""
    assert fuel_flip(lambda kg: NO_GO if kg > 1000 else GO).flips_at is None


def test_an_input_that_is_not_known_has_no_flip() -> None:
    body = with_changes(demo("clean"), {"/weather/reports": [], "/include": ["flip_points"]})
    given = recommend(case_from_mapping(body))
    found = {each.input: each for each in flip_points(given, lambda _case, _what_if: GO)}
    for name in (
        "destination_visibility_m",
        "destination_ceiling_ft",
        "alternate_visibility_m",
        "alternate_ceiling_ft",
        "destination_condition_code",
    ):
        assert found[name].present is None
        assert found[name].flips_at is None


def test_no_ceiling_counts_as_one_above_every_minimum() -> None:
    given = recommend(case_from_mapping(demo("choice")))
    found = {each.input: each for each in flip_points(given, lambda _case, _what_if: GO)}
    assert found["destination_ceiling_ft"].present == 5000.0


@pytest.mark.parametrize(
    ("changes", "unknown"),
    [
        ({"/alternates": []}, {"alternate_visibility_m", "alternate_ceiling_ft"}),
        (
            {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED},
            {"destination_visibility_m", "destination_ceiling_ft", "destination_condition_code"},
        ),
    ],
)
def test_without_a_place_there_is_nothing_to_vary(
    changes: dict[str, object], unknown: set[str]
) -> None:
    given = recommend(case_from_mapping(with_changes(demo("clean"), changes)))
    found = flip_points(given, lambda _case, _what_if: given.decision.verdict)
    assert {each.input for each in found if each.present is None} == unknown


def test_the_approach_now_is_varied_and_not_the_one_after_a_hold() -> None:
    given = recommend(case_from_mapping(demo("wait-for-fog")))
    assert given.decision.basis == "WAIT"
    found = {each.input: each for each in flip_points(given, lambda _case, _what_if: NO_GO)}
    assert found["destination_visibility_m"].present == 250.0
