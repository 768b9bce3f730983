"""How much friction the braked wheels find: runway condition code, tyre pressure, anti-skid, speed.

Codes 6 to 0 follow [AC25-32] table 2 (data/tables/wheel_braking.csv). On a wet runway the maximum
coefficient is the polynomial of [CFR-25-109-POLY] in true ground speed for the tyre pressure, times
the efficiency of the anti-skid system [CFR-25]; it is capped at the dry coefficient, which it
would exceed at low speed. On deep water or slush the tyres plane above 0.85 of the hydroplaning
speed [NASA-TN-D-2056]. The fixed coefficients hold for fully modulating anti-skid; a lesser system
finds them in the ratio of the efficiencies (0.625 quasi-modulating, 0.375 on-off).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import pairwise
from typing import Final, assert_never

import numpy as np

from decision.elementwise import FloatArray, Numbers, extent
from decision.errors import OutOfRange, require_range
from decision.profile.types import Profile
from decision.quantities import AntiSkid
from decision.tables import Row, rows
from decision.units import kt_to_mps, mps_to_kt

WET_FILE: Final = "wet_braking.csv"
ANTI_SKID_FILE: Final = "anti_skid.csv"
CODE_FILE: Final = "wheel_braking.csv"
BETTER_CODE: Final = "never_better_than_code"
ICE_CODE: Final = 1  # the one code for which the authorities print different coefficients

POLYNOMIAL_UNIT_KT: Final = 100.0  # [CFR-25-109-POLY] the polynomials are in V/100
MAX_WET_SPEED_KT: Final = 220.0  # all four polynomials still fall with speed up to here
SPIN_DOWN_KT_PER_SQRT_PSI: Final = 9.0  # [NASA-TN-D-2056] a rolling tyre begins to plane
SPIN_UP_KT_PER_SQRT_PSI: Final = 7.7  # [NASA-TN-D-2056] a tyre that touches down planing
PLANING_SPEED_RATIO: Final = 0.85  # [AC25-32] table 2, code 2
PLANING_WET_RATIO: Final = 0.5  # [AC25-32] table 2, code 2, below that speed

Cubic = tuple[float, float, float, float]
"""Coefficients of the third, second, first and zeroth power."""


class BrakingMethod(StrEnum):
    """How the coefficient of a runway condition code is found."""

    DRY = "dry"
    WET = "wet"
    FIXED = "fixed"
    PLANING = "planing"
    NO_OPERATION = "no_operation"


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionLaw:
    """Braking coefficient over ground speed: a cubic under a ceiling, and a constant when planing.

    `cubic` holds the coefficients of v^3, v^2, v, 1 for v in m/s, None where only the ceiling
    counts; `planing_from_mps` is infinite where tyres do not plane.
    """

    ceiling: float
    cubic: Cubic | None = None
    planing_from_mps: float = math.inf
    planing_coefficient: float = 0.0

    def rolling_tyre(self, ground_speed_mps: FloatArray) -> Numbers:
        """The coefficient of a tyre that does not plane."""
        if self.cubic is None:
            return self.ceiling
        a, b, c, d = self.cubic
        v = ground_speed_mps
        return np.minimum(((a * v + b) * v + c) * v + d, self.ceiling)


def governing_code(thirds: Sequence[int]) -> int:
    """The runway condition code that governs a full-length landing: the worst third."""
    return min(thirds)


def hydroplaning_speed_kt(*, tyre_pressure_psi: float, spin_up: bool = False) -> float:
    """Ground speed at which water carries a tyre: rolling, or (`spin_up`) on touching down."""
    factor = SPIN_UP_KT_PER_SQRT_PSI if spin_up else SPIN_DOWN_KT_PER_SQRT_PSI
    return factor * math.sqrt(tyre_pressure_psi)


def wet_friction(
    *, ground_speed_kt: Numbers, tyre_pressure_psi: float, anti_skid: AntiSkid = AntiSkid.FULL
) -> Numbers:
    """Braking coefficient on a wet smooth runway, before the cap at the dry one.

    Valid: 50 to 300 psi, 0 to 220 kt. Raises: OutOfRange. Source: [CFR-25-109-POLY], [CFR-25].
    """
    for edge_kt in extent(ground_speed_kt):
        require_range("ground_speed_kt", edge_kt, low=0.0, high=MAX_WET_SPEED_KT)
    a, b, c, d = _wet_polynomial(tyre_pressure_psi)
    x = ground_speed_kt / POLYNOMIAL_UNIT_KT
    return efficiency_ratio(anti_skid) * (((a * x + b) * x + c) * x + d)


def efficiency_ratio(anti_skid: AntiSkid) -> float:
    """Efficiency of an anti-skid system on a wet runway. Source: data/tables/anti_skid.csv."""
    return _efficiencies()[anti_skid]


def friction_laws(
    profile: Profile,
    *,
    condition_code: int,
    anti_skid: AntiSkid,
    ice_coefficient: float | None = None,
) -> tuple[FrictionLaw, ...]:
    """The law of a runway condition code, and that of a better code it may not outdo.

    `ice_coefficient`: that of code 1 by a rulebook, with fully modulating anti-skid; None: the
    table's.

    A worse code must never be credited with a shorter distance, so where the table names a code
    whose law can brake less at some speed, both are to be tried and the longer distance taken.
    Code 0, on which nobody lands, has no law. Raises: OutOfRange on any other code than 6 to 0.
    """
    codes = _codes()
    if condition_code not in codes:
        low, high = min(codes), max(codes)
        raise OutOfRange("condition_code", condition_code, low=low, high=high, source="AC25-32")
    on_ice = ice_coefficient if condition_code == ICE_CODE else None
    return _laws(profile, condition_code, anti_skid, on_ice)


@cache
def _laws(
    profile: Profile, condition_code: int, anti_skid: AntiSkid, coefficient: float | None = None
) -> tuple[FrictionLaw, ...]:
    row = _codes()[condition_code]
    own = _law(profile, row, anti_skid, coefficient)
    if own is None:
        return ()
    if not row.cells[BETTER_CODE]:
        return (own,)
    return (own, *_laws(profile, int(row.number(BETTER_CODE)), anti_skid))


def _law(
    profile: Profile, row: Row, anti_skid: AntiSkid, coefficient: float | None
) -> FrictionLaw | None:
    method = row.kind("method", BrakingMethod)
    match method:
        case BrakingMethod.DRY:
            return FrictionLaw(ceiling=_dry_coefficient(profile, anti_skid))
        case BrakingMethod.WET:
            return FrictionLaw(
                ceiling=_dry_coefficient(profile, anti_skid),
                cubic=_wet_cubic(profile.tyres.pressure_psi, anti_skid),
            )
        case BrakingMethod.FIXED:
            fixed = row.number("coefficient") if coefficient is None else coefficient
            return FrictionLaw(ceiling=fixed * _share_of_full(anti_skid))
        case BrakingMethod.PLANING:
            return _planing_law(profile, row, anti_skid)
        case BrakingMethod.NO_OPERATION:
            return None
        case _:
            assert_never(method)


def _planing_law(profile: Profile, row: Row, anti_skid: AntiSkid) -> FrictionLaw:
    """Half the wet coefficient, but no more than the table's, up to the planing speed."""
    pressure_psi, share = profile.tyres.pressure_psi, _share_of_full(anti_skid)
    a, b, c, d = (PLANING_WET_RATIO * term for term in _wet_cubic(pressure_psi, anti_skid))
    half_dry = PLANING_WET_RATIO * _dry_coefficient(profile, anti_skid)
    planing_kt = PLANING_SPEED_RATIO * hydroplaning_speed_kt(tyre_pressure_psi=pressure_psi)
    return FrictionLaw(
        ceiling=min(row.number("coefficient") * share, half_dry),
        cubic=(a, b, c, d),
        planing_from_mps=kt_to_mps(planing_kt),
        planing_coefficient=row.number("planing_coefficient") * share,
    )


