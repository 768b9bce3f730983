"""Calibrated, true and equivalent airspeed, Mach number, and what a speed law does to a climb.

Compressible subsonic pitot relations for a perfect gas; calibrated airspeed is read against the
standard sea-level pressure. Functions take floats or arrays; speeds in knots.
Source: constants of [ICAO-7488]; relations of textbook gas dynamics.
"""

from __future__ import annotations

from typing import Final

from decision.atmosphere import (
    GAS_CONSTANT_J_PER_KG_K,
    GRAVITY_MPS2,
    HEAT_RATIO,
    LAPSE_K_PER_M,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_TEMPERATURE_K,
    TROPOPAUSE_FT,
    pressure_altitude_of_pressure_ft,
)
from decision.elementwise import Numbers, choose, power
from decision.errors import OutOfRange
from decision.units import MPS_PER_KT, PA_PER_HPA

SOUND_KT_PER_SQRT_K: Final[float] = (HEAT_RATIO * GAS_CONSTANT_J_PER_KG_K) ** 0.5 / MPS_PER_KT
SEA_LEVEL_SOUND_KT: Final[float] = SOUND_KT_PER_SQRT_K * SEA_LEVEL_TEMPERATURE_K**0.5
RAM: Final = (HEAT_RATIO - 1.0) / 2.0  # total temperature rise per Mach squared, 0.2
TOTAL_EXPONENT: Final = HEAT_RATIO / (HEAT_RATIO - 1.0)  # total over static pressure, 3.5
DYNAMIC: Final = HEAT_RATIO / 2.0  # dynamic over static pressure per Mach squared, 0.7
TROPOSPHERE_FACTOR: Final = DYNAMIC * GAS_CONSTANT_J_PER_KG_K * LAPSE_K_PER_M / GRAVITY_MPS2
"""Loss of true airspeed with height at constant Mach number per Mach squared, 0.1332."""


def sound_speed_kt(temperature_k: Numbers) -> Numbers:
    """Speed of sound."""
    return SOUND_KT_PER_SQRT_K * power(temperature_k, 0.5)


def mach_from_cas(*, cas_kt: Numbers, pressure_ratio: Numbers) -> Numbers:
    """Mach number of a calibrated airspeed at a static pressure (over that at sea level)."""
    sea_level = (1.0 + RAM * (cas_kt / SEA_LEVEL_SOUND_KT) ** 2) ** TOTAL_EXPONENT - 1.0
    total = (sea_level / pressure_ratio + 1.0) ** (1.0 / TOTAL_EXPONENT)
    return power((total - 1.0) / RAM, 0.5)


def cas_from_mach(*, mach: Numbers, pressure_ratio: Numbers) -> Numbers:
    """Calibrated airspeed of a Mach number at a static pressure (over that at sea level)."""
    impact = pressure_ratio * ((1.0 + RAM * mach**2) ** TOTAL_EXPONENT - 1.0)
    total = (impact + 1.0) ** (1.0 / TOTAL_EXPONENT)
    return SEA_LEVEL_SOUND_KT * power((total - 1.0) / RAM, 0.5)


def tas_from_mach_kt(*, mach: Numbers, temperature_k: Numbers) -> Numbers:
    """True airspeed of a Mach number."""
    return mach * sound_speed_kt(temperature_k)


def mach_from_eas(*, eas_kt: Numbers, pressure_ratio: Numbers) -> Numbers:
    """Mach number of an equivalent airspeed: equal dynamic pressure 0.7 p M^2."""
    return eas_kt / SEA_LEVEL_SOUND_KT / power(pressure_ratio, 0.5)


def crossover_pressure_altitude_ft(*, cas_kt: float, mach: float) -> float:
    """Where a calibrated airspeed and a Mach number are the same speed, in the troposphere.

    Raises OutOfRange if they meet above the tropopause or below the standard's lowest level.
    """
    sea_level = (1.0 + RAM * (cas_kt / SEA_LEVEL_SOUND_KT) ** 2) ** TOTAL_EXPONENT - 1.0
    ratio = sea_level / ((1.0 + RAM * mach**2) ** TOTAL_EXPONENT - 1.0)
    return pressure_altitude_of_pressure_ft(ratio * SEA_LEVEL_PRESSURE_PA / PA_PER_HPA)


class NoHeadway(OutOfRange):
    """A wind that is too strong for the airspeed to get anywhere along the track."""


def ground_speed_kt(*, tas_kt: float, headwind_kt: float, crosswind_kt: float) -> float:
    """Ground speed along a track. Raises NoHeadway if the wind does not leave any."""
    if abs(crosswind_kt) > tas_kt:
        raise NoHeadway("crosswind_kt", abs(crosswind_kt), low=0.0, high=tas_kt)
    along_kt: float = (tas_kt**2 - crosswind_kt**2) ** 0.5
    if headwind_kt >= along_kt:
        raise NoHeadway("headwind_kt", headwind_kt, low=-along_kt, high=along_kt)
    return along_kt - headwind_kt


def cas_acceleration_factor(
    *, mach: Numbers, temperature_ratio_to_standard: Numbers, pressure_altitude_ft: Numbers
) -> Numbers:
    """(V/g) dV/dh of a climb at constant calibrated airspeed.

    `temperature_ratio_to_standard` is the air temperature over the standard one at the level.
    """
    growth = 1.0 + RAM * mach**2
    rise = (growth**TOTAL_EXPONENT - 1.0) / growth ** (TOTAL_EXPONENT - 1.0)
    return rise + mach_acceleration_factor(
        mach=mach,
        temperature_ratio_to_standard=temperature_ratio_to_standard,
        pressure_altitude_ft=pressure_altitude_ft,
    )


def mach_acceleration_factor(
    *, mach: Numbers, temperature_ratio_to_standard: Numbers, pressure_altitude_ft: Numbers
) -> Numbers:
    """(V/g) dV/dh of a climb at constant Mach number: negative in the troposphere, else 0."""
    loss = -TROPOSPHERE_FACTOR * mach**2 / temperature_ratio_to_standard
    return choose(pressure_altitude_ft < TROPOPAUSE_FT, loss, 0.0 * loss)
