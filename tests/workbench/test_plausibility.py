"""Gates of a profile: what a real aeroplane does passes, each kind of nonsense is caught."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from decision.citations import sources
from decision.profile import Profile, load_profile, profile_ids
from decision.workbench.plausibility import GATES, Gate, GateFinding, check_profile
from decision.workbench.plausibility.certification import (
    APPROACH_CLIMB_PERCENT,
    SECOND_SEGMENT_PERCENT,
)
from decision.workbench.plausibility.operator_tables import OPERATOR_TABLES
from tests.profile.builders import altered, with_detent

IMPLAUSIBLE: dict[str, Callable[[], Profile]] = {
    "masses": lambda: altered("masses", mlw_kg=62_000.0),
    "approach climb": lambda: altered("engine", static_thrust_n=80_000.0),
    "landing climb": lambda: altered("engine", static_thrust_n=45_000.0),
    "second segment": lambda: altered("masses", mtow_kg=80_000.0),
    "stall speeds": lambda: with_detent("12", clmax=1.45),
    "approach stall": lambda: with_detent("34", clmax=3.2),
    "flap speeds": lambda: with_detent("34", vfe_kt=140.0),
    "gear speed": lambda: altered("limits", vle_kt=200.0),
    "landing": lambda: altered("brakes", dry_friction=0.04),
    "brake energy": lambda: altered("brakes", energy_limit_mj=100.0),
    "tyre speed": lambda: altered("tyres", speed_limit_kt=120.0),
    "holding flow": lambda: altered("engine", takeoff_fuel_flow_kg_per_s=0.108),
    "lift over drag": lambda: altered("polar", cd0=0.0005),
    "gear drag": lambda: altered("gear", flaps_up_cd=0.0168),
    "ceiling": lambda: altered("engine_out", windmill_cd=0.04),
    "thrust over weight": lambda: altered("engine", static_thrust_n=11_000.0),
    "wing loading": lambda: altered("wing", area_m2=12.5),
    "speed ratios": lambda: altered("speeds", approach_ratio=1.13),
    "speed limits": lambda: altered("limits", vmo_kt=240.0),
    "gear-down holding": lambda: altered("gear", flaps_up_cd=0.309),
    "specific range": lambda: altered("engine", takeoff_fuel_flow_kg_per_s=0.4),
    "endurance": lambda: altered("masses", max_fuel_kg=1_850.0),
    "take-off flow": lambda: altered("engine", fuel_linear=0.0748),
}


OF_ANY = [each.id for each in GATES if each not in OPERATOR_TABLES]  # those: test_operator_tables


def gate(name: str) -> Gate:
    return next(each for each in GATES if each.id == name)


@pytest.mark.parametrize("profile_id", profile_ids())
@pytest.mark.parametrize("name", OF_ANY)
def test_every_aircraft_of_the_product_passes_every_gate(profile_id: str, name: str) -> None:
    findings = gate(name).findings(load_profile(profile_id))
    assert findings
    assert [f for f in findings if not f.passed] == []


@pytest.mark.parametrize("name", OF_ANY)
def test_every_gate_has_an_aircraft_that_it_stops(name: str) -> None:
    assert any(not finding.passed for finding in gate(name).findings(IMPLAUSIBLE[name]()))


def test_no_gate_is_left_out() -> None:
    assert {f.gate for f in check_profile(load_profile("xtj150"))} == set(IMPLAUSIBLE)
    assert set(IMPLAUSIBLE) == set(OF_ANY)
    assert len({each.id for each in GATES}) == len(GATES)


@pytest.mark.parametrize("each", GATES, ids=lambda each: each.id)
def test_limits_come_from_the_bibliography_or_the_profile_itself(each: Gate) -> None:
    assert each.source == "the profile" or each.source.split()[0] in sources()


@pytest.mark.parametrize(
    ("name", "profile", "value", "rounding"),
    [
        pytest.param("approach climb", "xtj150", 4.36, 0.02, id="approach climb"),
        pytest.param("second segment", "xtj150", 2.51, 0.02, id="second segment"),
        pytest.param("approach stall", "xtj150", 1.059, 0.0005, id="stall ratio"),
        pytest.param("lift over drag", "xtj150", 17.1, 0.05, id="lift over drag"),
        pytest.param("gear-down holding", "xtj150", 1.36, 0.01, id="gear-down holding"),
    ],
)
def test_gates_work_out_the_stated_figures(
    name: str, profile: str, value: float, rounding: float
) -> None:
    (finding,) = gate(name).findings(load_profile(profile))
    assert finding.value == pytest.approx(value, abs=rounding)


def test_climb_minima_rise_with_the_number_of_engines() -> None:
    assert list(APPROACH_CLIMB_PERCENT) == list(SECOND_SEGMENT_PERCENT) == [2, 3, 4]
    trijet = altered("engine", count=3)
    (finding,) = gate("second segment").findings(trijet)
    assert finding.low == 2.7


def test_a_gate_that_cannot_be_worked_out_is_not_passed() -> None:
    heavy = altered("masses", mlw_kg=90_000.0)  # above its own take-off mass
    (finding,) = gate("approach climb").findings(heavy)
    assert finding.value is None
    assert not finding.passed
    assert "mass_kg is 90000" in finding.problem


def test_an_aircraft_that_cannot_climb_has_no_ceiling_and_a_reason() -> None:
    every, one = gate("ceiling").findings(altered("engine", static_thrust_n=50_000.0))
    assert every.problem == ""
    assert not every.passed
    assert one.value is None
    assert one.problem == "it does not even climb at sea level"


def test_a_landing_that_never_stops_is_not_passed_and_says_why() -> None:
    findings = gate("landing").findings(altered("brakes", dry_friction=0.0, rolling_friction=0.005))
    assert len(findings) == 6
    assert all(finding.value is None and "does not stop" in finding.problem for finding in findings)


@pytest.mark.parametrize(
    ("value", "low", "high", "passed"),
    [
        (2.0, 1.0, 3.0, True),
        (1.0, 1.0, None, True),
        (3.0, None, 3.0, True),
        (0.9, 1.0, None, False),
        (3.1, None, 3.0, False),
        (None, None, None, False),
        (math.nan, None, None, False),
    ],
)
def test_a_figure_passes_within_its_limits_and_only_if_it_is_known(
    value: float | None, low: float | None, high: float | None, passed: bool
) -> None:
    finding = GateFinding(gate="g", what="w", value=value, low=low, high=high, unit="", source="s")
    assert finding.passed is passed
