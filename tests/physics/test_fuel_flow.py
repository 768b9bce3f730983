"""The fuel law: databank points, clean flows against an open library, closed-form cruise."""

from __future__ import annotations

import math

import numpy as np
import openap
import pytest

from decision.atmosphere import GRAVITY_MPS2
from decision.performance.configuration import Configuration
from decision.performance.drag import configured_polar, drag_n
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.holding import holding_speed_kt
from decision.performance.point import Point, point
from decision.performance.slabs import Cases, fly_cases
from decision.units import MIN_PER_H
from tests.physics.builders import CLEAN, GEAR, LANDING, flying, xtj150
from tests.physics.outcomes import fly_hold, fly_run_in


def at(height_ft: float, cas_kt: float, mach_cap: float = 0.81) -> Point:
    return point(
        pressure_altitude_ft=height_ft, cas_kt=cas_kt, isa_deviation_degc=0.0, mach_cap=mach_cap
    )


def level_flow(configuration: Configuration, mass_kg: float, here: Point) -> float:
    polar = configured_polar(xtj150(), configuration)
    drag = drag_n(xtj150(), polar, mass_kg=mass_kg, at=here, thrust_n=None)
    return float(fuel_flow_kg_per_h(xtj150(), configuration, thrust_n=drag, at=here))


@pytest.mark.parametrize(
    ("thrust_ratio", "flow_ratio", "tolerance"),
    [
        pytest.param(0.07, 0.0919, 6e-4, id="ICAO-EEDB-idle"),
        pytest.param(0.30, 0.2756, 6e-4, id="ICAO-EEDB-approach"),
        pytest.param(0.85, 0.826, 0.003, id="ICAO-EEDB-climb"),
        pytest.param(1.00, 1.0, 6e-4, id="ICAO-EEDB-takeoff"),
    ],
)
def test_static_flow_passes_through_the_databank_points(
    thrust_ratio: float, flow_ratio: float, tolerance: float
) -> None:
    """Three points fix the law; the 85 % point is predicted within 0.3 %."""
    engine = xtj150().engine
    thrust = 2.0 * thrust_ratio * engine.static_thrust_n
    flow = fuel_flow_kg_per_h(xtj150(), CLEAN, thrust_n=thrust, at=at(0.0, 1e-6))
    takeoff = 2.0 * engine.takeoff_fuel_flow_kg_per_s * 3600.0
    assert flow / takeoff == pytest.approx(flow_ratio, abs=tolerance)


HOLD_MASSES_KG = (54_000.0, 56_000.0, 60_000.0, 64_000.0, 66_000.0)
CRUISE_MASSES_KG = (54_000.0, 60_000.0, 66_000.0)
CRUISES_OF_A_TYPE = ((25_000.0, 0.68), (31_000.0, 0.76), (35_000.0, 0.78), (37_000.0, 0.80))
OPENAP_CASES = [
    *[
        (mass_kg, height_ft, None)
        for height_ft in (1_500.0, 10_000.0)
        for mass_kg in HOLD_MASSES_KG
    ],
    *[(mass_kg, *cruise) for cruise in CRUISES_OF_A_TYPE for mass_kg in CRUISE_MASSES_KG],
]


@pytest.mark.parametrize(("mass_kg", "height_ft", "mach"), OPENAP_CASES)
def test_clean_flows_lie_within_6_percent_of_an_open_library(
    mass_kg: float, height_ft: float, mach: float | None
) -> None:
    """[OPENAP], the A320: a similar aircraft, an independent model; holding speed, then Mach.

    Slower at the highest levels the two part: the test after this one says how far.
    """
    if mach is None:
        cas_kt = holding_speed_kt(
            xtj150(), configuration=CLEAN, mass_kg=mass_kg, pressure_altitude_ft=height_ft
        )
        here = at(height_ft, float(cas_kt))
    else:
        here = at(height_ft, 340.0, mach_cap=mach)
    other = openap.FuelFlow("A320").enroute(mass=mass_kg, tas=float(here.tas_kt), alt=height_ft)
    assert level_flow(CLEAN, mass_kg, here) == pytest.approx(float(other) * 3600.0, rel=0.06)


