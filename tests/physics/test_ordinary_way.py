"""The ordinary way beside the plan of least fuel, and the margin to placards."""

from __future__ import annotations

import pytest

from decision.performance import Configuration, Objective, clean
from decision.performance.envelope import envelope, slowest_kt
from decision.performance.level import known_level_flow_kg_per_h
from decision.performance.ordinary import normal_cruise_flow_kg_per_h, ordinary_way
from decision.performance.point import point
from decision.performance.prepared import speed_grid_kt
from decision.profile import load_profile, profile_ids
from tests.changing import replace
from tests.decide.builders import courses
from tests.physics.builders import CONFIGURATIONS, FLAP, GEAR, divert, flying, xtj150
from tests.physics.outcomes import fly_diversion


@pytest.mark.parametrize("configuration", CONFIGURATIONS, ids=lambda each: each.label)
@pytest.mark.parametrize("distance_nm", [60.0, 120.0, 250.0])
def test_the_ordinary_way_is_a_flight_at_its_level_and_speed(
    configuration: Configuration, distance_nm: float
) -> None:
    """The same figures as a flight at the level and speed that it tells; never under the least."""
    plan = divert(configuration, distance_nm=distance_nm)
    assert plan.ordinary is not None
    level_ft, cas_kt = plan.ordinary.pressure_altitude_ft, plan.ordinary.cas_kt
    again = divert(
        configuration, distance_nm=distance_nm, pressure_altitude_ft=level_ft, cas_kt=cas_kt
    )
    assert plan.ordinary.fuel_kg == pytest.approx(again.fuel_kg, rel=1e-3)
    assert plan.ordinary.time_min == pytest.approx(again.time_min, rel=1e-3)
    assert plan.ordinary.fuel_kg > plan.fuel_kg / 1.011


def test_far_enough_it_is_the_profile_s_own_level_and_speed() -> None:
    for configuration, level_ft, cas_kt in (
        (flying(), 15_000.0, 250.0),
        (GEAR, 13_000.0, 230.0),
        (FLAP, 10_000.0, 200.0),
        (replace(GEAR, pressurised=False), 10_000.0, 230.0),
    ):
        way = ordinary_way(xtj150(), configuration)
        assert (way.level_ft, way.cas_kt) == (level_ft, cas_kt)
        plan = divert(configuration, distance_nm=300.0)
        assert plan.ordinary is not None
        assert (plan.ordinary.pressure_altitude_ft, plan.ordinary.cas_kt) == (level_ft, cas_kt)


def test_the_policy_percentile_takes_the_dearer_way_and_legality_does_not() -> None:
    course = courses("gear-stuck")["approach_then_divert:XTOR"]
    ledger, ordinary = course.ledger, course.ordinary
    assert ledger is not None
    assert ledger.spread is not None
    assert ordinary is not None
    assert ledger.ordinary_more_kg > 50.0
    plain = replace(ledger, ordinary_more_kg=0.0)
    assert plain.margin_kg == ledger.margin_kg
    assert plain.margin_at_kg(95.0) - ledger.margin_at_kg(95.0) == pytest.approx(
        ledger.ordinary_more_kg
    )
    cheaper = replace(ledger, ordinary_more_kg=-80.0)
    assert cheaper.margin_at_kg(95.0) == plain.margin_at_kg(95.0)


@pytest.mark.parametrize("profile_id", profile_ids())
@pytest.mark.parametrize("objective", list(Objective))
def test_no_plan_is_at_a_placard_where_the_mass_leaves_room(
    profile_id: str, objective: Objective
) -> None:
    profile = load_profile(profile_id)
    mass_kg, tried = profile.masses.oew_kg * 1.15, 0
    for detent in profile.detents:
        for gear_down in (False, True):
            configuration = replace(
                clean(profile),
                flap=detent.id,
                gear_down=gear_down,
                slats_out=profile.slats_out_with_lever(detent.id),
            )
            limits = envelope(profile, configuration)
            if slowest_kt(profile, configuration, mass_kg=mass_kg) > limits.planned_kt:
                continue
            plan = fly_diversion(
                profile,
                configuration=configuration,
                mass_kg=mass_kg,
                distance_nm=120.0,
                start_pressure_altitude_ft=1_500.0,
                end_pressure_altitude_ft=1_500.0,
                objective=objective,
            )
            tried += 1
            assert plan.feasible
            placard = 0.0 if limits.fastest_kt.name == "VMO" else profile.speeds.placard_margin_kt
            assert plan.cas_kt <= limits.fastest_kt.value - placard
    assert tried > 4


def test_a_mass_without_room_for_the_margin_is_planned_at_the_placard_itself() -> None:
    """A limit of 195 kt: 1.30 VSR of 60 t is 187 kt, above 10 kt less; that of 54 t is below."""
    limited = flying(max_cas_kt=195.0)
    for mass_kg, cas_kt in ((60_000.0, 195.0), (54_000.0, 185.0)):
        plan = divert(limited, mass_kg=mass_kg)
        assert plan.feasible
        assert plan.cas_kt == cas_kt


def test_the_grid_ends_at_the_ordinary_speed_the_margin_and_the_limit() -> None:
    assert speed_grid_kt(xtj150(), flying())[-1] == 250.0
    assert speed_grid_kt(xtj150(), flying(), fast=True)[-1] == 340.0
    assert list(speed_grid_kt(xtj150(), FLAP)[-2:]) == [200.0, 210.0]


@pytest.mark.parametrize(("name", "mass_kg"), [("xtj150", 56_000.0), ("xtwide", 170_000.0)])
def test_normal_cruise_takes_what_cruise_at_high_levels_takes(name: str, mass_kg: float) -> None:
    """Within a tenth of level flight at FL350, a level of normal cruise (common practice)."""
    profile = load_profile(name)
    sound = clean(profile)
    at = point(
        pressure_altitude_ft=35_000.0,
        cas_kt=265.0,
        isa_deviation_degc=0.0,
        mach_cap=envelope(profile, sound).mach_cap,
    )
    high = known_level_flow_kg_per_h(profile, sound, mass_kg=mass_kg, at=at)
    assert normal_cruise_flow_kg_per_h(profile, mass_kg=mass_kg) == pytest.approx(high, rel=0.10)


def test_a_heavier_aircraft_takes_more_in_normal_cruise() -> None:
    light, heavy = (
        normal_cruise_flow_kg_per_h(load_profile("xtj150"), mass_kg=each)
        for each in (50_000.0, 60_000.0)
    )
    assert heavy > light
