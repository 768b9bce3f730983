"""WeatherMet of a committed landing at their edges, and where a rulebook has none of them."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.attempt import Role
from decision.course import CourseKind
from decision.rulebooks.rulebook import load_rulebook
from decision.rules import commit
from decision.rules.finding import Judgement, Outcome
from decision.rules.registry import Context
from decision.weather.readings import Hazard, HazardWeight
from tests.changing import replace
from tests.rules.builders import T0, attempt, context, course, finding, ledger, seen, visibility

BOOKS = ("icao", "easa", "faa-121")
CHECKS = {rule.code: rule.check for rule in commit.RULES}


def judged(code: str, here: Any, asked: Context) -> Judgement:
    return finding(code, here, asked).judgement


def committed(**changes: Any) -> Any:
    return attempt(role=Role.COMMITTED, **changes)


@pytest.mark.parametrize("rulebook", BOOKS)
def test_a_runway_that_stays_free_is_asked_for_where_the_rulebook_does(rulebook: str) -> None:
    here = committed()
    place = replace(here.leg.aerodrome, separate_runways=False)
    here = replace(here, leg=replace(here.leg, aerodrome=place))
    asked = load_rulebook(rulebook).flag("commit_separate_runways")
    expected = Outcome.FAIL if asked else Outcome.NOT_APPLICABLE
    assert judged("CM-04", here, context(rulebook)).outcome is expected


@pytest.mark.parametrize("rulebook", BOOKS)
def test_visibility_is_a_multiple_of_the_minimum_and_a_remark_on_less_is_a_doubt(
    rulebook: str,
) -> None:
    asked = context(rulebook)
    ample = visibility(9000.0)
    assert judged("CM-02", committed(weather=seen(visibility=ample)), asked).outcome is Outcome.PASS
    remarked = replace(ample, possible_metres=600.0)
    found = judged("CM-02", committed(weather=seen(visibility=remarked)), asked)
    assert found.outcome in (Outcome.UNKNOWN, Outcome.FAIL)
    little = seen(visibility=visibility(700.0))
    assert judged("CM-02", committed(weather=little), asked).outcome is Outcome.FAIL


def test_without_a_described_approach_the_weather_for_it_is_unknown() -> None:
    bare = committed(approach=None)
    for code in ("CM-01", "CM-02"):
        assert judged(code, bare, context()).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("changes", "outcome"),
    [
        ({"again": ledger(1200.0)}, Outcome.PASS),
        ({"again": ledger(1199.0)}, Outcome.FAIL),
        ({"again": ledger(1200.0), "unknown": ("rate of the fuel leak",)}, Outcome.UNKNOWN),
        ({"again": ledger(1199.0), "unknown": ("rate of the fuel leak",)}, Outcome.FAIL),
        ({"ledger": None, "unknown": ("distance",)}, Outcome.UNKNOWN),
        ({"ledger": None, "limited_by": "no engine"}, Outcome.FAIL),
    ],
)
def test_fuel_is_for_a_miss_and_a_second_approach_above_the_reserve(
    changes: dict[str, Any], outcome: Outcome
) -> None:
    here = course(kind=CourseKind.COMMIT_TO_LAND, **changes)
    assert commit.second_approach_fuel(here, context()).outcome is outcome


@pytest.mark.parametrize(
    ("code", "row", "silent"),
    [("CM-06", "commit_with_hazard_warning", True), ("CM-04", "commit_separate_runways", False)],
)
def test_a_rulebook_without_such_a_condition_does_not_ask_for_it(
    code: str, row: str, silent: bool
) -> None:
    asked = context()
    rows = {**asked.rulebook.rows, row: replace(asked.rulebook.row(row), value=silent)}
    other = replace(asked, rulebook=replace(asked.rulebook, rows=rows, digest="another"))
    assert judged(code, committed(), other).outcome is Outcome.NOT_APPLICABLE


@pytest.mark.parametrize(
    ("weight", "outcome"),
    [
        (HazardWeight.BAR, Outcome.FAIL),
        (HazardWeight.WARNING, Outcome.FAIL),
        (HazardWeight.CAUTION, Outcome.PASS),
    ],
)
def test_hazardous_weather_of_weight_stands_against_committing(
    weight: HazardWeight, outcome: Outcome
) -> None:
    hail = Hazard(
        phenomenon="hail",
        words="hail",
        weight=weight,
        kind="METAR",
        text="GR",
        from_at=T0,
        until_at=None,
    )
    here = committed(weather=seen(hazards=(hail,)))
    assert judged("CM-06", here, context()).outcome is outcome
