"""Urgent courses flown for time: against arithmetic from published speeds, within the reserve."""

from __future__ import annotations

import math
from typing import Any

import openap
import pytest

from decision.course import Course
from decision.performance import Configuration, Objective, clean, uniform_air
from decision.profile import load_profile
from tests.changing import replace
from tests.decide.builders import courses, situation
from tests.physics.outcomes import fly_diversion, fly_run_in

XTJ = load_profile("xtj150")
SMOKE: dict[str, Any] = {"/failures": [{"id": "smoke"}], "/fuel/on_board_kg": 5_000}
NOW = "divert_now:XTOR"
AWAY = "approach_then_divert:XTOR"


def fly(distance_nm: float, objective: Objective, **changes: Any) -> Any:
    asked: dict[str, Any] = {
        "configuration": clean(XTJ),
        "mass_kg": 60_000.0,
        "distance_nm": distance_nm,
        "start_pressure_altitude_ft": 9_000.0,
        "end_pressure_altitude_ft": 1_500.0,
        "objective": objective,
    }
    return fly_diversion(XTJ, **(asked | changes))


def true_kt(cas_kt: float, level_ft: float) -> float:
    """True airspeed in standard air by an open library [OPENAP]."""
    knot = 1852.0 / 3600.0
    return float(openap.aero.cas2tas(cas_kt * knot, level_ft * 0.3048)) / knot


@pytest.mark.parametrize("distance_nm", [60.0, 90.0, 125.0])
def test_time_at_vmo_is_what_arithmetic_makes_of_it(distance_nm: float) -> None:
    """From 9000 ft, where the 250 kt below 10 000 ft do not bind an emergency (14 CFR 91.3(b) over
    91.117): cruise at VMO, the last descent at the true speed of its middle. Within a minute.
    """
    flown = fly(distance_nm, Objective.LEAST_TIME)
    level_ft = flown.pressure_altitude_ft
    assert flown.cas_kt == XTJ.limits.vmo_kt
    assert level_ft >= 9_000.0
    by_hand = 0.0
    from_ft = 9_000.0
    for step in flown.steps:
        middle_ft = (from_ft + step.pressure_altitude_ft) / 2.0
        by_hand += 60.0 * step.distance_nm / true_kt(340.0, middle_ft)
        from_ft = step.pressure_altitude_ft
    assert flown.time_min == pytest.approx(by_hand, abs=0.25)


def test_a_climb_is_flown_only_where_it_saves_half_a_minute() -> None:
    """Every level at VMO: none saves so much over the chosen one, each lower one costs more."""
    for distance_nm in (40.0, 125.0, 300.0, 600.0):
        plan = fly(distance_nm, Objective.LEAST_TIME)
        times = {}
        for level_ft in range(9_000, 39_001, 1_000):
            flown = fly(
                distance_nm,
                Objective.LEAST_TIME,
                pressure_altitude_ft=float(level_ft),
                cas_kt=340.0,
            )
            if flown.feasible:
                times[level_ft] = flown.time_min
        assert plan.time_min <= min(times.values()) + 0.55, distance_nm
        lower = [minutes for level, minutes in times.items() if level < plan.pressure_altitude_ft]
        assert all(minutes > min(times.values()) + 0.45 for minutes in lower), distance_nm


CONFIGURATIONS = [
    (replace(clean(XTJ), gear_down=True), 255.0),
    (replace(clean(XTJ), flap="12", slats_out=True), 200.0),
    (replace(clean(XTJ), max_cas_kt=250.0), 240.0),
    (clean(XTJ), 340.0),
]


@pytest.mark.parametrize(("configuration", "fastest_kt"), CONFIGURATIONS)
def test_the_highest_speed_keeps_the_margin_to_every_placard_but_vmo(
    configuration: Configuration, fastest_kt: float
) -> None:
    flown = fly(90.0, Objective.LEAST_TIME, configuration=configuration)
    assert flown.cas_kt == fastest_kt
    slow = fly(90.0, Objective.LEAST_FUEL, configuration=configuration)
    assert slow.cas_kt <= min(fastest_kt, 250.0)
    assert flown.time_min < slow.time_min + 0.5  # a climb that saves less is left out


def test_a_bound_of_fuel_is_kept_by_the_fastest_flight_that_can() -> None:
    whole, thrifty = fly(125.0, Objective.LEAST_TIME), fly(125.0, Objective.LEAST_FUEL)
    times = [whole.time_min]
    for share in (0.75, 0.5, 0.25, 0.1):
        bound_kg = thrifty.fuel_kg + share * (whole.fuel_kg - thrifty.fuel_kg)
        flown = fly(125.0, Objective.LEAST_TIME, most_fuel_kg=bound_kg)
        assert flown.fuel_kg <= bound_kg
        times.append(flown.time_min)
    assert times == sorted(times)
    assert times[0] < times[-1]
    beyond = fly(125.0, Objective.LEAST_TIME, most_fuel_kg=0.5 * thrifty.fuel_kg)
    assert beyond.fuel_kg == pytest.approx(thrifty.fuel_kg, rel=0.012)


