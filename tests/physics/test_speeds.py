"""Airspeeds, gradients and acceleration factors against worked questions and derivatives."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.atmosphere import (
    GRAVITY_MPS2,
    TROPOPAUSE_FT,
    pressure_ratio,
    temperature_k,
)
from decision.errors import OutOfRange
from decision.speeds import (
    SEA_LEVEL_SOUND_KT,
    cas_acceleration_factor,
    cas_from_mach,
    crossover_pressure_altitude_ft,
    ground_speed_kt,
    mach_acceleration_factor,
    mach_from_cas,
    mach_from_eas,
    sound_speed_kt,
    tas_from_mach_kt,
)
from decision.units import M_PER_FT, MPS_PER_KT, degc_to_k, percent_to_ft_per_nm


def test_true_airspeed_at_fl410_and_mach_086_on_a_cold_day() -> None:
    """[ATPL-QA]: 479 kt."""
    temperature = temperature_k(pressure_altitude_ft=41_000.0, isa_deviation_degc=-12.0)
    tas_kt = tas_from_mach_kt(mach=0.86, temperature_k=temperature)
    assert tas_kt == pytest.approx(479.0, abs=1.0)


def test_speed_of_sound_and_ground_speed_at_minus_44_degrees() -> None:
    """[ATPL-QA]: 589.4 kt with the source's constants 38.95 and 273, hence 0.6 kt."""
    temperature = degc_to_k(-44.0)
    assert sound_speed_kt(temperature) == pytest.approx(589.4, abs=0.6)
    tas_kt = float(tas_from_mach_kt(mach=0.86, temperature_k=temperature))
    assert tas_kt == pytest.approx(507.0, abs=1.0)
    ground_kt = ground_speed_kt(tas_kt=tas_kt, headwind_kt=110.0, crosswind_kt=0.0)
    assert ground_kt == pytest.approx(397.0, abs=1.0)


def test_290_kt_at_fl310_is_mach_078() -> None:
    """[ATPL-QA]: the answer is given to two digits."""
    mach = mach_from_cas(cas_kt=290.0, pressure_ratio=pressure_ratio(31_000.0))
    assert mach == pytest.approx(0.78, abs=0.006)


def test_mach_078_at_minus_41_degrees() -> None:
    """[FAA-ATP]: 462.8 kt; the question reads a chart."""
    tas_kt = tas_from_mach_kt(mach=0.78, temperature_k=degc_to_k(-41.0))
    assert tas_kt == pytest.approx(462.8, abs=1.5)


@pytest.mark.parametrize(
    ("gradient_percent", "ft_per_nm"),
    [
        pytest.param(100.0 * np.tan(np.radians(3.0)), 318.0, id="TERPS-3-degrees"),
        pytest.param(100.0 * np.tan(np.radians(3.77)), 400.0, id="TERPS-3.77-degrees"),
        pytest.param(3.3, 200.0, id="TERPS-3.3-percent"),
        pytest.param(2.5, 152.0, id="TERPS-2.5-percent"),
        pytest.param(2.1, 128.0, id="CFR-25-2.1-percent"),
    ],
)
def test_gradients_in_percent_are_the_published_feet_per_mile(
    gradient_percent: float, ft_per_nm: float
) -> None:
    assert percent_to_ft_per_nm(gradient_percent) == pytest.approx(ft_per_nm, abs=1.0)


# derived from the definitions; the numerical derivative below confirms them
FACTORS = [
    (0.2, 0.0224, 0.0277, -0.0053),
    (0.3, 0.0496, 0.0616, -0.0120),
    (0.4, 0.0864, 0.1077, -0.0213),
    (0.5, 0.1315, 0.1648, -0.0333),
    (0.6, 0.1836, 0.2315, -0.0479),
    (0.7, 0.2412, 0.3064, -0.0653),
    (0.78, 0.2902, 0.3712, -0.0810),
]


