"""From 50 ft to the stop: the physics of one landing, with whatever has failed, jointly.

Air distance: a flare time [AC25-32] at the mean of approach and touchdown speed. Transition: until
all devices act, at touchdown speed. Ground roll: V dV / a, by Gauss-Legendre quadrature on each
stretch of speed without a jump (reversers at cut-back, tyres that plane), with

    a = [braking + drag + reverse - idle thrust] / m + g slope,
    braking = coefficient x load share x working brakes x (weight - lift), at most the brake force.

Expected accuracy: 10 % on a dry runway, 20 % on a contaminated one.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from decision.atmosphere import (
    GRAVITY_MPS2,
    SEA_LEVEL_DENSITY_KG_PER_M3,
    SEA_LEVEL_TEMPERATURE_K,
    pressure_ratio,
    standard_temperature_ratio,
)
from decision.elementwise import BoolArray, FloatArray
from decision.performance.braking import FrictionLaw, friction_laws
from decision.performance.configuration import clean
from decision.performance.drag import configured_polar
from decision.performance.envelope import stall_speed_per_sqrt_kg
from decision.profile import Profile
from decision.quantities import AntiSkid
from decision.units import PERCENT, kt_to_mps

N_PER_KN: Final = 1e3

NODES_PER_STRETCH: Final = 64  # error below 0.01 % with the kinks that caps leave inside
_ABSCISSAE, _WEIGHTS = np.polynomial.legendre.leggauss(NODES_PER_STRETCH)
_SHARES: Final[FloatArray] = (_ABSCISSAE + 1.0) / 2.0
_SHARE_WEIGHTS: Final[FloatArray] = _WEIGHTS / 2.0


class LandingSetting(Struct, frozen=True, kw_only=True, gc=False):
    """Everything that shapes one landing but the profile."""

    mass_kg: float
    flap: str
    slats_out: bool
    pressure_altitude_ft: float
    isa_deviation_degc: float
    condition_code: int
    headwind_kt: float
    slope_percent: float
    spoilers: float
    reversers: int
    brakes_fraction: float
    anti_skid: AntiSkid
    speed_increment_kt: float
    ice_coefficient: float | None = None


class Roll(Struct, frozen=True, kw_only=True, gc=False):
    """A ground roll to the stop."""

    metres: float
    brake_energy_j: float


class Stop(Struct, frozen=True, kw_only=True, gc=False):
    """A landing by physics alone; no roll when it does not come to a stop.

    `approach_kt`: calibrated speed at 50 ft, with what a failure adds.
    """

    approach_kt: float
    air_m: float
    transition_m: float
    touchdown_mps: float
    roll: Roll | None

    @property
    def distance_m(self) -> float | None:
        """From 50 ft to the stop; None if there is none."""
        return None if self.roll is None else self.air_m + self.transition_m + self.roll.metres


def approach_speed_kt(profile: Profile, *, mass_kg: float, flap: str, slats_out: bool) -> float:
    """Calibrated speed at 50 ft: 1.23 times the stall speed of the position. Source: [CFR-25]."""
    per_sqrt_kg = _stall_speed_per_sqrt_kg(profile, flap, slats_out)
    return profile.speeds.approach_ratio * (per_sqrt_kg * math.sqrt(mass_kg))


@lru_cache(maxsize=256)
def _stall_speed_per_sqrt_kg(profile: Profile, flap: str, slats_out: bool) -> float:
    return stall_speed_per_sqrt_kg(profile, replace(clean(profile), flap=flap, slats_out=slats_out))


def flown_speed_kt(profile: Profile, setting: LandingSetting) -> float:
    """Calibrated speed at 50 ft with what a failure adds."""
    return setting.speed_increment_kt + approach_speed_kt(
        profile, mass_kg=setting.mass_kg, flap=setting.flap, slats_out=setting.slats_out
    )


class _Touchdown(Struct, frozen=True, kw_only=True, gc=False):
    """Ground speed and air at touchdown; ratios to the standard sea level."""

    ground_speed_mps: float
    headwind_mps: float
    density_ratio: float
    pressure_ratio: float


def stop(profile: Profile, setting: LandingSetting) -> Stop:
    """The landing by physics."""
    data = profile.landing
    delta = float(pressure_ratio(setting.pressure_altitude_ft))
    standard_theta = float(standard_temperature_ratio(setting.pressure_altitude_ft))
    theta = standard_theta + setting.isa_deviation_degc / SEA_LEVEL_TEMPERATURE_K
    approach_kt = flown_speed_kt(profile, setting)
    approach_mps = kt_to_mps(approach_kt) / math.sqrt(delta / theta)
    headwind_mps = kt_to_mps(setting.headwind_kt)
    flare_mps = (1.0 + data.touchdown_speed_ratio) / 2.0 * approach_mps - headwind_mps
    touchdown = _Touchdown(
        ground_speed_mps=data.touchdown_speed_ratio * approach_mps - headwind_mps,
        headwind_mps=headwind_mps,
        density_ratio=delta / theta,
        pressure_ratio=delta,
    )
    return Stop(
        approach_kt=approach_kt,
        air_m=data.flare_s * flare_mps,
        transition_m=data.transition_s * touchdown.ground_speed_mps,
        touchdown_mps=touchdown.ground_speed_mps,
        roll=_longest_roll(profile, setting, touchdown),
    )


def laws(profile: Profile, setting: LandingSetting) -> tuple[FrictionLaw, ...]:
    """How the tyres may grip; none on a surface of no operation."""
    return friction_laws(
        profile,
        condition_code=setting.condition_code,
        anti_skid=setting.anti_skid,
        ice_coefficient=setting.ice_coefficient,
    )


def _longest_roll(profile: Profile, setting: LandingSetting, touchdown: _Touchdown) -> Roll | None:
    """The longest of the rolls; None if there is none or one has no end."""
    rolls = []
    for law in laws(profile, setting):
        roll = _roll(profile, setting, law, touchdown)
        if roll is None:
            return None
        rolls.append(roll)
    return max(rolls, key=lambda roll: roll.metres, default=None)


def _roll(
    profile: Profile, setting: LandingSetting, law: FrictionLaw, touchdown: _Touchdown
) -> Roll | None:
    """From touchdown speed to the stop; None if some speed is never left."""
    stretches = _stretches(profile, setting, law, touchdown)
    speed = stretches.low_mps + stretches.span_mps * _SHARES
    through_air_mps = speed + touchdown.headwind_mps
    if touchdown.headwind_mps < 0.0:
        through_air_mps = np.maximum(through_air_mps, 0.0)
    wind_square = through_air_mps * through_air_mps
    cl, cd = _ground_coefficients(profile, setting.flap, setting.slats_out, setting.spoilers)
    area = 0.5 * SEA_LEVEL_DENSITY_KG_PER_M3 * touchdown.density_ratio * profile.wing.area_m2
    on_wheels_n = np.maximum(setting.mass_kg * GRAVITY_MPS2 - area * cl * wind_square, 0.0)
    brakes, working = profile.brakes, setting.brakes_fraction
    friction = law.rolling_tyre(speed)
    if stretches.planing is not None:
        friction = np.where(stretches.planing, law.planing_coefficient, friction)
    braking_n = np.minimum(
        friction * (brakes.load_share * working) * on_wheels_n,
        brakes.force_limit_kn * N_PER_KN * working,
    )
    wheels_n = np.maximum(braking_n, brakes.rolling_friction * on_wheels_n)
    retarding_n = wheels_n + area * cd * wind_square + stretches.reverse_n
    slope_mps2 = GRAVITY_MPS2 * setting.slope_percent / PERCENT
    deceleration_mps2 = retarding_n / setting.mass_kg + slope_mps2
    if np.minimum.reduce(deceleration_mps2, axis=None) <= 0.0:
        return None
    metres = stretches.span_mps * _SHARE_WEIGHTS * speed / deceleration_mps2
    return Roll(
        metres=float(np.add.reduce(metres, axis=None)),
        brake_energy_j=float(np.add.reduce(metres * braking_n, axis=None)),
    )


class _Stretches(Struct, frozen=True, kw_only=True, gc=False):
    """Speed intervals of the roll without a jump inside; a column each, one row per interval.

    `planing` is None where the tyres of the law never plane.
    """

    low_mps: FloatArray
    span_mps: FloatArray
    reverse_n: FloatArray
    planing: BoolArray | None


def _stretches(
    profile: Profile, setting: LandingSetting, law: FrictionLaw, touchdown: _Touchdown
) -> _Stretches:
    """Cut the roll where the reversers are cut back and where the tyres stop planing."""
    cutback_mps = kt_to_mps(profile.reverse.cutback_kt) - touchdown.headwind_mps
    top_mps, planing_mps = touchdown.ground_speed_mps, law.planing_from_mps
    edges_mps = sorted(
        {0.0, top_mps, *[v for v in (cutback_mps, planing_mps) if 0.0 < v < top_mps]}
    )
    fast_n, slow_n = _reverse_n(profile, setting, touchdown)
    rows = [
        (low, high - low, fast_n if low >= cutback_mps else slow_n)
        for low, high in pairwise(edges_mps)
    ]
    columns = np.array(rows, dtype=np.float64)
    low_mps = columns[:, :1]
    return _Stretches(
        low_mps=low_mps,
        span_mps=columns[:, 1:2],
        reverse_n=columns[:, 2:],
        planing=low_mps >= planing_mps if planing_mps < top_mps else None,
    )


def _reverse_n(
    profile: Profile, setting: LandingSetting, touchdown: _Touchdown
) -> tuple[float, float]:
    """Net reverse thrust above and below cut-back; engines that do not reverse push at idle."""
    data, static_n = profile.reverse, profile.engine.static_thrust_n
    pushing = profile.engine.count - setting.reversers
    idle_n = pushing * data.ground_idle_ratio * static_n * touchdown.pressure_ratio
    return (
        setting.reversers * data.high_speed_ratio * static_n - idle_n,
        setting.reversers * data.low_speed_ratio * static_n - idle_n,
    )


@lru_cache(maxsize=256)
def _ground_coefficients(
    profile: Profile, flap: str, slats_out: bool, spoilers: float
) -> tuple[float, float]:
    """Lift and drag coefficient on the wheels; the spoilers that work dump their share."""
    dump, deflection_deg = profile.lift_dump, profile.detent(flap).deflection_deg
    configuration = replace(clean(profile), gear_down=True, flap=flap, slats_out=slats_out)
    polar = configured_polar(profile, configuration)
    flaps_cl = dump.cl_flaps_full_increment * deflection_deg / profile.full_flap_deg
    cl = (dump.cl_flaps_up + flaps_cl) * (1.0 + (dump.spoiler_lift_ratio - 1.0) * spoilers)
    return cl, polar.cd0 + dump.spoiler_cd * spoilers + dump.ground_effect_ratio * polar.k * cl**2
