"""Minima below category I after failures."""

from __future__ import annotations

from typing import Any

import pytest

from decision.profile.types import LowVisibility
from decision.rules.finding import Finding, Outcome
from decision.rules.row import Breach
from decision.systems import assess
from tests.changing import replace
from tests.rules.builders import PROCEDURE, attempt, context, finding

CATEGORY_II = replace(PROCEDURE, id="ILS II", dh_ft=100.0, rvr_m=300.0)


def found(*failures: dict[str, Any], one_engine: LowVisibility | None = None) -> Finding:
    """The rule on a procedure of category II, the crew approved for it."""
    reported: dict[str, Any] = {"/failures": list(failures), "/approvals": ["LVO"]}
    what = context(**reported)
    aircraft = what.case.aircraft
    if one_engine is not None:
        approach = replace(aircraft.profile.approach, low_visibility_one_engine=one_engine)
        aircraft = replace(aircraft, profile=replace(aircraft.profile, approach=approach))
        what = replace(what, case=replace(what.case, aircraft=aircraft))
    left = assess(aircraft.profile, what.case.failures, gear=aircraft.gear, flap="0", slats=None)
    at = attempt(approach=CATEGORY_II, capability=left)
    return finding("AP-03", at, what)


@pytest.mark.parametrize(
    ("failure", "lost"),
    [
        ({"id": "engine-1"}, "an engine"),
        ({"id": "radio-altimeter"}, "RADALT"),
        ({"id": "autopilot"}, "AUTOPILOT"),
        ({"id": "flaps-jammed", "detent": "12"}, "landing flap 34"),
    ],
)
def test_what_is_lost_is_named_and_bars_the_minima(failure: dict[str, Any], lost: str) -> None:
    finding = found(failure)
    assert (finding.outcome, finding.breach) == (Outcome.FAIL, Breach.BELOW_MINIMA)
    assert lost in finding.text


def test_a_failure_that_such_minima_do_not_need_bars_nothing() -> None:
    assert found({"id": "anti-skid"}).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("stated", "outcome"),
    [
        (LowVisibility.USABLE, Outcome.PASS),
        (LowVisibility.NOT_USABLE, Outcome.FAIL),
        (LowVisibility.NOT_STATED, Outcome.UNKNOWN),
    ],
)
def test_one_engine_is_what_the_profile_says(stated: LowVisibility, outcome: Outcome) -> None:
    assert found({"id": "engine-1"}, one_engine=stated).outcome is outcome


def test_what_else_is_lost_counts_whatever_the_profile_says_of_engines() -> None:
    both = found({"id": "engine-1"}, {"id": "autopilot"}, one_engine=LowVisibility.NOT_STATED)
    assert both.outcome is Outcome.FAIL
