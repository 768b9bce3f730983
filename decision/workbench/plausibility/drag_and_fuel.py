"""Gates of drag and fuel: the polar, the gear, the fuel law, holding and cruise."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from decision.atmosphere import GRAVITY_MPS2, pressure_ratio
from decision.performance.drag import induced_factor
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.performance.holding import holding_flow_kg_per_h
from decision.performance.point import point
from decision.profile import Profile
from decision.speeds import cas_from_mach
from decision.workbench.plausibility.finding import Gate, GateFigure, with_lever

# [ASSUMED] what transport jets do, wide enough for any of them
BEST_LIFT_OVER_DRAG: Final = (12.0, 23.0)
GEAR_DRAG_OVER_ESTIMATE: Final = (0.75, 1.33)
HOLDING_HEIGHT_FT: Final = 1_500.0
HOLDING_FLOW_KG_PER_H_PER_T: Final = (20.0, 60.0)
GEAR_DOWN_HOLDING: Final = (1.15, 1.75)  # flow over that of the clean hold
RANGE_PARAMETER_NM: Final = (6_000.0, 18_000.0)  # mass times distance per fuel, of a jet's cruise
ENDURANCE_H: Final = (3.0, 20.0)

# [MAIR-BIRDSALL] eq. 6.1: dCD = (W / S) K m^-0.215 at maximum take-off mass, N/m2 and kg
GEAR_CONSTANT_FLAPS_UP: Final = 5.81e-5
GEAR_CONSTANT_FLAPS_FULL: Final = 3.16e-5
GEAR_MASS_POWER: Final = -0.215

# [ICAO-EEDB] the fuel law meets the databank's take-off point, tau 1 at rest: so far it may miss
TAKE_OFF_FLOW_RATIO: Final = (0.97, 1.03)
KG_PER_T: Final = 1_000.0


def _lift_over_drag(profile: Profile) -> Iterator[GateFigure]:
    low, high = BEST_LIFT_OVER_DRAG
    k = induced_factor(profile, deflection_deg=0.0)
    best = 0.5 / math.sqrt(profile.polar.cd0 * k)
    yield GateFigure(what="clean", value=best, low=low, high=high)


def _gear_drag(profile: Profile) -> Iterator[GateFigure]:
    mass_kg, gear = profile.masses.mtow_kg, profile.gear
    loading = mass_kg * GRAVITY_MPS2 / profile.wing.area_m2
    low, high = GEAR_DRAG_OVER_ESTIMATE
    for words, drag, constant in (
        ("flaps up", gear.flaps_up_cd, GEAR_CONSTANT_FLAPS_UP),
        ("full flap", gear.flaps_full_cd, GEAR_CONSTANT_FLAPS_FULL),
    ):
        estimate = loading * constant * mass_kg**GEAR_MASS_POWER
        what = f"{words}, over the estimate {estimate:.4f}"
        yield GateFigure(what=what, value=drag / estimate, low=low, high=high)


def _take_off_flow(profile: Profile) -> Iterator[GateFigure]:
    engine = profile.engine
    low, high = TAKE_OFF_FLOW_RATIO
    ratio = engine.fuel_constant + engine.fuel_linear + engine.fuel_square
    yield GateFigure(what="fuel law at take-off thrust, at rest", value=ratio, low=low, high=high)


def _holding_flow(profile: Profile) -> Iterator[GateFigure]:
    low, high = HOLDING_FLOW_KG_PER_H_PER_T
    mass_kg = profile.masses.mlw_kg
    flow = holding_flow_kg_per_h(
        profile,
        configuration=with_lever(profile, profile.flaps_up),
        mass_kg=mass_kg,
        pressure_altitude_ft=HOLDING_HEIGHT_FT,
    )
    what = f"clean, MLW, {HOLDING_HEIGHT_FT:.0f} ft"
    yield GateFigure(what=what, value=flow / (mass_kg / KG_PER_T), low=low, high=high)


def _gear_down_holding(profile: Profile) -> Iterator[GateFigure]:
    low, high = GEAR_DOWN_HOLDING
    gear_up, gear_down = (
        holding_flow_kg_per_h(
            profile,
            configuration=with_lever(profile, profile.flaps_up, gear=gear),
            mass_kg=profile.masses.mlw_kg,
            pressure_altitude_ft=HOLDING_HEIGHT_FT,
        )
        for gear in (False, True)
    )
    what = f"flow gear down over clean, MLW, {HOLDING_HEIGHT_FT:.0f} ft"
    yield GateFigure(what=what, value=gear_down / gear_up, low=low, high=high)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cruise:
    """Level flight at the engine's reference point, at maximum landing mass."""

    tas_kt: float
    flow_kg_per_h: float


def _cruise(profile: Profile) -> _Cruise:
    engine = profile.engine
    level_ft, mach = engine.cruise_pressure_altitude_ft, engine.cruise_mach
    at = point(
        pressure_altitude_ft=level_ft,
        cas_kt=cas_from_mach(mach=mach, pressure_ratio=pressure_ratio(level_ft)),
        isa_deviation_degc=0.0,
        mach_cap=profile.limits.mmo,
    )
    flow = level_flow_kg_per_h(
        profile,
        with_lever(profile, profile.flaps_up),
        mass_kg=profile.masses.mlw_kg,
        pressure_altitude_ft=level_ft,
        cas_kt=at.cas_kt,
    )
    return _Cruise(tas_kt=float(at.tas_kt), flow_kg_per_h=float(flow))


def _cruise_words(profile: Profile) -> str:
    engine = profile.engine
    return f"M {engine.cruise_mach:.2f}, {engine.cruise_pressure_altitude_ft:.0f} ft, MLW"


def _specific_range(profile: Profile) -> Iterator[GateFigure]:
    low, high = RANGE_PARAMETER_NM
    cruise, mass_kg = _cruise(profile), profile.masses.mlw_kg
    per_t = KG_PER_T * cruise.tas_kt / cruise.flow_kg_per_h
    what = f"{per_t:.0f} NM/t times MLW, {_cruise_words(profile)}"
    yield GateFigure(what=what, value=per_t * mass_kg / KG_PER_T, low=low, high=high)


def _endurance(profile: Profile) -> Iterator[GateFigure]:
    low, high = ENDURANCE_H
    masses = profile.masses
    fuel_kg = min(masses.max_fuel_kg, masses.mtow_kg - masses.oew_kg)
    hours = fuel_kg / _cruise(profile).flow_kg_per_h
    yield GateFigure(
        what=f"full tanks at {_cruise_words(profile)}", value=hours, low=low, high=high
    )


DRAG_AND_FUEL: Final = (
    Gate(id="lift over drag", figures=_lift_over_drag, unit="", source="ASSUMED"),
    Gate(id="gear drag", figures=_gear_drag, unit="", source="MAIR-BIRDSALL"),
    Gate(id="take-off flow", figures=_take_off_flow, unit="", source="ICAO-EEDB"),
    Gate(id="holding flow", figures=_holding_flow, unit="kg/h/t", source="ASSUMED"),
    Gate(id="gear-down holding", figures=_gear_down_holding, unit="", source="ASSUMED"),
    Gate(id="specific range", figures=_specific_range, unit="NM", source="ASSUMED"),
    Gate(id="endurance", figures=_endurance, unit="h", source="ASSUMED"),
)
