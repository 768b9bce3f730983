"""Drag coefficients of each configuration, from their formulas and from Anderson's example."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.atmosphere import GRAVITY_MPS2
from decision.performance.drag import (
    ConfiguredPolar,
    configured_polar,
    drag_n,
    drag_rise_coefficient,
    gear_drag_coefficient,
    induced_factor,
    lift_coefficient,
    yaw_drag_factor,
)
from decision.performance.point import Point, point
from tests.changing import replace
from tests.physics.builders import (
    CLEAN,
    GEAR,
    GEAR_AND_DOORS,
    ONE_ENGINE,
    flying,
    masses_kg,
    xtj150,
)

# [MAIR-BIRDSALL] eq. 6.1, N/m2 and kg
GEAR_FACTOR_FLAPS_UP = 5.81e-5
GEAR_FACTOR_FLAPS_FULL = 3.16e-5
GEAR_MASS_EXPONENT = -0.215


def at(cas_kt: float = 230.0, height_ft: float = 10_000.0) -> Point:
    return point(
        pressure_altitude_ft=height_ft, cas_kt=cas_kt, isa_deviation_degc=0.0, mach_cap=0.9
    )


@pytest.mark.parametrize(
    ("factor", "deflection_deg"),
    [
        pytest.param(GEAR_FACTOR_FLAPS_UP, 0.0, id="MAIR-BIRDSALL-flaps-up"),
        pytest.param(GEAR_FACTOR_FLAPS_FULL, 34.0, id="MAIR-BIRDSALL-flaps-full"),
    ],
)
def test_gear_drag_follows_the_textbook_equation(factor: float, deflection_deg: float) -> None:
    """The profile states it to three digits."""
    profile = xtj150()
    mass_kg = profile.masses.mtow_kg
    loading = mass_kg * GRAVITY_MPS2 / profile.wing.area_m2
    expected = loading * factor * mass_kg**GEAR_MASS_EXPONENT
    actual = gear_drag_coefficient(profile, configuration=GEAR, deflection_deg=deflection_deg)
    assert actual == pytest.approx(expected, abs=6e-5)


def test_open_doors_cost_drag_with_the_gear_up_too() -> None:
    doors = flying(gear_doors_open=True)
    cd = gear_drag_coefficient(xtj150(), configuration=doors, deflection_deg=0.0)
    assert cd == xtj150().gear.doors_open_cd


def test_the_clean_polar_has_the_span_efficiency_and_glide_of_its_note() -> None:
    profile = xtj150()
    efficiency = 1.0 / (math.pi * profile.wing.aspect_ratio * profile.polar.k)
    assert efficiency == pytest.approx(0.80, abs=0.005)
    best_glide = 1.0 / (2.0 * math.sqrt(profile.polar.cd0 * profile.polar.k))
    assert best_glide == pytest.approx(17.1, abs=0.05)


def test_flaps_raise_the_span_efficiency_by_the_published_rate() -> None:
    """[OBERT]: 0.0026 per degree with engines under the wing."""
    profile = xtj150()
    span = math.pi * profile.wing.aspect_ratio
    gain = 1.0 / (span * induced_factor(profile, deflection_deg=34.0)) - 1.0 / (
        span * profile.polar.k
    )
    assert gain == pytest.approx(34.0 * 0.0026, abs=1e-12)


def test_the_drag_increment_adds_to_the_zero_lift_drag() -> None:
    iced = configured_polar(xtj150(), flying(drag_increment=0.004))
    assert iced.cd0 == pytest.approx(configured_polar(xtj150(), CLEAN).cd0 + 0.004)


def test_the_drag_rise_starts_at_the_published_critical_mach_number() -> None:
    """[GUR-2010] eq. 17 by hand: 25 degrees of sweep, 12 % thick, lift coefficient 0.5."""
    cosine = math.cos(math.radians(25.0))
    critical = 0.95 / cosine - 0.12 / cosine**2 - 0.1 * 0.5 / cosine**3
    critical -= (0.1 / 80.0) ** (1.0 / 3.0)
    profile = xtj150()
    assert drag_rise_coefficient(profile, mach=critical - 0.001, cl=0.5) == 0.0
    above = drag_rise_coefficient(profile, mach=critical + 0.05, cl=0.5)
    assert above == pytest.approx(20.0 * 0.05**4, rel=1e-9)


def test_level_flight_on_one_engine_balances_its_own_yaw_drag() -> None:
    profile, polar, here = xtj150(), configured_polar(xtj150(), ONE_ENGINE), at()
    level_n = drag_n(profile, polar, mass_kg=60_000.0, at=here, thrust_n=None)
    given_n = drag_n(profile, polar, mass_kg=60_000.0, at=here, thrust_n=level_n)
    assert given_n == pytest.approx(float(level_n), rel=1e-12)


def test_the_fin_factor_is_the_induced_drag_of_its_side_force() -> None:
    """[TORENBEEK]: side force = moment over arm; drag = force^2 / (q pi span^2)."""
    profile, thrust_n, q_pa = xtj150(), 50_000.0, 8_000.0
    side_n = thrust_n * profile.engine.arm_m / profile.engine_out.fin_arm_m
    drag = side_n**2 / (q_pa * math.pi * profile.engine_out.fin_span_m**2)
    area_n = q_pa * profile.wing.area_m2
    by_factor = yaw_drag_factor(profile) * (thrust_n / area_n) ** 2 * area_n
    assert by_factor == pytest.approx(drag, rel=1e-12)


@given(mass_kg=masses_kg(), cas_kt=st.floats(150.0, 250.0))
def test_every_item_that_hangs_out_adds_drag(mass_kg: float, cas_kt: float) -> None:
    here = at(cas_kt)
    drags = [
        drag_n(xtj150(), configured_polar(xtj150(), each), mass_kg=mass_kg, at=here, thrust_n=None)
        for each in (CLEAN, GEAR, GEAR_AND_DOORS)
    ]
    assert drags[0] < drags[1] < drags[2]


def test_lift_coefficient_is_weight_over_dynamic_pressure_and_area() -> None:
    profile, here = xtj150(), at()
    lift_n = lift_coefficient(profile, mass_kg=60_000.0, at=here) * (
        here.dynamic_pressure_pa * profile.wing.area_m2
    )
    assert lift_n == pytest.approx(60_000.0 * GRAVITY_MPS2)


def test_an_unknown_detent_is_named() -> None:
    with pytest.raises(ValueError, match="no flap detent '15'; it has 0, 6, 12, 20, 34"):
        configured_polar(xtj150(), flying(flap="15"))


# [ANDERSON] CJ-1: US customary figures, converted
SLUG_PER_FT3 = 515.378818
POUND_KG = 0.45359237
CJ1_CD0, CJ1_EFFICIENCY, CJ1_ASPECT = 0.02, 0.81, 8.93
CJ1_AREA_M2 = 318.0 * 0.3048**2
CJ1_CONSUMPTION_PER_H = 0.6


def test_andersons_jet_has_his_glide_range_and_endurance() -> None:
    """[ANDERSON]: 23.4, 3630 mi, 13.3 h, by our drag at each speed of a level flight."""
    profile = xtj150()
    profile = replace(profile, wing=replace(profile.wing, area_m2=CJ1_AREA_M2))
    polar = ConfiguredPolar(
        cd0=CJ1_CD0,
        k=1.0 / (math.pi * CJ1_EFFICIENCY * CJ1_ASPECT),
        gear_cd=0.0,
        windmill_cd=0.0,
        yaw_factor=0.0,
    )
    start_kg, end_kg = 19_815.0 * POUND_KG, 12_352.0 * POUND_KG
    ratios, glides = [], []
    for cas_kt in range(100, 230):
        here = at(cas_kt=float(cas_kt), height_ft=2_000.0)
        area_n = here.dynamic_pressure_pa * CJ1_AREA_M2
        drag = drag_n(profile, polar, mass_kg=start_kg, at=here, thrust_n=None)
        lift = start_kg * GRAVITY_MPS2
        ratios.append(float(math.sqrt(lift / area_n) / (drag / area_n)))
        glides.append(float(lift / drag))
    assert max(ratios) == pytest.approx(23.4, abs=0.05)
    per_s = CJ1_CONSUMPTION_PER_H / 3600.0
    root = math.sqrt(2.0 / (0.001184 * SLUG_PER_FT3 * CJ1_AREA_M2))
    root_n = math.sqrt(start_kg * GRAVITY_MPS2) - math.sqrt(end_kg * GRAVITY_MPS2)
    range_m = 2.0 * root / per_s * max(ratios) * root_n
    assert range_m / 1609.344 == pytest.approx(3_630.0, abs=20.0)
    hours = max(glides) * math.log(start_kg / end_kg) / CJ1_CONSUMPTION_PER_H
    assert hours == pytest.approx(13.3, abs=0.05)


def test_scaling_masses_and_area_together_scales_drag_and_nothing_else() -> None:
    profile, here = xtj150(), at()
    big = replace(profile, wing=replace(profile.wing, area_m2=250.0, span_m=34.6 * math.sqrt(2.0)))
    small_n = drag_n(
        profile, configured_polar(profile, CLEAN), mass_kg=60_000.0, at=here, thrust_n=None
    )
    big_n = drag_n(big, configured_polar(big, CLEAN), mass_kg=120_000.0, at=here, thrust_n=None)
    assert big_n == pytest.approx(2.0 * float(small_n), rel=1e-12)
