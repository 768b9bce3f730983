"""The standard atmosphere against tables, a second implementation and its own inverse."""

from __future__ import annotations

import math

import ambiance
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.atmosphere import (
    BOTTOM_FT,
    SEA_LEVEL_DENSITY_KG_PER_M3,
    TOP_FT,
    density_altitude_ft,
    density_kg_per_m3,
    isa_deviation_degc,
    pressure_altitude_from_inhg_ft,
    pressure_altitude_ft,
    pressure_altitude_of_pressure_ft,
    pressure_pa,
    pressure_ratio,
    temperature_k,
)
from decision.errors import OutOfRange
from decision.units import degc_to_k, m_to_ft

EARTH_RADIUS_M = 6_356_766.0  # nominal radius that ties geometric to geopotential height


@pytest.mark.parametrize(
    ("height_m", "temperature", "pressure", "pressure_tolerance", "density"),
    [
        pytest.param(0.0, 288.15, 101_325.0, 0.5, 1.2250, id="ICAO-7488-sea-level"),
        pytest.param(5_000.0, 255.65, 54_020.0, 1.0, 0.73612, id="ICAO-7488-5000m"),
        pytest.param(11_000.0, 216.65, 22_632.0, 0.5, 0.36392, id="ISA-TABLE-11000m"),
        pytest.param(20_000.0, 216.65, 5_474.89, 0.05, 0.08803, id="ISA-TABLE-20000m"),
    ],
)
def test_the_atmosphere_agrees_with_the_tables(
    height_m: float, temperature: float, pressure: float, pressure_tolerance: float, density: float
) -> None:
    height_ft = m_to_ft(height_m)
    assert temperature_k(pressure_altitude_ft=height_ft) == pytest.approx(temperature, abs=0.005)
    assert pressure_pa(height_ft) == pytest.approx(pressure, abs=pressure_tolerance)
    assert density_kg_per_m3(pressure_altitude_ft=height_ft) == pytest.approx(density, abs=1e-5)


def test_pressure_at_20000_ft_is_the_altimetry_figure() -> None:
    """[ICAO-7488]; geopotential, not the geometric 466.0 hPa of some tables."""
    assert float(pressure_pa(20_000.0)) / 100.0 == pytest.approx(465.63, abs=0.01)


@pytest.mark.parametrize(
    "height_m", [0.0, 1_500.0, 5_000.0, 10_900.0, 11_500.0, 15_000.0, 19_000.0]
)
def test_the_atmosphere_agrees_with_an_independent_package(height_m: float) -> None:
    geometric_m = EARTH_RADIUS_M * height_m / (EARTH_RADIUS_M - height_m)
    other = ambiance.Atmosphere(geometric_m)
    height_ft = m_to_ft(height_m)
    assert pressure_pa(height_ft) == pytest.approx(other.pressure[0], rel=2e-5)
    assert temperature_k(pressure_altitude_ft=height_ft) == pytest.approx(
        other.temperature[0], abs=0.01
    )
    assert density_kg_per_m3(pressure_altitude_ft=height_ft) == pytest.approx(
        other.density[0], rel=5e-5
    )


def test_the_sample_problem_of_the_pilots_handbook() -> None:
    """[FAA-PHAK]: 5883 ft, 30.10 inHg, 70 F; its charts are read to 6 ft and 100 ft."""
    height_ft = pressure_altitude_from_inhg_ft(elevation_ft=5_883.0, altimeter_inhg=30.10)
    assert height_ft == pytest.approx(5_718.0, abs=6.0)
    deviation = isa_deviation_degc(
        pressure_altitude_ft=height_ft, temperature_k=degc_to_k((70.0 - 32.0) / 1.8)
    )
    density_altitude = density_altitude_ft(
        pressure_altitude_ft=height_ft, isa_deviation_degc=deviation
    )
    assert density_altitude == pytest.approx(7_700.0, abs=100.0)


def test_a_hot_day_thins_the_air_and_leaves_the_pressure() -> None:
    """[ICAO-7488]: 30 K above standard at sea level is 1.1095 kg/m3."""
    density = density_kg_per_m3(pressure_altitude_ft=0.0, isa_deviation_degc=30.0)
    assert density == pytest.approx(1.1095, abs=5e-5)


def test_density_altitude_of_standard_air_is_pressure_altitude() -> None:
    assert density_altitude_ft(
        pressure_altitude_ft=4_000.0, isa_deviation_degc=0.0
    ) == pytest.approx(4_000.0, abs=1e-6)


def test_an_aerodrome_at_standard_pressure_lies_at_its_elevation() -> None:
    assert pressure_altitude_ft(elevation_ft=1_200.0, qnh_hpa=1013.25) == pytest.approx(1_200.0)


@given(height_ft=st.floats(BOTTOM_FT, 36_000.0))
def test_pressure_altitude_inverts_pressure(height_ft: float) -> None:
    back_ft = pressure_altitude_of_pressure_ft(float(pressure_pa(height_ft)) / 100.0)
    assert back_ft == pytest.approx(height_ft, abs=1e-6)


@pytest.mark.parametrize("height_ft", [BOTTOM_FT - 1.0, TOP_FT + 1.0, math.nan])
def test_heights_outside_the_standard_raise(height_ft: float) -> None:
    with pytest.raises(OutOfRange, match="pressure_altitude_ft"):
        pressure_ratio(height_ft)


@pytest.mark.parametrize("pressure_hpa", [200.0, 2_000.0])
def test_pressures_outside_the_standard_raise(pressure_hpa: float) -> None:
    with pytest.raises(OutOfRange, match="pressure_hpa"):
        pressure_altitude_of_pressure_ft(pressure_hpa)


def test_an_array_gives_what_its_elements_give() -> None:
    heights_ft = np.array([-1_000.0, 5_000.0, 36_000.0, 45_000.0])
    each = [float(pressure_pa(float(height_ft))) for height_ft in heights_ft]
    assert np.asarray(pressure_pa(heights_ft)) == pytest.approx(each, rel=1e-14)


def test_an_array_with_one_height_outside_raises() -> None:
    with pytest.raises(OutOfRange):
        pressure_ratio(np.array([0.0, TOP_FT + 10.0]))


def test_sea_level_density_is_the_standard_one() -> None:
    """[ICAO-7488]."""
    assert pytest.approx(1.2250, abs=5e-5) == SEA_LEVEL_DENSITY_KG_PER_M3
