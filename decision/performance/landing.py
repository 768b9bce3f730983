"""Landing distance from 50 ft to the stop, with whatever has failed, computed jointly.

`stopping` has the physics, `landing_distance` what governs: an operator's table, factors, or both
beside the physics. The answer is unfactored; the margin over it is the rulebook's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Final

from msgspec import Struct

from decision.errors import require_range
from decision.fields import about
from decision.performance.landing_distance import GoverningDistance, governing
from decision.performance.stopping import (
    LandingSetting,
    Stop,
    approach_speed_kt,
    laws,
    stop,
)
from decision.profile import Profile
from decision.quantities import AntiSkid
from decision.units import mps_to_kt

__all__ = ["Landing", "approach_speed_kt", "landing"]

RUNWAY_FT: Final = (-2_000.0, 15_000.0)  # [ASSUMED] pressure altitudes of runways
ISA_DEVIATION_DEGC: Final = (-80.0, 60.0)  # [ASSUMED] surface temperatures on record, and room
HEADWIND_KT: Final = (-50.0, 80.0)  # [ASSUMED] beyond any wind limit
SLOPE_PERCENT: Final = (-5.0, 5.0)  # [ASSUMED] beyond any runway of an airliner
SPEED_INCREMENT_KT: Final = (0.0, 40.0)  # [ASSUMED] beyond any procedure
J_PER_MJ: Final = 1e6


class Landing(Struct, frozen=True, kw_only=True, gc=False):
    """A landing: its distance, what it asks of brakes and tyres, and what forbids it.

    `distance_m` is what governs: `table_m` of an operator's table where one has the flap, else
    `computed_m` of the physics, and in both cases `floor_m` at least (None: no factor applies). It
    is None when the aircraft may not land or does not stop, and `limited_by` then says why, or when
    a governing table has no figure, and `unknown` then says which. `limited_by` also names brakes
    or tyres beyond their limit. `tyre_speed_kt` is the ground speed at touchdown, `overweight` a
    mass above the maximum landing mass.
    """

    distance_m: Annotated[
        float | None,
        about("What governs; null: may not land, does not stop, or not known.", unit="m"),
    ]
    computed_m: Annotated[float | None, about("By the physics.", unit="m")]
    floor_m: Annotated[
        float | None, about("The least that counts; null: no factor applies.", unit="m")
    ]
    air_m: Annotated[float, about("From the threshold to touchdown.", unit="m")]
    transition_m: Annotated[float, about("From touchdown to full braking.", unit="m")]
    roll_m: Annotated[float | None, about("Braked roll.", unit="m")]
    approach_speed_kt: Annotated[float, about("Approach speed.", unit="kt")]
    tyre_speed_kt: Annotated[float, about("Ground speed at touchdown.", unit="kt")]
    brake_energy_mj: Annotated[float | None, about("Energy of the brakes.", unit="MJ")]
    overweight: Annotated[bool, about("Above the maximum landing mass.")]
    limited_by: Annotated[str | None, about("What forbids it, or which limit is passed.")]
    table_m: Annotated[float | None, about("By the table of the operator.", unit="m")] = None
    unknown: Annotated[str | None, about("Which figure a governing table has not.")] = None


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
    ice_coefficient: float | None = None,
) -> Landing:
    """Unfactored distance from 50 ft to the stop, gear down, with the devices that work.

    `headwind_kt` is negative from behind and already credited as the rulebook wants it;
    `slope_percent` is positive uphill; `spoilers` and `brakes_fraction` are the shares of the
    ground spoilers and wheel brakes that work; `reversers` counts those in use;
    `speed_increment_kt` is what a failure adds to the approach speed, carried to the touchdown;
    `ice_coefficient` is the braking coefficient of code 1 by a rulebook, None that of [AC25-32].
    Code 0 and no wheel brakes at all are refusals.
    Raises: OutOfRange; ValueError on a flap detent that the profile does not have.

    By hand: the wheels touch down at 121.3 kt, 62.4 m/s, with 60 t x 62.4^2 / 2 = 117 MJ; the
    brakes take 110 MJ of it and drag the rest. Braked with 0.4 at most [CFR-25] 25.109, the roll
    cannot be shorter than 62.4^2 / (2 x 0.4 x 9.81) = 497 m.

    >>> from decision.profile import load_profile
    >>> landed = landing(
    ...     load_profile("xtj150"),
    ...     mass_kg=60_000.0,
    ...     flap="34",
    ...     slats_out=True,
    ...     pressure_altitude_ft=0.0,
    ...     isa_deviation_degc=0.0,
    ...     condition_code=6,
    ...     headwind_kt=0.0,
    ...     slope_percent=0.0,
    ...     spoilers=1.0,
    ...     reversers=0,
    ...     brakes_fraction=1.0,
    ...     anti_skid=AntiSkid.FULL,
    ... )
    >>> [round(part_m) for part_m in (landed.air_m, landed.transition_m, landed.roll_m)]
    [446, 125, 586]
    >>> round(landed.approach_speed_kt, 1), round(landed.tyre_speed_kt, 1)
    (126.4, 121.3)
    >>> round(landed.brake_energy_mj)
    110
    """
    setting = LandingSetting(
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
        ice_coefficient=ice_coefficient,
    )
    _check(profile, setting)
    stopped = stop(profile, setting)
    return _answer(profile, setting, stopped, governing(profile, setting, stopped))


def _check(profile: Profile, setting: LandingSetting) -> None:
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


def _answer(
    profile: Profile, setting: LandingSetting, stopped: Stop, found: GoverningDistance
) -> Landing:
    energy_mj = None if stopped.roll is None else stopped.roll.brake_energy_j / J_PER_MJ
    return Landing(
        distance_m=found.distance_m,
        computed_m=stopped.distance_m,
        floor_m=found.floor_m,
        table_m=found.table_m,
        air_m=stopped.air_m,
        transition_m=stopped.transition_m,
        roll_m=None if stopped.roll is None else stopped.roll.metres,
        approach_speed_kt=stopped.approach_kt,
        tyre_speed_kt=mps_to_kt(stopped.touchdown_mps),
        brake_energy_mj=energy_mj,
        overweight=setting.mass_kg > profile.masses.mlw_kg,
        limited_by="; ".join(_limits(profile, setting, stopped)) or found.unknown,
        unknown=found.unknown,
    )


def _limits(profile: Profile, setting: LandingSetting, stopped: Stop) -> Iterator[str]:
    """What forbids the landing, with its figures."""
    if stopped.roll is None and not laws(profile, setting):
        yield f"runway condition code {setting.condition_code}: no operation without grip"
    elif stopped.roll is None:
        yield "does not stop: the devices that work do not slow the aircraft on this slope"
    if setting.brakes_fraction == 0.0:
        yield "no wheel brakes"
    tyre_kt, tyre_limit_kt = mps_to_kt(stopped.touchdown_mps), profile.tyres.speed_limit_kt
    if tyre_kt > tyre_limit_kt:
        yield f"tyre speed {math.ceil(tyre_kt)} kt exceeds {math.floor(tyre_limit_kt)} kt"
    if stopped.roll is not None:
        energy_mj = stopped.roll.brake_energy_j / J_PER_MJ
        limit_mj = profile.brakes.energy_limit_mj * setting.brakes_fraction
        if energy_mj > limit_mj:
            yield f"brake energy {math.ceil(energy_mj)} MJ exceeds {math.floor(limit_mj)} MJ"
