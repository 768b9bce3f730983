"""Runways that wind and length allow, and what the others cost an alternate."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.attempt import Attempt, Role
from decision.attempt.runway_wind import runway_wind
from decision.case import Runway
from decision.rules.finding import Outcome
from decision.rules.registry import Context
from decision.rules.weather import planning_minima_of
from decision.rules.wind import usable_runways
from decision.systems import Limit, LimitName
from tests.changing import replace
from tests.rules.builders import (
    PROCEDURE,
    RUNWAY,
    STOP,
    attempt,
    context,
    drawn,
    findings,
    seen,
    surface,
    wind,
)

OTHER = replace(RUNWAY, ident="18", true_bearing_deg=180.0)
ON_OTHER = replace(PROCEDURE, id="ILS 18", runway="18")


def landing_at(
    from_true_deg: float | None = 270.0,
    speed_kt: float = 8.0,
    *,
    runways: tuple[Runway, ...] = (RUNWAY, OTHER),
    code: int | None = 5,
    distance_m: float | None = 1200.0,
    **gust: Any,
) -> Attempt:
    """An attempt on runway 27R of a place with two crossing runways, in that wind."""
    blowing = wind(from_true_deg, speed_kt, **gust)
    weather = seen(wind=blowing, winds=(blowing,))
    at = attempt(role=Role.ALTERNATE, weather=weather, runway_condition=surface(code))
    place = replace(at.leg.aerodrome, runways=runways, approaches=(PROCEDURE, ON_OTHER))
    return replace(
        at,
        leg=replace(at.leg, aerodrome=place),
        wind=runway_wind(weather, true_bearing_deg=270.0, with_gusts=True),
        landing=None if distance_m is None else replace(STOP, distance_m=distance_m),
    )


def usable(at: Attempt, what: Context) -> frozenset[str]:
    """The runways that the rules find usable in the winds of this case."""
    return usable_runways(drawn(at, what), what)


BOTH = {"27R", "18"}


@pytest.mark.parametrize(
    ("at", "idents"),
    [
        (landing_at(), BOTH),
        (landing_at(runways=(RUNWAY, replace(OTHER, closed=True))), {"27R"}),
        (landing_at(270.0, 30.0), BOTH),
        (landing_at(270.0, 30.1), {"27R"}),
        (landing_at(180.0, 30.1), {"18"}),
        (landing_at(90.0, 10.0), BOTH),
        (landing_at(90.0, 10.1), {"18"}),
        (landing_at(0.0, 11.0), {"27R"}),
        (landing_at(None, 10.0), BOTH),
        (landing_at(None, 10.1), set()),
        (landing_at(270.0, 20.0, gust_kt=31.0, gust_counts=True), {"27R"}),
        (landing_at(270.0, 20.0, gust_kt=None), BOTH),
        (landing_at(270.0, 26.0, code=5), BOTH),
        (landing_at(270.0, 26.0, code=3), {"27R"}),
        (landing_at(270.0, 31.0, code=0), BOTH),
        (landing_at(distance_m=1700.0, runways=(RUNWAY, replace(OTHER, lda_m=1955.0))), BOTH),
        (landing_at(distance_m=1700.0, runways=(RUNWAY, replace(OTHER, lda_m=1954.9))), {"27R"}),
        (landing_at(distance_m=None, runways=(RUNWAY, replace(OTHER, lda_m=900.0))), BOTH),
        (landing_at(runways=(RUNWAY, replace(OTHER, lda_m=None, length_m=1200.0))), {"27R"}),
        (landing_at(runways=(RUNWAY, replace(OTHER, lda_m=None, length_m=3000.0))), BOTH),
        (landing_at(runways=(RUNWAY, replace(OTHER, lda_m=0.0, length_m=3000.0))), {"27R"}),
    ],
)
def test_only_a_runway_that_wind_and_length_allow_is_usable(at: Attempt, idents: set[str]) -> None:
    """Limits of the profile: crosswind 30 kt on code 5, tailwind 10 kt; landing factor 1.15."""
    assert usable(at, context()) == idents


def test_an_unknown_wind_leaves_the_runways_to_the_rule_on_wind() -> None:
    at = landing_at()
    blind = wind(None, None)
    at = replace(at, weather=replace(at.weather, wind=blind, winds=(blind,)))
    assert usable(at, context()) == BOTH


def test_a_failure_that_limits_the_crosswind_counts() -> None:
    at = landing_at(270.0, 20.0)
    weak = Limit(name=LimitName.MAX_CROSSWIND_KT, value=19.0, unit="kt", because="rudder")
    at = replace(at, capability=replace(at.capability, limits=(weak,)))
    assert usable(at, context()) == {"27R"}


@given(
    st.floats(0.0, 360.0),
    st.integers(0, 45),
    st.integers(1, 6),
    st.floats(800.0, 2500.0),
)
def test_the_runway_of_the_attempt_is_usable_when_no_rule_on_wind_or_length_fails(
    from_true_deg: float, speed_kt: int, code: int, distance_m: float
) -> None:
    at = landing_at(from_true_deg, float(speed_kt), code=code, distance_m=distance_m)
    there = context()
    broken = {finding.rule for finding in findings(at, there) if finding.outcome is Outcome.FAIL}
    assert ("27R" in usable(at, there)) == broken.isdisjoint({"WD-01", "WD-02", "LD-01"})


def test_two_navaids_need_two_runways_that_can_be_used() -> None:
    """[FAA-C055]: 200 ft and 800 m more with two facilities, 400 ft and 1600 m with one."""
    what = context("faa-121")
    both, one = (planning_minima_of(drawn(landing_at(270.0, kt), what), what) for kt in (8, 31))
    assert (both.ceiling_ft, both.visibility_m) == (400.0, 1350.0)
    assert (one.ceiling_ft, one.visibility_m) == (600.0, 2150.0)
    assert one.because == ("ILS 18: runway 18 is not usable",)


def test_a_runway_of_exactly_the_length_that_is_needed_is_long_enough() -> None:
    """1600 m x 1.25 is 2000 m to the last bit."""
    factor: dict[str, Any] = {"/policy/landing_factor": 1.25}
    wider = context(**factor)
    assert usable(landing_at(distance_m=1600.0), wider) == BOTH
    assert usable(landing_at(distance_m=1600.5), wider) == set()


def test_without_any_surface_only_the_failure_s_limit_on_crosswind_is_known() -> None:
    bare = replace(landing_at(270.0, 60.0), runway_condition=None)
    assert usable(bare, context()) == BOTH
    known = replace(bare, runway_condition=surface(None))
    assert usable(known, context()) == {"27R"}  # at its best the surface allows 35 kt


def test_a_gust_counts_where_the_aircraft_or_the_rulebook_says_so() -> None:
    gusty = landing_at(270.0, 20.0, gust_kt=40.0, gust_counts=False)
    assert usable(gusty, context()) == {"27R"}  # limits of the profile include gusts
    case = context().case
    profile = case.aircraft.profile
    mean = replace(profile, wind=replace(profile.wind, gust_included=False))
    left = replace(case, aircraft=replace(case.aircraft, profile=mean))
    assert usable(gusty, replace(context(), case=left)) == BOTH
    assert usable(gusty, replace(context("faa-121"), case=left)) == {"27R"}
