"""Landing distance from 50 ft to the stop, with whatever has failed, computed jointly.

Air distance: a flare time [AC25-32] at the mean of approach and touchdown speed. Transition: until
all devices act, at touchdown speed. Ground roll: V dV / a, by Gauss-Legendre quadrature on each
stretch of speed without a jump (reversers at cut-back, tyres that plane), with

    a = [braking + drag + reverse - idle thrust] / m + g slope,
    braking = coefficient x load share x working brakes x (weight - lift), at most the brake force.

The answer is unfactored; the margin over it is the rulebook's. Where the profile states by how much
a loss lengthens a landing at least, the greater of that and of the physics governs. Expected
accuracy: 10 % on a dry runway, 20 % on a contaminated one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from decision.atmosphere import (
    GRAVITY_MPS2,
    SEA_LEVEL_DENSITY_KG_PER_M3,
    SEA_LEVEL_TEMPERATURE_K,
    pressure_ratio,
    standard_temperature_ratio,
)
from decision.elementwise import BoolArray, FloatArray
from decision.errors import require_range
from decision.performance.braking import FrictionLaw, friction_laws
from decision.performance.configuration import Configuration
from decision.performance.drag import configured_polar
from decision.performance.envelope import stall_speed_kt
from decision.profile import Profile
from decision.quantities import AntiSkid
from decision.units import PERCENT, kt_to_mps, mps_to_kt

RUNWAY_FT: Final = (-2_000.0, 15_000.0)  # [ASSUMED] pressure altitudes of runways
ISA_DEVIATION_DEGC: Final = (-80.0, 60.0)  # [ASSUMED] surface temperatures on record, and room
HEADWIND_KT: Final = (-50.0, 80.0)  # [ASSUMED] beyond any wind limit
SLOPE_PERCENT: Final = (-5.0, 5.0)  # [ASSUMED] beyond any runway of an airliner
SPEED_INCREMENT_KT: Final = (0.0, 40.0)  # [ASSUMED] beyond any procedure
HALF_THE_BRAKES: Final = 0.5  # the loss for which the profile states `half_brakes_lost`
J_PER_MJ: Final = 1e6
N_PER_KN: Final = 1e3

NODES_PER_STRETCH: Final = 64  # error below 0.01 % with the kinks that caps leave inside
_ABSCISSAE, _WEIGHTS = np.polynomial.legendre.leggauss(NODES_PER_STRETCH)
_SHARES: Final[FloatArray] = (_ABSCISSAE + 1.0) / 2.0
_SHARE_WEIGHTS: Final[FloatArray] = _WEIGHTS / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Landing:
    """A landing: its distance, what it asks of brakes and tyres, and what forbids it.

    `distance_m` is the greater of `computed_m` and `floor_m` (None: no factor of the profile
    applies); it is None when the aircraft may not land or does not stop, and `limited_by` then
    says why. `limited_by` also names brakes or tyres beyond their limit. `tyre_speed_kt` is the
    ground speed at touchdown, `overweight` a mass above the maximum landing mass.
    """

    distance_m: float | None
    computed_m: float | None
    floor_m: float | None
    air_m: float
    transition_m: float
    roll_m: float | None
    approach_speed_kt: float
    tyre_speed_kt: float
    brake_energy_mj: float | None
    overweight: bool
    limited_by: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Setting:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Roll:
    metres: float
    brake_energy_j: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stop:
    """A landing by physics alone; no roll when it does not come to a stop."""

    air_m: float
    transition_m: float
    touchdown_mps: float
    roll: _Roll | None

    @property
    def distance_m(self) -> float | None:
        return None if self.roll is None else self.air_m + self.transition_m + self.roll.metres


def landing(
    profile: Profile,
    *,
    mass_kg: float,
    flap: str,
    slats_out: bool,
    pressure_altitude_ft: float,
    isa_deviation_degc: float,
    condition_code: int,
    headwind_kt: float,
    slope_percent: float,
    spoilers: float,
    reversers: int,
    brakes_fraction: float,
    anti_skid: AntiSkid,
    speed_increment_kt: float = 0.0,
) -> Landing:
    """Unfactored distance from 50 ft to the stop, gear down, with the devices that work.

    `headwind_kt` is negative from behind and already credited as the rulebook wants it;
    `slope_percent` is positive uphill; `spoilers` and `brakes_fraction` are the shares of the
    ground spoilers and wheel brakes that work; `reversers` counts those in use;
    `speed_increment_kt` is what a failure adds to the approach speed, carried to the touchdown.
    Code 0 and no wheel brakes at all are refusals.
    Raises: OutOfRange; ValueError on a flap detent that the profile does not have.
    """
    setting = _Setting(
        mass_kg=mass_kg,
        flap=flap,
        slats_out=slats_out,
        pressure_altitude_ft=pressure_altitude_ft,
        isa_deviation_degc=isa_deviation_degc,
        condition_code=condition_code,
        headwind_kt=headwind_kt,
        slope_percent=slope_percent,
        spoilers=spoilers,
        reversers=reversers,
        brakes_fraction=brakes_fraction,
        anti_skid=anti_skid,
        speed_increment_kt=speed_increment_kt,
    )
    _check(profile, setting)
    stop = _stop(profile, setting)
    floor_m = _floor_m(profile, setting)
    return _answer(profile, setting, stop, floor_m)


def approach_speed_kt(profile: Profile, *, mass_kg: float, flap: str, slats_out: bool) -> float:
    """Calibrated speed at 50 ft: 1.23 times the stall speed of the position. Source: [CFR-25]."""
    configuration = Configuration(flap=flap, slats_out=slats_out)
    stall_kt = float(stall_speed_kt(profile, configuration, mass_kg=mass_kg))
    return profile.speeds.approach_ratio * stall_kt


def _check(profile: Profile, setting: _Setting) -> None:
    masses = profile.masses
    for name, value, low, high in (
        ("mass_kg", setting.mass_kg, masses.oew_kg, masses.mtow_kg),
        ("pressure_altitude_ft", setting.pressure_altitude_ft, *RUNWAY_FT),
        ("isa_deviation_degc", setting.isa_deviation_degc, *ISA_DEVIATION_DEGC),
        ("headwind_kt", setting.headwind_kt, *HEADWIND_KT),
        ("slope_percent", setting.slope_percent, *SLOPE_PERCENT),
        ("reversers", setting.reversers, 0, profile.engine.count),
        ("spoilers", setting.spoilers, 0.0, 1.0),
        ("brakes_fraction", setting.brakes_fraction, 0.0, 1.0),
        ("speed_increment_kt", setting.speed_increment_kt, *SPEED_INCREMENT_KT),
    ):
        require_range(name, value, low=low, high=high)


def _answer(profile: Profile, setting: _Setting, stop: _Stop, floor_m: float | None) -> Landing:
    computed_m = stop.distance_m
    energy_mj = None if stop.roll is None else stop.roll.brake_energy_j / J_PER_MJ
    return Landing(
        distance_m=None if computed_m is None else max(computed_m, floor_m or 0.0),
        computed_m=computed_m,
        floor_m=floor_m,
        air_m=stop.air_m,
        transition_m=stop.transition_m,
        roll_m=None if stop.roll is None else stop.roll.metres,
        approach_speed_kt=_approach_speed_kt(profile, setting),
        tyre_speed_kt=mps_to_kt(stop.touchdown_mps),
        brake_energy_mj=energy_mj,
        overweight=setting.mass_kg > profile.masses.mlw_kg,
        limited_by="; ".join(_limits(profile, setting, stop)) or None,
    )


def _limits(profile: Profile, setting: _Setting, stop: _Stop) -> Iterator[str]:
    """What forbids the landing, with its figures."""
    if not _laws(profile, setting):
        yield f"runway condition code {setting.condition_code}: no operation without grip"
    elif stop.roll is None:
        yield "does not stop: the devices that work do not slow the aircraft on this slope"
    if setting.brakes_fraction == 0.0:
        yield "no wheel brakes"
    tyre_kt, tyre_limit_kt = mps_to_kt(stop.touchdown_mps), profile.tyres.speed_limit_kt
    if tyre_kt > tyre_limit_kt:
        yield f"tyre speed {math.ceil(tyre_kt)} kt exceeds {math.floor(tyre_limit_kt)} kt"
    if stop.roll is not None:
        energy_mj = stop.roll.brake_energy_j / J_PER_MJ
        limit_mj = profile.brakes.energy_limit_mj * setting.brakes_fraction
        if energy_mj > limit_mj:
            yield f"brake energy {math.ceil(energy_mj)} MJ exceeds {math.floor(limit_mj)} MJ"


# --- factors of the profile --------------------------------------------------------------------


def _floor_m(profile: Profile, setting: _Setting) -> float | None:
    """The greatest distance that the profile's factors ask for; None if none applies."""
    distances_m = [
        factor * distance_m
        for whole, factor in _factored(profile, setting)
        if (distance_m := _stop(profile, whole).distance_m) is not None
    ]
    return max(distances_m, default=None)


