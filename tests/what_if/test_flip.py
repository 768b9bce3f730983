"""Flip points on a decision laid out by hand: the nearest value, and none that was not seen."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import pytest

from decision.case import Case, case_from_mapping
from decision.decide.decision import Decided, Verdict
from decision.flight.tried import WhatIf
from decision.recommend import Recommendation, decide_varied, recommend
from decision.what_if.flip import FlipPoint, flip_points
from decision.what_if.vary import INPUTS, Better
from tests.case.builders import REMOVED, demo, with_changes
from tests.changing import replace

GO, NO_GO, THIN = Verdict.GO, Verdict.NO_GO, Verdict.GO_WITH_CAUTION


@cache
def clean() -> Recommendation:
    """A flight of which everything is legal: GO with 3450 kg."""
    return recommend(case_from_mapping(demo("clean")))


def seen(verdict: Verdict) -> Decided:
    """A verdict without courses: no margin leads the search, it can only halve."""
    return replace(clean(), decision=replace(clean().decision, verdict=verdict), courses=())


def flip_of(name: str, decides: Callable[[float], Verdict]) -> FlipPoint:
    """The flip of fuel or headwind where only that decides."""

    def decide(case: Case, what_if: WhatIf) -> Decided:
        if name == "fuel_on_board_kg":
            return seen(decides(case.fuel.on_board_kg) if what_if == WhatIf() else GO)
        return seen(decides(what_if.headwind_kt))

    return next(each for each in flip_points(clean(), decide).found if each.input == name)


@pytest.mark.parametrize(
    ("decides", "flips_at"),
    [
        (lambda kg: GO if kg >= 3000 else NO_GO, 2990.0),
        (lambda kg: GO if kg > 0 else NO_GO, 0.0),
        (lambda kg: GO if kg <= 4000 else NO_GO, None),  # more fuel is not tried: never worse
        (lambda _kg: GO, None),
    ],
)
def test_less_of_what_is_good_is_tried_and_the_flip_found_to_one_step(
    decides: Callable[[float], Verdict], flips_at: float | None
) -> None:
    found = flip_of("fuel_on_board_kg", decides)
    assert found.flips_at == flips_at
    assert found.to_verdict is (None if flips_at is None else NO_GO)


@pytest.mark.parametrize(
    ("decides", "flips_at"),
    [
        (lambda kt: GO if -30 <= kt <= 20 else NO_GO, 21.0),
        (lambda kt: GO if -10 <= kt <= 20 else NO_GO, -11.0),
        (lambda kt: GO if kt <= 99 else NO_GO, 100.0),
        (lambda kt: GO if kt in {-60.0, 0.0, 100.0} else NO_GO, None),  # the ends agree
    ],
)
def test_both_ways_are_tried_where_either_can_be_better_and_the_nearer_flip_counts(
    decides: Callable[[float], Verdict], flips_at: float | None
) -> None:
    assert flip_of("diversion_headwind_kt", decides).flips_at == flips_at


def test_where_the_present_value_everywhere_is_another_case_there_is_no_flip() -> None:
    """As where one alternate is in fog and another is not: no one value stands for both."""

    def decide(_case: Case, what_if: WhatIf) -> Decided:
        return seen(GO if what_if.alternates.visibility_m is None else NO_GO)

    found = {each.input: each for each in flip_points(clean(), decide).found}
    assert found["alternate_visibility_m"].flips_at is None


@pytest.mark.parametrize("name", ["clean", "escape-thin", "gear-stuck", "wait-for-fog", "choice"])
def test_a_flip_point_is_the_first_value_that_decides_otherwise(name: str) -> None:
    """Against every step between the present value and the flip, decided one by one."""
    given = recommend(case_from_mapping(demo(name)))
    pairs = zip(flip_points(given, decide_varied).found, INPUTS, strict=True)
    flipping = [(found, varied) for found, varied in pairs if found.flips_at is not None]
    assert flipping
    for found, varied in flipping:
        assert found.present is not None
        assert found.flips_at is not None
        steps = round((found.flips_at - found.present) / varied.step)
        way = math.copysign(varied.step, steps)
        between = range(1, abs(steps), max(1, abs(steps) // MOST_TRIED))
        values = [found.present + step * way for step in (*between, abs(steps) - 1)]
        case = given.situation.case
        seen_at = {decide_varied(*varied.tried(case, value)).verdict for value in values}
        assert seen_at == {given.decision.verdict}, found.input
        assert decide_varied(*varied.tried(case, found.flips_at)).verdict is found.to_verdict


@pytest.mark.parametrize("name", ["clean", "gear-stuck", "escape-thin"])
def test_the_way_that_is_not_tried_never_decides_otherwise(name: str) -> None:
    given = recommend(case_from_mapping(demo(name)))
    case, verdict = given.situation.case, given.decision.verdict
    for varied in INPUTS:
        present = varied.present(given)
        if varied.better is not Better.HIGHER or present is None or verdict is THIN:
            continue
        low, high = varied.span(given)
        end = high if verdict is GO else low
        seen_on_the_way = {
            decide_varied(*varied.tried(case, present + (end - present) * part / 8)).verdict
            for part in range(1, 9)
        }
        assert seen_on_the_way == {verdict}, varied.name


MOST_TRIED = 12


def test_guesses_by_margins_save_most_of_the_halving() -> None:
    asked = 0

    def counting(case: Case, what_if: WhatIf) -> Decided:
        nonlocal asked
        asked += 1
        return decide_varied(case, what_if)

    found = flip_points(clean(), counting).found
    assert sum(each.flips_at is not None for each in found) >= 6
    assert asked <= 60  # halving alone asks more than 90


def test_an_input_that_is_not_known_has_no_flip() -> None:
    body = with_changes(demo("clean"), {"/weather/reports": [], "/include": ["flip_points"]})
    given = recommend(case_from_mapping(body))
    found = {
        each.input: each for each in flip_points(given, lambda _case, _what_if: seen(GO)).found
    }
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
    found = {
        each.input: each for each in flip_points(given, lambda _case, _what_if: seen(GO)).found
    }
    assert found["destination_ceiling_ft"].present == 5000.0


@pytest.mark.parametrize(
    ("changes", "unknown"),
    [
        ({"/alternates": []}, {"alternate_visibility_m", "alternate_ceiling_ft"}),
        (
            {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED},
            {
                "destination_visibility_m",
                "destination_ceiling_ft",
                "destination_condition_code",
                "destination_temperature_degc",
            },
        ),
    ],
)
def test_without_a_place_there_is_nothing_to_vary(
    changes: dict[str, object], unknown: set[str]
) -> None:
    given = recommend(case_from_mapping(with_changes(demo("clean"), changes)))
    found = flip_points(given, lambda _case, _what_if: seen(given.decision.verdict)).found
    assert {each.input for each in found if each.present is None} == unknown


def test_the_approach_now_is_varied_and_not_the_one_after_a_hold() -> None:
    given = recommend(case_from_mapping(demo("wait-for-fog")))
    assert given.decision.basis == "WAIT"
    found = {
        each.input: each for each in flip_points(given, lambda _case, _what_if: seen(NO_GO)).found
    }
    assert found["destination_visibility_m"].present == 250.0
