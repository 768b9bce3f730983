"""Gates of the aircraft itself: masses, the order of its speeds, thrust, wing and ceilings."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from decision.atmosphere import GRAVITY_MPS2, pressure_ratio
from decision.performance.climb import ceiling_ft, go_around_speed_kt
from decision.performance.envelope import slowest_kt
from decision.performance.holding import final_reserve_kg
from decision.performance.landing import approach_speed_kt
from decision.profile import Profile
from decision.speeds import mach_from_cas
from decision.workbench.plausibility.finding import Gate, GateFigure, stall_kt, with_lever

# [ASSUMED] what transport jets are, wide enough for any of them
FLAP_SPEED_ROOM_KT: Final = 10.0
ONE_ENGINE_CEILING_FT: Final = 10_000.0
CEILING_SHARE: Final = 0.85  # of the altitude limit, within reach at maximum landing mass
CROSSOVER_FT: Final = (22_000.0, 33_000.0)  # where VMO and MMO are one speed
CROSSOVER_STEP_FT: Final = 100.0
THRUST_OVER_WEIGHT: Final = (0.20, 0.42)
WING_LOADING_KG_PER_M2: Final = (300.0, 900.0)


def _masses(profile: Profile) -> Iterator[GateFigure]:
    m = profile.masses
    reserve_kg = final_reserve_kg(
        profile,
        configuration=with_lever(profile, profile.flaps_up),
        mass_kg=m.mlw_kg,
        elevation_ft=0.0,
    )
    yield GateFigure(what="MZFW above OEW", value=m.mzfw_kg - m.oew_kg, low=0.0)
    yield GateFigure(
        what="MLW above MZFW, by the final reserve", value=m.mlw_kg - m.mzfw_kg, low=reserve_kg
    )
    yield GateFigure(what="MTOW above MLW", value=m.mtow_kg - m.mlw_kg, low=0.0)
    yield GateFigure(
        what="MTOW above OEW with full tanks",
        value=m.mtow_kg - m.oew_kg - m.max_fuel_kg,
        low=0.0,
    )


def _thrust_over_weight(profile: Profile) -> Iterator[GateFigure]:
    low, high = THRUST_OVER_WEIGHT
    engine, weight_n = profile.engine, profile.masses.mtow_kg * GRAVITY_MPS2
    ratio = engine.count * engine.static_thrust_n / weight_n
    yield GateFigure(what="all engines at rest, MTOW", value=ratio, low=low, high=high)


def _wing_loading(profile: Profile) -> Iterator[GateFigure]:
    low, high = WING_LOADING_KG_PER_M2
    loading = profile.masses.mtow_kg / profile.wing.area_m2
    yield GateFigure(what="MTOW over wing area", value=loading, low=low, high=high)


def _stall_speeds(profile: Profile) -> Iterator[GateFigure]:
    for less, more in pairwise(detent.id for detent in profile.detents):
        what = f"VSR at flap {less}, not below that at flap {more}"
        yield GateFigure(what=what, value=stall_kt(profile, less), low=stall_kt(profile, more))


def _flap_speeds(profile: Profile) -> Iterator[GateFigure]:
    for detent in profile.detents:
        slats_out = profile.slats_out_with_lever(detent.id)
        limits = [detent.vfe_kt, profile.slats.vfe_kt if slats_out else None]
        known = [limit for limit in limits if limit is not None]
        if known:
            flown_kt = approach_speed_kt(
                profile, mass_kg=profile.masses.mlw_kg, flap=detent.id, slats_out=slats_out
            )
            what = f"VFE of flap {detent.id}, above approach speed + {FLAP_SPEED_ROOM_KT:.0f}"
            yield GateFigure(what=what, value=min(known), low=flown_kt + FLAP_SPEED_ROOM_KT)


def _gear_speeds(profile: Profile) -> Iterator[GateFigure]:
    """Limits in their order, and the gear moved at speeds that it may be moved at."""
    limits, flap, mass_kg = profile.limits, profile.approach.go_around_detent, profile.masses.mlw_kg
    clean = with_lever(profile, profile.flaps_up, gear=True)
    slow_kt = slowest_kt(profile, clean, mass_kg=mass_kg) + FLAP_SPEED_ROOM_KT
    missed_kt = go_around_speed_kt(profile, with_lever(profile, flap), mass_kg=mass_kg)
    ratio, run_in_kt = profile.speeds.holding_ratio, profile.speeds.run_in_cas_kt
    vle_kt, extend_kt, retract_kt = limits.vle_kt, limits.vlo_extend_kt, limits.vlo_retract_kt
    what = f"VLE, above {ratio:.2f} VSR flaps up + {FLAP_SPEED_ROOM_KT:.0f}"
    yield GateFigure(what=what, value=vle_kt, low=slow_kt)
    what = "VLO to extend, from the run-in speed to VLE"
    yield GateFigure(what=what, value=extend_kt, low=run_in_kt, high=vle_kt)
    what = f"VLO to retract, from the go-around, flap {flap}, to VLE"
    yield GateFigure(what=what, value=retract_kt, low=missed_kt, high=vle_kt)


def _crossover(profile: Profile) -> Iterator[GateFigure]:
    low, high = CROSSOVER_FT
    limits = profile.limits
    height_ft = 0.0
    while (
        _vmo_mach(profile, height_ft) < limits.mmo and height_ft < limits.max_pressure_altitude_ft
    ):
        height_ft += CROSSOVER_STEP_FT
    yield GateFigure(what="VMO is MMO", value=height_ft, low=low, high=high)


def _vmo_mach(profile: Profile, height_ft: float) -> float:
    ratio = pressure_ratio(height_ft)
    return float(mach_from_cas(cas_kt=profile.limits.vmo_kt, pressure_ratio=ratio))


def _ceilings(profile: Profile) -> Iterator[GateFigure]:
    limit_ft = profile.limits.max_pressure_altitude_ft
    for stopped, words, low_ft in (
        (0, "all engines", CEILING_SHARE * limit_ft),
        (1, "one engine stopped", ONE_ENGINE_CEILING_FT),
    ):
        height_ft = ceiling_ft(
            profile,
            configuration=with_lever(profile, profile.flaps_up, stopped=stopped),
            mass_kg=profile.masses.mlw_kg,
        )
        yield GateFigure(
            what=f"{words}, clean, MLW, 100 ft/min",
            value=height_ft,
            low=low_ft,
            problem="" if height_ft is not None else "it does not even climb at sea level",
        )


AIRCRAFT: Final = (
    Gate(id="masses", figures=_masses, unit="kg", source="ASSUMED"),
    Gate(id="thrust over weight", figures=_thrust_over_weight, unit="", source="ASSUMED"),
    Gate(id="wing loading", figures=_wing_loading, unit="kg/m2", source="ASSUMED"),
    Gate(id="stall speeds", figures=_stall_speeds, unit="kt", source="ASSUMED"),
    Gate(id="flap speeds", figures=_flap_speeds, unit="kt", source="ASSUMED"),
    Gate(id="gear speed", figures=_gear_speeds, unit="kt", source="ASSUMED"),
    Gate(id="speed limits", figures=_crossover, unit="ft", source="ASSUMED"),
    Gate(id="ceiling", figures=_ceilings, unit="ft", source="ASSUMED"),
)