@pytest.mark.parametrize(("mach", "cas_below", "cas_above", "mach_below"), FACTORS)
def test_acceleration_factors_are_the_tabulated_ones(
    mach: float, cas_below: float, cas_above: float, mach_below: float
) -> None:
    below = {"mach": mach, "temperature_ratio_to_standard": 1.0, "pressure_altitude_ft": 10_000.0}
    above = below | {"pressure_altitude_ft": 40_000.0}
    assert cas_acceleration_factor(**below) == pytest.approx(cas_below, abs=6e-5)
    assert cas_acceleration_factor(**above) == pytest.approx(cas_above, abs=6e-5)
    assert mach_acceleration_factor(**below) == pytest.approx(mach_below, abs=6e-5)
    assert mach_acceleration_factor(**above) == 0.0


@pytest.mark.parametrize("isa_deviation", [-20.0, 0.0, 25.0])
@pytest.mark.parametrize("height_ft", [2_000.0, 20_000.0, 30_000.0, 38_000.0])
def test_acceleration_factor_is_the_derivative_of_true_airspeed(
    height_ft: float, isa_deviation: float
) -> None:
    cas_kt, step_ft = 240.0, 1.0

    def tas_mps(at_ft: float) -> float:
        temperature = temperature_k(pressure_altitude_ft=at_ft, isa_deviation_degc=isa_deviation)
        mach = mach_from_cas(cas_kt=cas_kt, pressure_ratio=pressure_ratio(at_ft))
        return float(tas_from_mach_kt(mach=mach, temperature_k=temperature)) * MPS_PER_KT

    standard = float(temperature_k(pressure_altitude_ft=height_ft))
    warmth = (standard + isa_deviation) / standard
    true_step_m = 2.0 * step_ft * M_PER_FT * warmth  # hot air stands taller between two pressures
    slope = (tas_mps(height_ft + step_ft) - tas_mps(height_ft - step_ft)) / true_step_m
    factor = cas_acceleration_factor(
        mach=mach_from_cas(cas_kt=cas_kt, pressure_ratio=pressure_ratio(height_ft)),
        temperature_ratio_to_standard=warmth,
        pressure_altitude_ft=height_ft,
    )
    assert factor == pytest.approx(tas_mps(height_ft) / GRAVITY_MPS2 * slope, abs=2e-4)


@given(cas_kt=st.floats(80.0, 340.0), height_ft=st.floats(-1_000.0, 41_000.0))
def test_mach_and_calibrated_airspeed_invert_each_other(cas_kt: float, height_ft: float) -> None:
    delta = pressure_ratio(height_ft)
    mach = mach_from_cas(cas_kt=cas_kt, pressure_ratio=delta)
    assert cas_from_mach(mach=mach, pressure_ratio=delta) == pytest.approx(cas_kt, rel=1e-9)


def test_all_airspeeds_agree_at_sea_level() -> None:
    mach = mach_from_cas(cas_kt=250.0, pressure_ratio=1.0)
    assert float(mach) * SEA_LEVEL_SOUND_KT == pytest.approx(250.0, abs=1e-9)
    assert mach_from_eas(eas_kt=250.0, pressure_ratio=1.0) == pytest.approx(float(mach))


def test_crossover_is_where_both_speeds_are_one() -> None:
    height_ft = crossover_pressure_altitude_ft(cas_kt=290.0, mach=0.78)
    mach = mach_from_cas(cas_kt=290.0, pressure_ratio=pressure_ratio(height_ft))
    assert mach == pytest.approx(0.78, abs=1e-12)
    assert height_ft < TROPOPAUSE_FT


def test_a_crosswind_takes_some_ground_speed() -> None:
    assert ground_speed_kt(tas_kt=250.0, headwind_kt=0.0, crosswind_kt=70.0) == pytest.approx(240.0)


@pytest.mark.parametrize(
    ("headwind_kt", "crosswind_kt"), [(150.0, 0.0), (0.0, 151.0), (150.0, -10.0)]
)
def test_a_wind_that_leaves_no_ground_speed_raises(headwind_kt: float, crosswind_kt: float) -> None:
    with pytest.raises(OutOfRange, match="wind_kt"):
        ground_speed_kt(tas_kt=150.0, headwind_kt=headwind_kt, crosswind_kt=crosswind_kt)