def _dry_coefficient(profile: Profile, anti_skid: AntiSkid) -> float:
    """In-service dry coefficient; certified with the anti-skid system as delivered."""
    share = efficiency_ratio(anti_skid) / efficiency_ratio(profile.tyres.anti_skid)
    return profile.brakes.dry_friction * profile.brakes.in_service_ratio * share


def _share_of_full(anti_skid: AntiSkid) -> float:
    return efficiency_ratio(anti_skid) / efficiency_ratio(AntiSkid.FULL)


def _wet_cubic(pressure_psi: float, anti_skid: AntiSkid) -> Cubic:
    """The wet polynomial times the efficiency, in powers of m/s instead of 100 kt."""
    unit, eta = mps_to_kt(1.0) / POLYNOMIAL_UNIT_KT, efficiency_ratio(anti_skid)
    a, b, c, d = _wet_polynomial(pressure_psi)
    return eta * a * unit**3, eta * b * unit**2, eta * c * unit, eta * d


def _wet_polynomial(pressure_psi: float) -> Cubic:
    """Coefficients at a tyre pressure, linear between the tabulated ones."""
    table = _wet_polynomials()
    low_psi, high_psi = table[0][0], table[-1][0]
    require_range("tyre_pressure_psi", pressure_psi, low=low_psi, high=high_psi, source="CFR-25")
    (below_psi, below), (above_psi, above) = next(
        pair for pair in pairwise(table) if pressure_psi <= pair[1][0]
    )
    share = (pressure_psi - below_psi) / (above_psi - below_psi)
    a, b, c, d = (low + share * (high - low) for low, high in zip(below, above, strict=True))
    return a, b, c, d


@cache
def _wet_polynomials() -> tuple[tuple[float, Cubic], ...]:
    columns = ("cubic", "square", "linear", "constant")
    wanted = frozenset({"tyre_pressure_psi", *columns})
    table = []
    for row in rows(WET_FILE, columns=wanted):
        a, b, c, d = (row.number(column) for column in columns)
        table.append((row.number("tyre_pressure_psi"), (a, b, c, d)))
    return tuple(sorted(table))


@cache
def _efficiencies() -> Mapping[AntiSkid, float]:
    columns = frozenset({"anti_skid", "efficiency_ratio"})
    return {
        row.kind("anti_skid", AntiSkid): row.number("efficiency_ratio")
        for row in rows(ANTI_SKID_FILE, columns=columns)
    }


@cache
def _codes() -> Mapping[int, Row]:
    columns = {"condition_code", "method", "coefficient", "planing_coefficient", BETTER_CODE}
    table = rows(CODE_FILE, columns=frozenset(columns))
    return {int(row.number("condition_code")): row for row in table}
