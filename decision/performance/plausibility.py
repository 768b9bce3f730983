"""Would an aeroplane with these figures be one? Gates that a profile must pass before it is used.

A file can be well formed and still describe an aircraft that no authority would certify, or one
with a slipped digit that every range lets through. Each gate works out what the aircraft would do
with the same functions that a decision uses, and compares that with a certification minimum or
with a band of what transport aeroplanes do. Sea level and standard air unless a gate says so.
A gate that cannot be worked out is not passed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from decision.atmosphere import GRAVITY_MPS2
from decision.errors import OutOfRange
from decision.performance.climb import ceiling_ft, climb
from decision.performance.configuration import Configuration, Rating
from decision.performance.drag import induced_factor
from decision.performance.envelope import slowest_kt, stall_speed_kt
from decision.performance.holding import final_reserve_kg, holding_flow_kg_per_h
from decision.performance.landing import Landing, approach_speed_kt, landing
from decision.profile import Profile

# [CFR-25] by number of engines: 25.121(d), 25.121(b), and 25.119 for all of them
APPROACH_CLIMB_PERCENT: Final = {2: 2.1, 3: 2.4, 4: 2.7}
SECOND_SEGMENT_PERCENT: Final = {2: 2.4, 3: 2.7, 4: 3.0}
LANDING_CLIMB_PERCENT: Final = 3.2
APPROACH_STALL_RATIO: Final = 1.10  # [CFR-25] 25.121(d): VSR approach over VSR landing, at most

# [ASSUMED] bands of what transport jets do, wide enough for any of them
FLAP_SPEED_ROOM_KT: Final = 10.0
LANDING_DISTANCE_M: Final = (700.0, 2_200.0)
HOLDING_FLOW_KG_PER_H_PER_T: Final = (20.0, 60.0)
BEST_LIFT_OVER_DRAG: Final = (12.0, 23.0)
GEAR_DRAG_OVER_ESTIMATE: Final = (0.75, 1.33)
ONE_ENGINE_CEILING_FT: Final = 10_000.0
HOLDING_HEIGHT_FT: Final = 1_500.0

# [MAIR-BIRDSALL] eq. 6.1: dCD = (W / S) K m^-0.215 at maximum take-off mass, N/m2 and kg
GEAR_CONSTANT_FLAPS_UP: Final = 5.81e-5
GEAR_CONSTANT_FLAPS_FULL: Final = 3.16e-5
GEAR_MASS_POWER: Final = -0.215

# [ICAO-EEDB] the fuel law meets the databank's take-off point, tau 1 at rest: so far it may miss
TAKE_OFF_FLOW_RATIO: Final = (0.97, 1.03)
KG_PER_T: Final = 1_000.0
BEST_CODE: Final = 6
WORST_CODE: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One figure of a profile beside its limit or limits (None: open on that side).

    `value` is None when it cannot be worked out; `problem` then says why.
    """

    gate: str
    what: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    source: str
    problem: str = ""

    @property
    def passed(self) -> bool:
        """Whether the figure is known and lies within its limits."""
        if self.value is None or not math.isfinite(self.value):
            return False
        above = self.low is None or self.value >= self.low
        return above and (self.high is None or self.value <= self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """What a gate works out for one thing; by default it is judged by the gate's own limits."""

    what: str
    value: float | None
    low: float | None = None
    high: float | None = None
    problem: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A kind of figure, its unit and the source of its limits."""

    id: str
    figures: Callable[[Profile], Iterator[Figure]]
    unit: str
    source: str

    def findings(self, profile: Profile) -> tuple[Finding, ...]:
        """Every figure of a profile beside its limits."""
        try:
            figures = tuple(self.figures(profile))
        except (OutOfRange, ArithmeticError) as error:
            figures = (Figure(what="cannot be worked out", value=None, problem=str(error)),)
        return tuple(self._finding(figure) for figure in figures)

    def _finding(self, figure: Figure) -> Finding:
        return Finding(
            gate=self.id,
            what=figure.what,
            value=figure.value,
            low=figure.low,
            high=figure.high,
            unit=self.unit,
            source=self.source,
            problem=figure.problem,
        )


def check_profile(profile: Profile) -> tuple[Finding, ...]:
    """What every gate finds, in the order of the table."""
    return tuple(finding for gate in GATES for finding in gate.findings(profile))


# --- configurations -----------------------------------------------------------------------------


def _with_lever(
    profile: Profile, flap: str, *, stopped: int = 0, gear: bool = False
) -> Configuration:
    """The aircraft as the flap lever sets it, with so many engines stopped."""
    return Configuration(
        gear_down=gear,
        flap=flap,
        slats_out=profile.slats_out_with_lever(flap),
        engines_running=profile.engine.count - stopped,
    )


def _stall_kt(profile: Profile, flap: str) -> float:
    """VSR at maximum landing mass as the lever sets the wing."""
    mass_kg = profile.masses.mlw_kg
    return float(stall_speed_kt(profile, _with_lever(profile, flap), mass_kg=mass_kg))


def _land(profile: Profile, condition_code: int) -> Landing:
    """At maximum landing mass in still air, every device but the reversers working."""
    flap = profile.approach.landing_detent
    return landing(
        profile,
        mass_kg=profile.masses.mlw_kg,
        flap=flap,
        slats_out=profile.slats_out_with_lever(flap),
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
        condition_code=condition_code,
        headwind_kt=0.0,
        slope_percent=0.0,
        spoilers=1.0,
        reversers=0,
        brakes_fraction=1.0,
        anti_skid=profile.tyres.anti_skid,
    )


# --- gates --------------------------------------------------------------------------------------


def _masses(profile: Profile) -> Iterator[Figure]:
    m = profile.masses
    reserve_kg = final_reserve_kg(
        profile,
        configuration=_with_lever(profile, profile.flaps_up),
        mass_kg=m.mlw_kg,
        elevation_ft=0.0,
    )
    yield Figure(what="MZFW above OEW", value=m.mzfw_kg - m.oew_kg, low=0.0)
    yield Figure(
        what="MLW above MZFW, by the final reserve", value=m.mlw_kg - m.mzfw_kg, low=reserve_kg
    )
    yield Figure(what="MTOW above MLW", value=m.mtow_kg - m.mlw_kg, low=0.0)
    yield Figure(
        what="MTOW above OEW with full tanks",
        value=m.mtow_kg - m.oew_kg - m.max_fuel_kg,
        low=0.0,
    )


def _approach_climb(profile: Profile) -> Iterator[Figure]:
    flap = profile.approach.go_around_detent
    gradient = climb(
        profile,
        configuration=_with_lever(profile, flap, stopped=1),
        mass_kg=profile.masses.mlw_kg,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
    ).gradient_percent
    yield Figure(
        what=f"one engine stopped, flap {flap}, gear up, MLW",
        value=gradient,
        low=APPROACH_CLIMB_PERCENT[profile.engine.count],
    )


def _landing_climb(profile: Profile) -> Iterator[Figure]:
    flap = profile.approach.landing_detent
    gradient = climb(
        profile,
        configuration=_with_lever(profile, flap, gear=True),
        mass_kg=profile.masses.mlw_kg,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
    ).gradient_percent
    what = f"every engine running, flap {flap}, gear down, MLW"
    yield Figure(what=what, value=gradient, low=LANDING_CLIMB_PERCENT)


def _second_segment(profile: Profile) -> Iterator[Figure]:
    flap, mass_kg = profile.approach.second_segment_detent, profile.masses.mtow_kg
    configuration = _with_lever(profile, flap, stopped=1)
    stall_kt = float(stall_speed_kt(profile, configuration, mass_kg=mass_kg))
    gradient = climb(
        profile,
        configuration=configuration,
        mass_kg=mass_kg,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
        rating=Rating.GO_AROUND,
        cas_kt=profile.speeds.second_segment_ratio * stall_kt,
    ).gradient_percent
    yield Figure(
        what=f"one engine stopped, flap {flap}, gear up, MTOW",
        value=gradient,
        low=SECOND_SEGMENT_PERCENT[profile.engine.count],
    )


def _stall_speeds(profile: Profile) -> Iterator[Figure]:
    for less, more in pairwise(detent.id for detent in profile.detents):
        what = f"VSR at flap {less}, not below that at flap {more}"
        yield Figure(what=what, value=_stall_kt(profile, less), low=_stall_kt(profile, more))


def _approach_stall(profile: Profile) -> Iterator[Figure]:
    a = profile.approach
    ratio = _stall_kt(profile, a.go_around_detent) / _stall_kt(profile, a.landing_detent)
    what = f"VSR at flap {a.go_around_detent} over VSR at flap {a.landing_detent}"
    yield Figure(what=what, value=ratio, high=APPROACH_STALL_RATIO)


def _flap_speeds(profile: Profile) -> Iterator[Figure]:
    for detent in profile.detents:
        slats_out = profile.slats_out_with_lever(detent.id)
        limits = [detent.vfe_kt, profile.slats.vfe_kt if slats_out else None]
        known = [limit for limit in limits if limit is not None]
        if known:
            flown_kt = approach_speed_kt(
                profile, mass_kg=profile.masses.mlw_kg, flap=detent.id, slats_out=slats_out
            )
            what = f"VFE of flap {detent.id}, above approach speed + {FLAP_SPEED_ROOM_KT:.0f}"
            yield Figure(what=what, value=min(known), low=flown_kt + FLAP_SPEED_ROOM_KT)


def _gear_speeds(profile: Profile) -> Iterator[Figure]:
    clean = _with_lever(profile, profile.flaps_up, gear=True)
    slow_kt = slowest_kt(profile, clean, mass_kg=profile.masses.mlw_kg)
    low_kt = slow_kt + FLAP_SPEED_ROOM_KT
    ratio = profile.speeds.holding_ratio
    what = f"VLE, above {ratio:.2f} VSR flaps up + {FLAP_SPEED_ROOM_KT:.0f}"
    yield Figure(what=what, value=profile.limits.vle_kt, low=low_kt)


def _landing_distance(profile: Profile) -> Iterator[Figure]:
    low_m, high_m = LANDING_DISTANCE_M
    dry = _land(profile, BEST_CODE)
    yield Figure(
        what="MLW, dry, no reversers, unfactored",
        value=dry.distance_m,
        low=low_m,
        high=high_m,
        problem=dry.limited_by or "",
    )
    distances = [(code, _land(profile, code)) for code in range(BEST_CODE, WORST_CODE - 1, -1)]
    for (_, better), (code, worse) in pairwise(distances):
        yield Figure(
            what=f"code {code}, not below code {code + 1}",
            value=worse.distance_m,
            low=better.distance_m,
            problem=worse.limited_by or "",
        )


def _brakes(profile: Profile) -> Iterator[Figure]:
    stop = _land(profile, BEST_CODE)
    yield Figure(
        what="energy of that landing",
        value=stop.brake_energy_mj,
        high=profile.brakes.energy_limit_mj,
    )


def _tyres(profile: Profile) -> Iterator[Figure]:
    speed_kt = _land(profile, BEST_CODE).tyre_speed_kt
    yield Figure(what="touchdown", value=speed_kt, high=profile.tyres.speed_limit_kt)


def _holding_flow(profile: Profile) -> Iterator[Figure]:
    low, high = HOLDING_FLOW_KG_PER_H_PER_T
    mass_kg = profile.masses.mlw_kg
    flow = holding_flow_kg_per_h(
        profile,
        configuration=_with_lever(profile, profile.flaps_up),
        mass_kg=mass_kg,
        pressure_altitude_ft=HOLDING_HEIGHT_FT,
    )
    what = f"clean, MLW, {HOLDING_HEIGHT_FT:.0f} ft"
    yield Figure(what=what, value=flow / (mass_kg / KG_PER_T), low=low, high=high)


def _lift_over_drag(profile: Profile) -> Iterator[Figure]:
    low, high = BEST_LIFT_OVER_DRAG
    k = induced_factor(profile, deflection_deg=0.0)
    best = 0.5 / math.sqrt(profile.polar.cd0 * k)
    yield Figure(what="clean", value=best, low=low, high=high)


def _gear_drag(profile: Profile) -> Iterator[Figure]:
    mass_kg, gear = profile.masses.mtow_kg, profile.gear
    loading = mass_kg * GRAVITY_MPS2 / profile.wing.area_m2
    low, high = GEAR_DRAG_OVER_ESTIMATE
    for words, drag, constant in (
        ("flaps up", gear.flaps_up_cd, GEAR_CONSTANT_FLAPS_UP),
        ("full flap", gear.flaps_full_cd, GEAR_CONSTANT_FLAPS_FULL),
    ):
        estimate = loading * constant * mass_kg**GEAR_MASS_POWER
        what = f"{words}, over the estimate {estimate:.4f}"
        yield Figure(what=what, value=drag / estimate, low=low, high=high)


def _one_engine_ceiling(profile: Profile) -> Iterator[Figure]:
    height_ft = ceiling_ft(
        profile,
        configuration=_with_lever(profile, profile.flaps_up, stopped=1),
        mass_kg=profile.masses.mlw_kg,
    )
    yield Figure(
        what="one engine stopped, clean, MLW, 100 ft/min",
        value=height_ft,
        low=ONE_ENGINE_CEILING_FT,
        problem="" if height_ft is not None else "it does not even climb at sea level",
    )


def _take_off_flow(profile: Profile) -> Iterator[Figure]:
    engine = profile.engine
    low, high = TAKE_OFF_FLOW_RATIO
    ratio = engine.fuel_constant + engine.fuel_linear + engine.fuel_square
    yield Figure(what="fuel law at take-off thrust, at rest", value=ratio, low=low, high=high)


GATES: Final = (
    Gate(id="masses", figures=_masses, unit="kg", source="ASSUMED"),
    Gate(id="approach climb", figures=_approach_climb, unit="%", source="CFR-25 25.121(d)"),
    Gate(id="landing climb", figures=_landing_climb, unit="%", source="CFR-25 25.119"),
    Gate(id="second segment", figures=_second_segment, unit="%", source="CFR-25 25.121(b)"),
    Gate(id="stall speeds", figures=_stall_speeds, unit="kt", source="ASSUMED"),
    Gate(id="approach stall", figures=_approach_stall, unit="", source="CFR-25 25.121(d)"),
    Gate(id="flap speeds", figures=_flap_speeds, unit="kt", source="ASSUMED"),
    Gate(id="gear speed", figures=_gear_speeds, unit="kt", source="ASSUMED"),
    Gate(id="landing", figures=_landing_distance, unit="m", source="ASSUMED"),
    Gate(id="brake energy", figures=_brakes, unit="MJ", source="the profile"),
    Gate(id="tyre speed", figures=_tyres, unit="kt", source="the profile"),
    Gate(id="holding flow", figures=_holding_flow, unit="kg/h/t", source="ASSUMED"),
    Gate(id="lift over drag", figures=_lift_over_drag, unit="", source="ASSUMED"),
    Gate(id="gear drag", figures=_gear_drag, unit="", source="MAIR-BIRDSALL"),
    Gate(id="ceiling", figures=_one_engine_ceiling, unit="ft", source="ASSUMED"),
    Gate(id="take-off flow", figures=_take_off_flow, unit="", source="ICAO-EEDB"),
)
