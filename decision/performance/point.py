"""One condition of flight: level, speed and temperature, and what follows from them.

The speed law is that of a transport aeroplane: a calibrated airspeed, until that would exceed a
Mach number, which is then held. Everything works on floats and on broadcast arrays.
"""

from __future__ import annotations

from msgspec import Struct

from decision.atmosphere import (
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_TEMPERATURE_K,
    pressure_ratio,
    standard_temperature_ratio,
)
from decision.elementwise import Numbers, choose
from decision.speeds import (
    DYNAMIC,
    cas_acceleration_factor,
    cas_from_mach,
    mach_acceleration_factor,
    mach_from_cas,
    tas_from_mach_kt,
)
from decision.units import MPS_PER_KT


class Point(Struct, frozen=True, kw_only=True, gc=False):
    """Air and speed at a level. `delta` and `theta` are pressure and temperature ratios.

    `acceleration_factor` is (V/g) dV/dh of a climb along the speed law;
    `standard_to_true_height` is pressure altitude gained per true height.
    """

    pressure_altitude_ft: Numbers
    delta: Numbers
    theta: Numbers
    mach: Numbers
    cas_kt: Numbers
    tas_mps: Numbers
    dynamic_pressure_pa: Numbers
    isa_deviation_degc: Numbers
    acceleration_factor: Numbers
    standard_to_true_height: Numbers

    @property
    def tas_kt(self) -> Numbers:
        """True airspeed in knots."""
        return self.tas_mps / MPS_PER_KT


def point(
    *,
    pressure_altitude_ft: Numbers,
    cas_kt: Numbers,
    isa_deviation_degc: Numbers,
    mach_cap: float,
) -> Point:
    """Flight at a speed law: `cas_kt`, or `mach_cap` above the level where it is slower."""
    delta = pressure_ratio(pressure_altitude_ft)
    standard_theta = standard_temperature_ratio(pressure_altitude_ft)
    theta = standard_theta + isa_deviation_degc / SEA_LEVEL_TEMPERATURE_K
    mach_of_cas = mach_from_cas(cas_kt=cas_kt, pressure_ratio=delta)
    law = {
        "temperature_ratio_to_standard": theta / standard_theta,
        "pressure_altitude_ft": pressure_altitude_ft,
    }
    capped = mach_of_cas > mach_cap
    if capped is False:  # a single point, and no need of the other law
        mach, law_cas_kt = mach_of_cas, cas_kt
        acceleration_factor = cas_acceleration_factor(mach=mach, **law)
    else:
        mach = choose(capped, mach_cap + 0.0 * mach_of_cas, mach_of_cas)
        law_cas_kt = choose(capped, cas_from_mach(mach=mach, pressure_ratio=delta), cas_kt)
        acceleration_factor = choose(
            capped,
            mach_acceleration_factor(mach=mach, **law),
            cas_acceleration_factor(mach=mach, **law),
        )
    return Point(
        pressure_altitude_ft=pressure_altitude_ft,
        delta=delta,
        theta=theta,
        mach=mach,
        cas_kt=law_cas_kt,
        tas_mps=tas_from_mach_kt(mach=mach, temperature_k=theta * SEA_LEVEL_TEMPERATURE_K)
        * MPS_PER_KT,
        dynamic_pressure_pa=DYNAMIC * SEA_LEVEL_PRESSURE_PA * delta * mach**2,
        isa_deviation_degc=isa_deviation_degc,
        acceleration_factor=acceleration_factor,
        standard_to_true_height=standard_theta / theta,
    )