def test_an_urgent_case_lands_earlier_everywhere_and_takes_no_hold() -> None:
    hold = {"/plan/hold_min": 12}
    calm, urgent = (
        courses(**hold, **(SMOKE | {"/failures": failures})) for failures in ([], [{"id": "smoke"}])
    )
    assert situation(**SMOKE).for_time
    for label in (NOW, AWAY, "commit_to_land:XKAL"):
        assert minutes(urgent[label]) < minutes(calm[label])
    assert {course.hold_min for course in urgent.values()} == {0.0}
    assert "holding" not in {step.name for each in urgent.values() for step in each.steps}
    assert minutes(calm["commit_to_land:XKAL"]) - minutes(urgent["commit_to_land:XKAL"]) > 12.0


def minutes(course: Course) -> float:
    assert course.time_min is not None
    return course.time_min


@pytest.mark.parametrize("fuel_kg", [2_500, 2_700, 3_000, 3_600])
def test_an_urgent_diversion_keeps_its_final_reserve_where_any_speed_does(fuel_kg: int) -> None:
    less = {"/fuel/on_board_kg": fuel_kg, "/aircraft/mass_kg": 58_000 + fuel_kg}
    thrifty = courses(**less)[NOW].ledger
    fast = courses(**(SMOKE | less))[NOW].ledger
    assert thrifty is not None
    assert fast is not None
    assert (fast.margin_kg >= 0.0) == (thrifty.margin_kg >= 0.0)
    assert fast.margin_kg <= thrifty.margin_kg + 20.0


def test_the_demo_of_smoke_far_from_everywhere_lands_in_less_than_25_minutes() -> None:
    """125 and 120 NM from 9000 ft at VMO: 340 kt are 400 kt true, wind 25 kt: 19 min, 5 to land."""
    at = {"/alternates/0/track_from_present_nm": 125, "/alternates/1/track_from_present_nm": 120}
    flown = courses(**SMOKE, **at)
    for label in ("divert_now:XBRE", NOW):
        assert 22.0 < minutes(flown[label]) < 25.5


def test_an_urgent_run_in_is_fast_until_it_has_to_slow_down() -> None:
    urgent = courses(**SMOKE)["commit_to_land:XKAL"]
    fast = [step for step in urgent.steps if step.cas_kt == 340.0]
    slow = [step for step in urgent.steps if step.cas_kt == 220.0]
    assert fast
    assert math.fsum(step.distance_nm for step in slow) == pytest.approx(10.0, abs=0.01)


# --- a leak ---


@pytest.mark.parametrize("leak", [500.0, 2_000.0, 10_000.0])
def test_a_leak_makes_it_worth_while_to_hurry(leak: float) -> None:
    dry = fly(125.0, Objective.LEAST_FUEL)
    slow = fly(125.0, Objective.LEAST_FUEL, leak_kg_per_h=leak)
    best = fly(125.0, Objective.LEAST_FUEL_AND_LEAK, leak_kg_per_h=leak)
    assert best.fuel_kg <= slow.fuel_kg * 1.001
    assert best.time_min <= dry.time_min
    if leak > 5_000.0:
        assert best.cas_kt > 250.0
        assert best.fuel_kg < slow.fuel_kg - 100.0


def test_the_run_in_hurries_as_well() -> None:
    asked: dict[str, Any] = {
        "configuration": clean(XTJ),
        "mass_kg": 60_000.0,
        "distance_nm": 80.0,
        "start_pressure_altitude_ft": 9_000.0,
        "end_pressure_altitude_ft": 2_000.0,
        "leak_kg_per_h": 9_000.0,
        "air": uniform_air(headwind_kt=20.0),
    }
    usual = fly_run_in(XTJ, **asked)
    best = fly_run_in(XTJ, objective=Objective.LEAST_FUEL_AND_LEAK, **asked)
    assert best.fuel_kg < usual.fuel_kg - 100.0
    assert best.cas_kt > usual.cas_kt


def test_a_leak_of_unknown_rate_leaves_figures_that_are_at_most() -> None:
    unknown = courses(**{"/failures": [{"id": "fuel-leak"}]})
    flown = [each for each in unknown.values() if each.ledger is not None]
    assert flown
    for course in flown:
        assert course.ledger is not None
        assert course.ledger.at_most
        assert "rate of the fuel leak" in course.unknown
    known = courses(**{"/failures": [{"id": "fuel-leak"}], "/fuel/leak_kg_per_h": 600})
    assert not any(each.ledger.at_most for each in known.values() if each.ledger is not None)