@pytest.mark.parametrize(
    ("height_ft", "mach", "percent"),
    [
        (33_000.0, 0.74, (-2.8, -4.2, -5.6)),
        (35_000.0, 0.76, (-4.1, -5.5, -6.8)),
        (37_000.0, 0.76, (-6.3, -7.7, -9.0)),
        (37_000.0, 0.78, (-4.9, -6.1, -7.2)),
        (39_000.0, 0.78, (-6.4, -7.7, -8.7)),
    ],
)
def test_high_and_slow_the_flow_lies_under_the_open_library_by_as_much_as_stated(
    height_ft: float, mach: float, percent: tuple[float, ...]
) -> None:
    """The corner where the two part [OPENAP]: up to 9 % low, which no diversion here reaches."""
    for mass_kg, stated in zip(CRUISE_MASSES_KG, percent, strict=True):
        here = at(height_ft, 340.0, mach_cap=mach)
        other = openap.FuelFlow("A320").enroute(mass=mass_kg, tas=float(here.tas_kt), alt=height_ft)
        error = level_flow(CLEAN, mass_kg, here) / (float(other) * 3600.0) - 1.0
        assert 100.0 * error == pytest.approx(stated, abs=0.15)


@pytest.mark.parametrize(
    ("height_ft", "gear_down", "ratio"),
    [
        pytest.param(10_000.0, 4_472.0, 1.68, id="derived-250kt-FL100"),
        pytest.param(24_000.0, 4_259.0, 1.74, id="derived-250kt-FL240"),
    ],
)
def test_the_gear_at_250_kt_costs_as_much_as_stated(
    height_ft: float, gear_down: float, ratio: float
) -> None:
    here = at(height_ft, 250.0)
    assert level_flow(GEAR, 60_000.0, here) == pytest.approx(gear_down, abs=5.0)
    assert level_flow(GEAR, 60_000.0, here) / level_flow(CLEAN, 60_000.0, here) == pytest.approx(
        ratio, abs=0.005
    )


def test_the_landing_configuration_on_the_glide_path_burns_as_stated() -> None:
    """64 t, 140 kt, 3 degrees, true airspeed held: 1908 kg/h; a similar type recorded 1842."""
    here = at(750.0, 140.0)
    polar = configured_polar(xtj150(), LANDING)
    drag = float(drag_n(xtj150(), polar, mass_kg=64_000.0, at=here, thrust_n=None))
    weight_n = 64_000.0 * GRAVITY_MPS2
    assert weight_n / drag == pytest.approx(9.8, abs=0.05)
    thrust = drag - weight_n * math.sin(math.radians(3.0))
    flow = fuel_flow_kg_per_h(xtj150(), LANDING, thrust_n=thrust, at=here)
    assert flow == pytest.approx(1_908.0, abs=5.0)


def test_flow_never_falls_below_flight_idle() -> None:
    here = at(10_000.0, 250.0)
    least = fuel_flow_kg_per_h(xtj150(), CLEAN, thrust_n=-10_000.0, at=here)
    assert least == fuel_flow_kg_per_h(xtj150(), CLEAN, thrust_n=0.0, at=here)
    assert 500.0 < float(least) < 650.0


@pytest.mark.parametrize(
    ("configuration", "factor"),
    [(flying(fuel_flow_scale=1.07), 1.07), (flying(anti_ice=True), 1.03)],
)
def test_scales_multiply_the_flow(configuration: Configuration, factor: float) -> None:
    here = at(10_000.0, 250.0)
    assert level_flow(configuration, 60_000.0, here) == pytest.approx(
        factor * level_flow(CLEAN, 60_000.0, here)
    )


CRUISES = [(CLEAN, 25_000.0, 240.0), (GEAR, 15_000.0, 230.0)]