def _factored(profile: Profile, setting: _Setting) -> Iterator[tuple[_Setting, float]]:
    """The same landing with nothing lost, and the factor for what is lost."""
    factors, delivered = profile.landing_factors, profile.tyres.anti_skid
    anti_skid_lost = setting.anti_skid is not delivered and setting.anti_skid in {
        AntiSkid.ON_OFF,
        AntiSkid.NONE,
    }
    lost_brakes = (1.0 - setting.brakes_fraction) / (1.0 - HALF_THE_BRAKES)
    shared = (
        (1.0 + (factors.half_brakes_lost - 1.0) * lost_brakes)
        * (factors.anti_skid_lost if anti_skid_lost else 1.0)
        * (1.0 + factors.downslope_per_percent * max(0.0, -setting.slope_percent))
    )
    lost_spoilers = 1.0 - setting.spoilers
    spoilers = 1.0 + (factors.ground_spoilers_lost - 1.0) * lost_spoilers
    whole = replace(
        setting,
        slope_percent=max(0.0, setting.slope_percent),
        spoilers=1.0,
        brakes_fraction=1.0,
        anti_skid=delivered if anti_skid_lost else setting.anti_skid,
    )
    if shared * spoilers > 1.0:
        yield whole, shared * spoilers
    if lost_spoilers > 0.0 and setting.reversers == 0:
        whole = replace(whole, reversers=profile.engine.count)
        both = 1.0 + (factors.spoilers_and_reversers_lost - 1.0) * lost_spoilers
        yield whole, shared * both


