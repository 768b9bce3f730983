"""Drag of the aircraft as it is: clean polar, gear, doors, flaps, slats, a stopped engine, Mach.

`CD = CD0 + k CL^2` with increments per configuration, a drag rise above the critical Mach number,
and the fin's induced drag that holds the yaw of one engine. Assumptions: lift equals weight (path
angles to 7 degrees cost less than 1 % of the induced part), coordinated flight, centre of gravity
as in the polar.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from decision.atmosphere import GRAVITY_MPS2
from decision.elementwise import Numbers, greater
from decision.performance.configuration import Configuration
from decision.performance.point import Point
from decision.profile import Profile

# Korn's relation extended for sweep, and the fourth-power drag rise [GUR-2010] eq. 15, 17
LIFT_SHARE_OF_CRITICAL_MACH: Final = 0.1
CRITICAL_TO_DIVERGENCE_MACH: Final = (0.1 / 80.0) ** (1.0 / 3.0)  # 0.108
DRAG_RISE: Final = 20.0
DRAG_RISE_POWER: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfiguredPolar:
    """Drag coefficients of one configuration.

    `cd0` includes `gear_cd` and `windmill_cd`; `yaw_factor` is 0 with all engines running.
    """

    cd0: float
    k: float
    gear_cd: float
    windmill_cd: float
    yaw_factor: float


@lru_cache(maxsize=512)
def configured_polar(profile: Profile, configuration: Configuration) -> ConfiguredPolar:
    """The polar of a configuration. Raises ValueError on a flap detent that does not exist."""
    detent = profile.detent(configuration.flap)
    gear_cd = gear_drag_coefficient(
        profile, configuration=configuration, deflection_deg=detent.deflection_deg
    )
    stopped = profile.engine.count - configuration.engines_running
    windmill_cd = stopped * profile.engine_out.windmill_cd
    slats_cd = profile.slats.cd0 if configuration.slats_out else 0.0
    increments = gear_cd + windmill_cd + slats_cd + detent.cd0 + configuration.drag_increment
    return ConfiguredPolar(
        cd0=profile.polar.cd0 + increments,
        k=induced_factor(profile, deflection_deg=detent.deflection_deg),
        gear_cd=gear_cd,
        windmill_cd=windmill_cd,
        yaw_factor=stopped * yaw_drag_factor(profile),
    )


def gear_drag_coefficient(
    profile: Profile, *, configuration: Configuration, deflection_deg: float
) -> float:
    """Drag of the extended gear: linear from flaps up to full flap, which shield it.

    Source: [MAIR-BIRDSALL] eq. 6.1 for both ends; doors [ASSUMED] in the profile.
    """
    doors_cd = profile.gear.doors_open_cd if configuration.gear_doors_open else 0.0
    if not configuration.gear_down:
        return doors_cd
    share = deflection_deg / profile.full_flap_deg
    gear = profile.gear
    return gear.flaps_up_cd + (gear.flaps_full_cd - gear.flaps_up_cd) * share + doors_cd


def induced_factor(profile: Profile, *, deflection_deg: float) -> float:
    """Induced factor k with flaps, which raise the span efficiency. Source: [OBERT]."""
    gain = profile.polar.flap_efficiency_per_deg * deflection_deg
    return 1.0 / (1.0 / profile.polar.k + math.pi * profile.wing.aspect_ratio * gain)


def yaw_drag_factor(profile: Profile) -> float:
    """Drag per (thrust coefficient + windmill drag) squared: the fin balances the yawing moment.

    The fin's side force is the moment over its arm, its drag the induced drag of a wing of the
    fin's span. Source: [TORENBEEK].
    """
    out = profile.engine_out
    arms = (profile.engine.arm_m / out.fin_arm_m) ** 2
    return arms * profile.wing.area_m2 / (math.pi * out.fin_span_m**2)


def lift_coefficient(profile: Profile, *, mass_kg: Numbers, at: Point) -> Numbers:
    """Lift coefficient in unaccelerated flight."""
    return mass_kg * GRAVITY_MPS2 / (at.dynamic_pressure_pa * profile.wing.area_m2)


def drag_rise_coefficient(profile: Profile, *, mach: Numbers, cl: Numbers) -> Numbers:
    """Compressibility drag above the critical Mach number. Source: [GUR-2010]."""
    thick, cosine_cube = _swept(profile)
    critical = thick - LIFT_SHARE_OF_CRITICAL_MACH * cl / cosine_cube - CRITICAL_TO_DIVERGENCE_MACH
    return DRAG_RISE * greater(mach - critical, 0.0) ** DRAG_RISE_POWER


@lru_cache(maxsize=16)
def _swept(profile: Profile) -> tuple[float, float]:
    """What a swept wing without lift has of Korn's relation, and the cube of its cosine."""
    cosine = math.cos(math.radians(profile.wing.sweep_deg))
    thick = profile.polar.technology_factor / cosine - profile.wing.thickness_ratio / cosine**2
    return thick, cosine**3


def symmetric_drag_coefficient(
    profile: Profile, polar: ConfiguredPolar, *, mass_kg: Numbers, at: Point, extra_cd: Numbers
) -> Numbers:
    """Everything but the drag of holding the yaw."""
    cl = lift_coefficient(profile, mass_kg=mass_kg, at=at)
    rise = drag_rise_coefficient(profile, mach=at.mach, cl=cl)
    return polar.cd0 + extra_cd + polar.k * cl**2 + rise


def drag_n(
    profile: Profile,
    polar: ConfiguredPolar,
    *,
    mass_kg: Numbers,
    at: Point,
    thrust_n: Numbers | None,
    extra_cd: Numbers = 0.0,
) -> Numbers:
    """Drag with a given total thrust, or in level flight (thrust equal to drag) when None.

    With yaw to hold, level flight solves `C = c + f (C + w)^2` for the total coefficient C.
    """
    area_n = at.dynamic_pressure_pa * profile.wing.area_m2
    symmetric = symmetric_drag_coefficient(
        profile, polar, mass_kg=mass_kg, at=at, extra_cd=extra_cd
    )
    if polar.yaw_factor == 0.0:
        return symmetric * area_n
    factor, windmill = polar.yaw_factor, polar.windmill_cd
    if thrust_n is not None:
        return (symmetric + factor * (thrust_n / area_n + windmill) ** 2) * area_n
    root = (1.0 - 4.0 * factor * (symmetric + windmill)) ** 0.5
    return ((1.0 - root) / (2.0 * factor) - windmill) * area_n