@pytest.mark.parametrize(("configuration", "level_ft", "cas_kt"), CRUISES)
@pytest.mark.parametrize("distance_nm", [100.0, 300.0])
def test_cruise_agrees_with_its_closed_form(
    configuration: Configuration, level_ft: float, cas_kt: float, distance_nm: float
) -> None:
    """Level and speed fixed: flow is nearly `a + b m^2`, so mass follows a tangent; 0.01 %."""
    here, start_kg = at(level_ft, cas_kt), 60_000.0
    flown = fly_cases(
        xtj150(),
        configuration,
        Cases(
            mass_kg=start_kg,
            distance_nm=distance_nm,
            start_ft=level_ft,
            end_ft=level_ft,
            level_ft=level_ft,
            cas_kt=cas_kt,
        ),
    )
    light_kg, heavy_kg = start_kg - 4_000.0, start_kg
    light, heavy = (level_flow(configuration, m, here) for m in (light_kg, heavy_kg))
    b = (heavy - light) / (heavy_kg**2 - light_kg**2)
    a = heavy - b * heavy_kg**2
    hours = distance_nm / float(here.tas_kt)
    end_kg = math.sqrt(a / b) * math.tan(
        math.atan(start_kg * math.sqrt(b / a)) - math.sqrt(a * b) * hours
    )
    assert float(flown.fuel_kg) == pytest.approx(start_kg - end_kg, rel=1e-4)


@pytest.mark.parametrize(
    ("configuration", "level_ft", "cas_kt", "short_percent"),
    [(CLEAN, 25_000.0, 240.0, 1.0), (GEAR, 15_000.0, 230.0, 2.3)],
)
def test_breguet_is_low_by_no_more_than_the_falling_glide_ratio(
    configuration: Configuration, level_ft: float, cas_kt: float, short_percent: float
) -> None:
    """Breguet's formula keeps the starting lift over drag, which falls at a fixed speed: 300 NM."""
    here, start_kg, distance_nm = at(level_ft, cas_kt), 60_000.0, 300.0
    flown = fly_cases(
        xtj150(),
        configuration,
        Cases(
            mass_kg=start_kg,
            distance_nm=distance_nm,
            start_ft=level_ft,
            end_ft=level_ft,
            level_ft=level_ft,
            cas_kt=cas_kt,
        ),
    )
    per_nm = level_flow(configuration, start_kg, here) / float(here.tas_kt)
    breguet_kg = start_kg * (1.0 - math.exp(-distance_nm * per_nm / start_kg))
    error_percent = 100.0 * (breguet_kg / float(flown.fuel_kg) - 1.0)
    assert -short_percent - 0.6 < error_percent < 0.0


@pytest.mark.parametrize("configuration", [CLEAN, GEAR])
@pytest.mark.parametrize("leak", [0.0, 900.0])
def test_a_hold_burns_the_flow_of_its_falling_mass_minute_by_minute(
    configuration: Configuration, leak: float
) -> None:
    """Eighty minutes at the speed of their start, summed in steps of one: 0.1 %."""
    start_kg, minutes, level_ft = 62_000.0, 80, 8_000.0
    held = fly_hold(
        xtj150(),
        configuration=configuration,
        mass_kg=start_kg,
        pressure_altitude_ft=level_ft,
        minutes=float(minutes),
        leak_kg_per_h=leak,
    )
    here, left_kg = at(level_ft, held.cas_kt), start_kg
    for _ in range(minutes):
        left_kg -= (level_flow(configuration, left_kg, here) + leak) / MIN_PER_H
    assert held.fuel_kg == pytest.approx(start_kg - left_kg, rel=1e-3)
    at_first_kg = (level_flow(configuration, start_kg, here) + leak) * minutes / MIN_PER_H
    assert held.fuel_kg < 0.995 * at_first_kg  # so a constant flow would not pass


def test_without_an_engine_nothing_flows_and_nothing_is_divided_by_it() -> None:
    stopped = flying(engines_running=0)
    here = point(
        pressure_altitude_ft=np.array([2_000.0, 9_000.0]),
        cas_kt=210.0,
        isa_deviation_degc=0.0,
        mach_cap=0.78,
    )
    flow = fuel_flow_kg_per_h(xtj150(), stopped, thrust_n=np.zeros(2), at=here)
    assert np.array_equal(flow, [0.0, 0.0])


def test_a_glider_does_not_arrive() -> None:
    stopped = flying(engines_running=0)
    flown = fly_run_in(
        xtj150(),
        configuration=stopped,
        mass_kg=60_000.0,
        distance_nm=40.0,
        start_pressure_altitude_ft=9_000.0,
        end_pressure_altitude_ft=2_000.0,
    )
    assert not flown.feasible
    assert "no level can be held" in (flown.limited_by or "")