# --- physics -----------------------------------------------------------------------------------


def _approach_speed_kt(profile: Profile, setting: _Setting) -> float:
    return setting.speed_increment_kt + approach_speed_kt(
        profile, mass_kg=setting.mass_kg, flap=setting.flap, slats_out=setting.slats_out
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Touchdown:
    """Ground speed and air at touchdown; ratios to the standard sea level."""

    ground_speed_mps: float
    headwind_mps: float
    density_ratio: float
    pressure_ratio: float


def _stop(profile: Profile, setting: _Setting) -> _Stop:
    data = profile.landing
    delta = float(pressure_ratio(setting.pressure_altitude_ft))
    standard_theta = float(standard_temperature_ratio(setting.pressure_altitude_ft))
    theta = standard_theta + setting.isa_deviation_degc / SEA_LEVEL_TEMPERATURE_K
    approach_mps = kt_to_mps(_approach_speed_kt(profile, setting)) / math.sqrt(delta / theta)
    headwind_mps = kt_to_mps(setting.headwind_kt)
    flare_mps = (1.0 + data.touchdown_speed_ratio) / 2.0 * approach_mps - headwind_mps
    touchdown = _Touchdown(
        ground_speed_mps=data.touchdown_speed_ratio * approach_mps - headwind_mps,
        headwind_mps=headwind_mps,
        density_ratio=delta / theta,
        pressure_ratio=delta,
    )
    return _Stop(
        air_m=data.flare_s * flare_mps,
        transition_m=data.transition_s * touchdown.ground_speed_mps,
        touchdown_mps=touchdown.ground_speed_mps,
        roll=_longest_roll(profile, setting, touchdown),
    )


def _laws(profile: Profile, setting: _Setting) -> tuple[FrictionLaw, ...]:
    return friction_laws(
        profile, condition_code=setting.condition_code, anti_skid=setting.anti_skid
    )


def _longest_roll(profile: Profile, setting: _Setting, touchdown: _Touchdown) -> _Roll | None:
    """The longest of the rolls; None if there is none or one has no end."""
    rolls = []
    for law in _laws(profile, setting):
        roll = _roll(profile, setting, law, touchdown)
        if roll is None:
            return None
        rolls.append(roll)
    return max(rolls, key=lambda roll: roll.metres, default=None)


def _roll(
    profile: Profile, setting: _Setting, law: FrictionLaw, touchdown: _Touchdown
) -> _Roll | None:
    """From touchdown speed to the stop; None if some speed is never left."""
    stretches = _stretches(profile, setting, law, touchdown)
    speed = stretches.low_mps + stretches.span_mps * _SHARES
    wind_square = np.maximum(speed + touchdown.headwind_mps, 0.0) ** 2
    cl, cd = _ground_coefficients(profile, setting.flap, setting.slats_out, setting.spoilers)
    area = 0.5 * SEA_LEVEL_DENSITY_KG_PER_M3 * touchdown.density_ratio * profile.wing.area_m2
    on_wheels_n = np.maximum(setting.mass_kg * GRAVITY_MPS2 - area * cl * wind_square, 0.0)
    brakes, working = profile.brakes, setting.brakes_fraction
    friction = np.where(stretches.planing, law.planing_coefficient, law.rolling_tyre(speed))
    braking_n = np.minimum(
        friction * (brakes.load_share * working) * on_wheels_n,
        brakes.force_limit_kn * N_PER_KN * working,
    )
    wheels_n = np.maximum(braking_n, brakes.rolling_friction * on_wheels_n)
    retarding_n = wheels_n + area * cd * wind_square + stretches.reverse_n
    slope_mps2 = GRAVITY_MPS2 * setting.slope_percent / PERCENT
    deceleration_mps2 = retarding_n / setting.mass_kg + slope_mps2
    if deceleration_mps2.min() <= 0.0:
        return None
    metres = stretches.span_mps * _SHARE_WEIGHTS * speed / deceleration_mps2
    return _Roll(metres=float(metres.sum()), brake_energy_j=float((metres * braking_n).sum()))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretches:
    """Speed intervals of the roll without a jump inside; a column each, one row per interval."""

    low_mps: FloatArray
    span_mps: FloatArray
    reverse_n: FloatArray
    planing: BoolArray


def _stretches(
    profile: Profile, setting: _Setting, law: FrictionLaw, touchdown: _Touchdown
) -> _Stretches:
    """Cut the roll where the reversers are cut back and where the tyres stop planing."""
    cutback_mps = kt_to_mps(profile.reverse.cutback_kt) - touchdown.headwind_mps
    top_mps = touchdown.ground_speed_mps
    jumps_mps = {cutback_mps, law.planing_from_mps}
    edges_mps = sorted({0.0, top_mps, *(v for v in jumps_mps if 0.0 < v < top_mps)})
    low, high = edges_mps[:-1], edges_mps[1:]
    fast_n, slow_n = _reverse_n(profile, setting, touchdown)
    return _Stretches(
        low_mps=_column(low),
        span_mps=_column(high) - _column(low),
        reverse_n=_column([fast_n if v >= cutback_mps else slow_n for v in low]),
        planing=_column(low) >= law.planing_from_mps,
    )


def _column(values: Sequence[float]) -> FloatArray:
    return np.array(values, dtype=np.float64)[:, np.newaxis]


def _reverse_n(profile: Profile, setting: _Setting, touchdown: _Touchdown) -> tuple[float, float]:
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
    configuration = Configuration(
        gear_down=True, flap=flap, slats_out=slats_out, engines_running=profile.engine.count
    )
    polar = configured_polar(profile, configuration)
    flaps_cl = dump.cl_flaps_full_increment * deflection_deg / profile.full_flap_deg
    cl = (dump.cl_flaps_up + flaps_cl) * (1.0 + (dump.spoiler_lift_ratio - 1.0) * spoilers)
    return cl, polar.cd0 + dump.spoiler_cd * spoilers + dump.ground_effect_ratio * polar.k * cl**2
