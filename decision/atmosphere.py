"""The ICAO standard atmosphere and its off-standard days, in pressure altitude.

The coordinate is geopotential pressure altitude in feet, as altimetry and the standard use it: on
an off-standard day the pressure of a level is unchanged, its temperature differs by the ISA
deviation and its density follows. Troposphere and lower stratosphere, up to 20 km.
Functions take floats or arrays. Source: [ICAO-7488].
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from decision.elementwise import Numbers, choose, exponential, extent, lesser
from decision.errors import require_range
from decision.units import HPA_PER_INHG, M_PER_FT, PA_PER_HPA

GRAVITY_MPS2: Final = 9.80665  # [ICAO-7488] 2.1
GAS_CONSTANT_J_PER_KG_K: Final = 287.05287  # [ICAO-7488] 2.1
HEAT_RATIO: Final = 1.4  # [ICAO-7488] 2.1
SEA_LEVEL_TEMPERATURE_K: Final = 288.15  # [ICAO-7488] 2.1
SEA_LEVEL_PRESSURE_PA: Final = 101_325.0  # [ICAO-7488] 2.1
LAPSE_K_PER_M: Final = 0.0065  # [ICAO-7488] table D
TROPOPAUSE_M: Final = 11_000.0  # [ICAO-7488] table D
TOP_M: Final = 20_000.0  # [ICAO-7488] table D: the isothermal layer ends
BOTTOM_M: Final = -5_000.0  # [ICAO-7488] lowest tabulated height

SEA_LEVEL_DENSITY_KG_PER_M3: Final = SEA_LEVEL_PRESSURE_PA / (
    GAS_CONSTANT_J_PER_KG_K * SEA_LEVEL_TEMPERATURE_K
)
TROPOPAUSE_FT: Final = TROPOPAUSE_M / M_PER_FT
PRESSURE_EXPONENT: Final = GRAVITY_MPS2 / (LAPSE_K_PER_M * GAS_CONSTANT_J_PER_KG_K)
DENSITY_EXPONENT: Final = PRESSURE_EXPONENT - 1.0
TROPOPAUSE_TEMPERATURE_RATIO: Final = 1.0 - LAPSE_K_PER_M * TROPOPAUSE_M / SEA_LEVEL_TEMPERATURE_K
TROPOPAUSE_PRESSURE_RATIO: Final = TROPOPAUSE_TEMPERATURE_RATIO**PRESSURE_EXPONENT
SCALE_HEIGHT_FT: Final = (
    GAS_CONSTANT_J_PER_KG_K
    * SEA_LEVEL_TEMPERATURE_K
    * TROPOPAUSE_TEMPERATURE_RATIO
    / GRAVITY_MPS2
    / M_PER_FT
)
TEMPERATURE_RATIO_PER_FT: Final = LAPSE_K_PER_M * M_PER_FT / SEA_LEVEL_TEMPERATURE_K
BOTTOM_FT: Final = BOTTOM_M / M_PER_FT
TOP_FT: Final = TOP_M / M_PER_FT


def standard_temperature_ratio(pressure_altitude_ft: Numbers) -> Numbers:
    """Standard temperature over that at sea level. Raises OutOfRange outside -5 to 20 km."""
    if isinstance(pressure_altitude_ft, float):
        return _standard_at(float(pressure_altitude_ft))[0]
    return _temperature_ratio(pressure_altitude_ft)


def pressure_ratio(pressure_altitude_ft: Numbers) -> Numbers:
    """Pressure over that at sea level. Raises OutOfRange outside -5 to 20 km."""
    if isinstance(pressure_altitude_ft, float):
        return _standard_at(float(pressure_altitude_ft))[1]
    return _pressure_ratio(pressure_altitude_ft)


@lru_cache(maxsize=4096)
def _standard_at(pressure_altitude_ft: float) -> tuple[Numbers, Numbers]:
    """Both ratios at one height: a decision asks for the same few again and again."""
    return _temperature_ratio(pressure_altitude_ft), _pressure_ratio(pressure_altitude_ft)


def _temperature_ratio(pressure_altitude_ft: Numbers) -> Numbers:
    lowest_ft, highest_ft = extent(pressure_altitude_ft)
    for edge_ft in (lowest_ft, highest_ft):
        require_range(
            "pressure_altitude_ft", edge_ft, low=BOTTOM_FT, high=TOP_FT, source="ICAO-7488"
        )
    return 1.0 - TEMPERATURE_RATIO_PER_FT * lesser(pressure_altitude_ft, TROPOPAUSE_FT)


def _pressure_ratio(pressure_altitude_ft: Numbers) -> Numbers:
    below = _temperature_ratio(pressure_altitude_ft) ** PRESSURE_EXPONENT
    highest_ft = extent(pressure_altitude_ft)[1]
    if highest_ft <= TROPOPAUSE_FT:
        return below
    above_ft = pressure_altitude_ft - TROPOPAUSE_FT
    above = TROPOPAUSE_PRESSURE_RATIO * exponential(-above_ft / SCALE_HEIGHT_FT)
    return choose(above_ft <= 0.0, below, above)


def pressure_pa(pressure_altitude_ft: Numbers) -> Numbers:
    """Static pressure. Raises OutOfRange outside -5 to 20 km."""
    return SEA_LEVEL_PRESSURE_PA * pressure_ratio(pressure_altitude_ft)


def temperature_k(*, pressure_altitude_ft: Numbers, isa_deviation_degc: Numbers = 0.0) -> Numbers:
    """Air temperature at a level. Raises OutOfRange outside -5 to 20 km."""
    standard = SEA_LEVEL_TEMPERATURE_K * standard_temperature_ratio(pressure_altitude_ft)
    return standard + isa_deviation_degc


def isa_deviation_degc(*, pressure_altitude_ft: float, temperature_k: float) -> float:
    """How much warmer the air is than standard. Raises OutOfRange outside -5 to 20 km."""
    standard = SEA_LEVEL_TEMPERATURE_K * standard_temperature_ratio(pressure_altitude_ft)
    return float(temperature_k - standard)


def density_kg_per_m3(
    *, pressure_altitude_ft: Numbers, isa_deviation_degc: Numbers = 0.0
) -> Numbers:
    """Air density at a level. Raises OutOfRange outside -5 to 20 km."""
    temperature = temperature_k(
        pressure_altitude_ft=pressure_altitude_ft, isa_deviation_degc=isa_deviation_degc
    )
    return pressure_pa(pressure_altitude_ft) / (GAS_CONSTANT_J_PER_KG_K * temperature)


def pressure_altitude_of_pressure_ft(pressure_hpa: float) -> float:
    """The level at which the standard atmosphere has this pressure, in the troposphere.

    Raises OutOfRange outside the pressures of -5 to 11 km.
    """
    low = TROPOPAUSE_PRESSURE_RATIO * SEA_LEVEL_PRESSURE_PA / PA_PER_HPA
    high = float(pressure_pa(BOTTOM_FT)) / PA_PER_HPA
    require_range("pressure_hpa", pressure_hpa, low=low, high=high, source="ICAO-7488")
    ratio = pressure_hpa * PA_PER_HPA / SEA_LEVEL_PRESSURE_PA
    temperature_ratio: float = ratio ** (1.0 / PRESSURE_EXPONENT)
    return (1.0 - temperature_ratio) / TEMPERATURE_RATIO_PER_FT


def pressure_altitude_ft(*, elevation_ft: float, qnh_hpa: float) -> float:
    """Pressure altitude of an elevation at a QNH. Raises OutOfRange on an impossible QNH."""
    return elevation_ft + pressure_altitude_of_pressure_ft(qnh_hpa)


def pressure_altitude_from_inhg_ft(*, elevation_ft: float, altimeter_inhg: float) -> float:
    """Pressure altitude of an elevation at an altimeter setting in inches of mercury."""
    return pressure_altitude_ft(elevation_ft=elevation_ft, qnh_hpa=altimeter_inhg * HPA_PER_INHG)


def density_altitude_ft(*, pressure_altitude_ft: float, isa_deviation_degc: float) -> float:
    """The level at which the standard troposphere has the density of this air."""
    density = density_kg_per_m3(
        pressure_altitude_ft=pressure_altitude_ft, isa_deviation_degc=isa_deviation_degc
    )
    ratio = float(density) / SEA_LEVEL_DENSITY_KG_PER_M3
    temperature_ratio: float = ratio ** (1.0 / DENSITY_EXPONENT)
    return (1.0 - temperature_ratio) / TEMPERATURE_RATIO_PER_FT
