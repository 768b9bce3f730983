"""A caution where the approach at the alternate could not be missed: the climb is too weak."""

from __future__ import annotations

from typing import Any

import pytest

from decision.answer.cautions import cautions_told
from decision.decide.concerns import Concern, weak_climbs
from decision.flight.second_miss import LeftAfterMiss
from decision.recommend import recommend_mapping
from decision.systems import Weight
from tests.decide.builders import case_of
from tests.decide.by_hand import told

HEAVIER = Concern(code="SMOKE", words="Smoke.", weight=Weight.WARNING)
LIGHTER = Concern(code="NO_REPORT", at=("XAAA",), weight=Weight.INFO)


ENDS = {"27R": 270, "23": 230}  # of XKAL and XBRE


def left(gradient_percent: float | None, published_percent: float | None) -> LeftAfterMiss:
    return LeftAfterMiss(
        endurance_min=30.0,
        next_aerodrome=None,
        margin_kg=None,
        distance_unknown=(),
        gradient_percent=gradient_percent,
        published_gradient_percent=published_percent,
    )


def test_a_weak_climb_is_told_once_a_place_with_the_climb_rounded_down() -> None:
    ways = {"divert_now:XTOR": left(1.96, 2.5), "approach_then_divert:XTOR": left(1.90, 2.5)}
    (caution,) = cautions_told(weak_climbs(ways))
    assert (caution.code, caution.weight) == ("NO_CLIMB_THERE", Weight.CAUTION)
    assert (
        caution.text
        == "Missing the approach at XTOR too: climb 1.9 percent, asked for 2.5 percent."
    )


@pytest.mark.parametrize(
    ("climb", "asked"), [(2.5, 2.5), (3.0, 2.5), (None, 2.5), (1.0, None), (None, None)]
)
def test_a_climb_that_is_met_or_not_known_is_no_caution(
    climb: float | None, asked: float | None
) -> None:
    assert weak_climbs({"divert_now:XTOR": left(climb, asked)}) == ()


def test_it_stands_between_what_is_graver_and_what_is_not() -> None:
    found = cautions_told((LIGHTER, HEAVIER, *weak_climbs({"divert_now:XTOR": left(1.0, 2.5)})))
    assert [each.code for each in found] == ["SMOKE", "NO_CLIMB_THERE", "NO_REPORT"]


@pytest.mark.parametrize(
    ("name", "best"),
    [
        ("clean", ["approach_then_divert:XTOR", "approach_then_divert:XBRE"]),
        ("gear-stuck", ["divert_now:XTOR", "divert_now:XBRE"]),
    ],
)
def test_it_is_worked_out_for_the_best_two_and_not_for_the_others(
    name: str, best: list[str]
) -> None:
    answer = told(name)
    legal = [each["course"] for each in answer["courses"] if each["legal"]]
    with_figures = [each["course"] for each in answer["courses"] if each["after_miss_there"]]
    assert legal[:2] == with_figures == best
    assert len([each for each in legal if each.startswith(("approach_then", "divert_now"))]) > 2


def test_it_is_worked_out_for_the_course_to_take_where_others_rank_before_it() -> None:
    answer = told("engine-out-gradient")
    rank = next(
        each["rank"] for each in answer["courses"] if each["course"] == answer["action"]["course"]
    )
    with_figures = [each["rank"] for each in answer["courses"] if each["after_miss_there"]]
    assert rank > 2
    assert with_figures == [1, 2, rank]


def steep(percent: float) -> dict[str, Any]:
    """The demo flight with an engine out, its alternates asking for such a climb."""
    return told("engine-out-gradient", **steep_alternates(percent))


def steep_alternates(percent: float) -> dict[str, Any]:
    return {
        f"/alternates/{i}/{member}": value
        for i, (runway, bearing_deg) in enumerate(ENDS.items())
        for member, value in charted(percent, runway, bearing_deg).items()
    }


def charted(percent: float, runway: str, bearing_deg: int) -> dict[str, Any]:
    return {
        "elevation_ft": 400,
        "runways": [
            {"ident": runway, "true_bearing_deg": bearing_deg, "lda_m": 3000, "condition_code": 6}
        ],
        "approaches": [
            {
                "id": f"ILS {runway}",
                "runway": runway,
                "kind": "3D-B",
                "dh_ft": 200,
                "rvr_m": 550,
                "missed_gradient_percent": percent,
                "missed_altitude_ft": 4000,
            }
        ],
    }


@pytest.mark.parametrize(("percent", "warned"), [(2.5, False), (9.0, True)])
def test_an_alternate_that_asks_for_more_than_one_engine_climbs_is_told(
    percent: float, warned: bool
) -> None:
    answer = steep(percent)
    codes = [each["code"] for each in answer["cautions"]]
    assert ("NO_CLIMB_THERE" in codes) is warned


@pytest.mark.parametrize("percent", [2.5, 9.0])
def test_it_is_told_just_the_same_where_the_figures_of_courses_are_not(percent: float) -> None:
    changes = {**steep_alternates(percent), "/include": []}
    whole = steep(percent)
    short = recommend_mapping(case_of("engine-out-gradient", **changes))
    assert any(each["after_miss_there"] for each in whole["courses"])
    assert not any(each["flight"] for each in short["courses"])
    assert short["cautions"] == whole["cautions"]
