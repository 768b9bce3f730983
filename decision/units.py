"""Conversions between the units of the trade and SI, from exact definitions.

The only place in the project where a conversion factor stands. Each layer speaks one set of units
(physics SI, rules the unit printed in the rule); values cross here and nowhere else.
Every function takes a float or a NumPy array and returns the same kind.
"""

from __future__ import annotations

from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt

Real = TypeVar("Real", float, npt.NDArray[np.float64])

M_PER_FT: Final = 0.3048  # international foot, exact by definition
M_PER_NM: Final = 1852.0  # international nautical mile, exact by definition
M_PER_STATUTE_MILE: Final = 1609.344  # 5280 ft, exact by definition
S_PER_H: Final = 3600.0
S_PER_MIN: Final = 60.0
MIN_PER_H: Final = 60.0
MPS_PER_KT: Final = M_PER_NM / S_PER_H
KT_PER_KMH: Final = 1000.0 / M_PER_NM
PA_PER_HPA: Final = 100.0
HPA_PER_INHG: Final = 33.86389  # conventional inch of mercury, as used for altimeter settings
PA_PER_PSI: Final = 6894.757293168
K_AT_0_DEGC: Final = 273.15  # ITS-90, exact by definition
FT_PER_FLIGHT_LEVEL: Final = 100.0
FT_PER_NM: Final = M_PER_NM / M_PER_FT  # 6076.1
PERCENT: Final = 100.0
KG_PER_TONNE: Final = 1000.0


def ft_to_m(value_ft: Real) -> Real:
    """Feet to metres."""
    return value_ft * M_PER_FT


def m_to_ft(value_m: Real) -> Real:
    """Metres to feet."""
    return value_m / M_PER_FT


def m_to_nm(value_m: Real) -> Real:
    """Metres to nautical miles."""
    return value_m / M_PER_NM


def kt_to_mps(value_kt: Real) -> Real:
    """Knots to metres per second."""
    return value_kt * MPS_PER_KT


def mps_to_kt(value_mps: Real) -> Real:
    """Metres per second to knots."""
    return value_mps / MPS_PER_KT


def kmh_to_kt(value_kmh: Real) -> Real:
    """Kilometres per hour to knots."""
    return value_kmh * KT_PER_KMH


def statute_miles_to_m(value_sm: Real) -> Real:
    """Statute miles to metres."""
    return value_sm * M_PER_STATUTE_MILE


def degc_to_k(value_degc: Real) -> Real:
    """Degrees Celsius to kelvins."""
    return value_degc + K_AT_0_DEGC


def k_to_degc(value_k: Real) -> Real:
    """Kelvins to degrees Celsius."""
    return value_k - K_AT_0_DEGC


def inhg_to_hpa(value_inhg: Real) -> Real:
    """Inches of mercury to hectopascals."""
    return value_inhg * HPA_PER_INHG


def mps_to_fpm(value_mps: Real) -> Real:
    """Metres per second to feet per minute."""
    return value_mps / M_PER_FT * S_PER_MIN


def fpm_to_mps(value_fpm: Real) -> Real:
    """Feet per minute to metres per second."""
    return value_fpm * M_PER_FT / S_PER_MIN


def percent_to_ft_per_nm(gradient_percent: Real) -> Real:
    """Gradient in percent to feet per nautical mile; 2.5 % is 152 ft/NM."""
    return gradient_percent / PERCENT * FT_PER_NM
