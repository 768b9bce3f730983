"""A diversion: climb, cruise and descent from one place to another, at the best level and speed.

Without a level and a speed given the plan comes from prepared tables; a fixed level or speed is
flown plainly in slabs. Either way one speed law is held throughout, fuel includes a leak, and what
cannot be flown names the limit. Approach allowance and reserve are not included.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final, NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from decision.elementwise import BoolArray, FloatArray, Numbers
from decision.errors import require_range
from decision.performance.climb import MINIMUM_RATE_FPM
from decision.performance.configuration import (
    CALM_STANDARD,
    Air,
    CannotFly,
    Configuration,
    Flown,
    NotKnown,
    Objective,
    OrdinaryWay,
    Outcome,
    Step,
)
from decision.performance.envelope import (
    LEVEL_STEP_FT,
    NamedLimit,
    envelope,
    require_mass,
    slowest_kt,
)
from decision.performance.level import unknown_words
from decision.performance.ordinary import ordinary_way
from decision.performance.prepared import BOTTOM_FT, HOURS, Prepared, prepared, speed_grid_kt
from decision.performance.search import (
    LevelAndSpeed,
    Option,
    SearchEnd,
    SearchOptions,
    Start,
    choose_option,
    depart,
    options,
    search_end,
    speeds_for,
)
from decision.performance.slabs import (
    SLOWEST_GROUND_SPEED_KT,
    Cases,
    Stage,
    fly_cases,
)
from decision.profile import Profile
from decision.units import MIN_PER_H

CLIMB: Final = "climb"
DESCENT_TO_LEVEL: Final = "descent to level"
CRUISE: Final = "cruise"
DESCENT: Final = "descent"
EXTRA_TRACK: Final = "extra track to lose height"

LONGEST_NM: Final = 6_000.0  # [ASSUMED] beyond any diversion
GREATEST_LEAK_KG_PER_H: Final = 20_000.0  # [ASSUMED] beyond any leak that leaves time to decide


class DiversionLeg(Struct, frozen=True, kw_only=True, gc=False):
    """A diversion to fly; heights are pressure altitudes."""

    profile: Profile
    configuration: Configuration
    mass_kg: float
    distance_nm: float
    start_ft: float
    end_ft: float
    minimum_ft: float | None
    air: Air
    leak_kg_per_h: float
    objective: Objective = Objective.LEAST_FUEL
    most_fuel_kg: float = math.inf

    def __post_init__(self) -> None:
        require_mass(self.profile, mass_kg=self.mass_kg)
        require_range("distance_nm", self.distance_nm, low=0.0, high=LONGEST_NM)
        require_range("leak_kg_per_h", self.leak_kg_per_h, low=0.0, high=GREATEST_LEAK_KG_PER_H)
        top_ft = self.profile.limits.max_pressure_altitude_ft
        for name, height_ft in (("start", self.start_ft), ("end", self.end_ft)):
            require_range(f"{name}_pressure_altitude_ft", height_ft, low=BOTTOM_FT, high=top_ft)

    @property
    def lowest_ft(self) -> float:
        """The lowest level allowed: neither below the end nor below the minimum safe altitude."""
        return self.end_ft if self.minimum_ft is None else max(self.end_ft, self.minimum_ft)

    @property
    def highest(self) -> NamedLimit:
        """The highest level allowed, which terrain may raise where people breathe from masks."""
        limits = envelope(self.profile, self.configuration)
        return limits.highest_above_ft(self.lowest_ft)

    @property
    def destination(self) -> SearchEnd:
        """Where it goes, for the search."""
        return search_end(
            distance_nm=self.distance_nm,
            end_ft=self.end_ft,
            lowest_ft=self.lowest_ft,
            highest_ft=self.highest.value,
            air=self.air,
            most_fuel_kg=self.most_fuel_kg,
        )


class FlownStage(Struct, frozen=True, kw_only=True, gc=False):
    """What one stage of a single flight takes."""

    fuel_kg: float
    time_min: float
    distance_nm: float


class Track(Struct, frozen=True, kw_only=True, gc=False):
    """A way onward from where others begin too; `minimum_*` is the lowest cruising level.

    `most_fuel_kg` bounds a flight for time.
    """

    distance_nm: float
    end_pressure_altitude_ft: float
    air: Air = CALM_STANDARD
    minimum_pressure_altitude_ft: float | None = None
    most_fuel_kg: float = math.inf


class Leaving(Struct, frozen=True, kw_only=True, gc=False):
    """Where several ways begin, and which they are.

    `ordinary`: what the ordinary way takes is asked for as well.
    """

    mass_kg: float
    pressure_altitude_ft: float
    tracks: tuple[Track, ...]
    ordinary: bool = True


def fly_diversion(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    distance_nm: float,
    start_pressure_altitude_ft: float,
    end_pressure_altitude_ft: float,
    air: Air = CALM_STANDARD,
    minimum_pressure_altitude_ft: float | None = None,
    pressure_altitude_ft: float | None = None,
    cas_kt: float | None = None,
    leak_kg_per_h: float = 0.0,
    objective: Objective = Objective.LEAST_FUEL,
    most_fuel_kg: float = math.inf,
) -> Outcome:
    """Fly to another place, at the best level and speed or at those given.

    Best is what `objective` says, which concerns a free level and speed only; a flight for time
    takes no more than `most_fuel_kg` if any can.

    `minimum_pressure_altitude_ft` is the lowest cruising level allowed. Raises OutOfRange for an
    impossible mass, height, distance or leak, ValueError for a flap detent that does not exist.

    By hand: 200 NM in 38 min are 317 kt on average, and 1450 kg in that time 2290 kg/h: a little
    under what the same aircraft holds with, 2350 kg/h at 5000 ft, as a descent near idle makes up
    for the climb. With the gear down CD0 is 0.0514 and not 0.0205: two thirds more. That slabs and
    search do not spoil this is tested against finer slabs and every level (tests/physics).

    >>> from msgspec.structs import replace
    >>> from decision.performance.configuration import clean
    >>> from decision.profile import load_profile
    >>> twin = load_profile("xtj150")
    >>> for gear_down in (False, True):
    ...     flown = fly_diversion(
    ...         twin,
    ...         configuration=replace(clean(twin), gear_down=gear_down),
    ...         mass_kg=60_000.0,
    ...         distance_nm=200.0,
    ...         start_pressure_altitude_ft=1_500.0,
    ...         end_pressure_altitude_ft=1_500.0,
    ...     )
    ...     print(round(flown.fuel_kg, -1), round(flown.time_min), flown.pressure_altitude_ft)
    1450.0 38 29000.0
    2400.0 48 24000.0
    """
    leg = DiversionLeg(
        profile=profile,
        configuration=configuration,
        mass_kg=float(mass_kg),
        distance_nm=float(distance_nm),
        start_ft=float(start_pressure_altitude_ft),
        end_ft=float(end_pressure_altitude_ft),
        minimum_ft=minimum_pressure_altitude_ft,
        air=air,
        leak_kg_per_h=float(leak_kg_per_h),
        objective=objective,
        most_fuel_kg=most_fuel_kg,
    )
    if pressure_altitude_ft is None and cas_kt is None:
        return _best_or_forbidden((leg,), ordinary=(True,))[0]
    forbidden = forbidden_words(leg)
    if forbidden is not None:
        return CannotFly(limited_by=forbidden)
    return _fixed(leg, level_ft=pressure_altitude_ft, cas_kt=cas_kt)


def fly_diversions(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    start_pressure_altitude_ft: float,
    tracks: tuple[Track, ...],
    leak_kg_per_h: float = 0.0,
    objective: Objective = Objective.LEAST_FUEL,
    ordinary: bool = True,
) -> tuple[Outcome, ...]:
    """Fly each of several ways from one place, at its own best level and speed.

    The same figures as `fly_diversion` for each, for little more than the cost of one. Without
    `ordinary` it is not worked out what the ordinary way takes. Raises as that does.
    """
    leaving = Leaving(
        mass_kg=mass_kg,
        pressure_altitude_ft=start_pressure_altitude_ft,
        tracks=tracks,
        ordinary=ordinary,
    )
    return fly_from_each(
        profile,
        configuration=configuration,
        leaving=(leaving,),
        leak_kg_per_h=leak_kg_per_h,
        objective=objective,
    )[0]


def fly_from_each(
    profile: Profile,
    *,
    configuration: Configuration,
    leaving: Sequence[Leaving],
    leak_kg_per_h: float = 0.0,
    objective: Objective = Objective.LEAST_FUEL,
) -> tuple[tuple[Outcome, ...], ...]:
    """The same from each of several places in one configuration, for less than each by itself."""
    legs = [
        DiversionLeg(
            profile=profile,
            configuration=configuration,
            mass_kg=float(start.mass_kg),
            distance_nm=float(track.distance_nm),
            start_ft=float(start.pressure_altitude_ft),
            end_ft=float(track.end_pressure_altitude_ft),
            minimum_ft=track.minimum_pressure_altitude_ft,
            air=track.air,
            leak_kg_per_h=float(leak_kg_per_h),
            objective=objective,
            most_fuel_kg=track.most_fuel_kg,
        )
        for start in leaving
        for track in start.tracks
    ]
    wanted = [start.ordinary for start in leaving for _ in start.tracks]
    flown = iter(_best_or_forbidden(legs, ordinary=wanted))
    return tuple(tuple(islice(flown, len(start.tracks))) for start in leaving)


def _best_or_forbidden(
    legs: Sequence[DiversionLeg], *, ordinary: Sequence[bool]
) -> tuple[Outcome, ...]:
    """The best plan of each leg, in one configuration; those of the same tables all at once."""
    answers: dict[int, Outcome] = {}
    together: dict[_Searched, dict[Start, list[int]]] = {}
    for i, leg in enumerate(legs):
        forbidden = forbidden_words(leg)
        if forbidden is not None:
            answers[i] = CannotFly(limited_by=forbidden)
        else:
            start = Start(height_ft=leg.start_ft, mass_kg=leg.mass_kg)
            together.setdefault(_searched(leg), {}).setdefault(start, []).append(i)
    for searched, starts in together.items():
        members = [i for each in starts.values() for i in each]
        flown = _best(
            searched.tables,
            {start: [legs[i] for i in each] for start, each in starts.items()},
            ordinary=[ordinary[i] for i in members],
        )
        answers.update(zip(members, flown, strict=True))
    return tuple(answers[i] for i in range(len(legs)))


class _Searched(NamedTuple):
    """What legs have to have in common to be searched together: tables, and speeds among them."""

    tables: Prepared
    first: int
    end: int


def _searched(leg: DiversionLeg) -> _Searched:
    tables = prepared(
        leg.profile,
        leg.configuration,
        leg.air,
        mass_kg=leg.mass_kg,
        fast=leg.objective.fast,
    )
    speeds = speeds_for(leg.profile, leg.configuration, tables, mass_kg=leg.mass_kg)
    return _Searched(tables, speeds.start, speeds.stop)


def forbidden_words(leg: DiversionLeg) -> str | None:
    """What forbids the leg whatever the plan."""
    limits = envelope(leg.profile, leg.configuration)
    slowest = slowest_kt(leg.profile, leg.configuration, mass_kg=leg.mass_kg)
    if slowest > limits.fastest_kt.value:
        return f"1.30 VSR {slowest:.0f} kt is above {limits.fastest_kt.words('kt')}"
    if leg.lowest_ft > leg.highest.value:
        what = "destination" if leg.lowest_ft == leg.end_ft else "minimum safe altitude"
        return f"{what} {leg.lowest_ft:.0f} ft is above {leg.highest.words('ft')}"
    return None


def _best(
    tables: Prepared,
    from_each: Mapping[Start, Sequence[DiversionLeg]],
    *,
    ordinary: Sequence[bool],
) -> Sequence[Outcome]:
    """The best plans of the legs from each start, one start after the other, from the tables."""
    destinations = [[leg.destination for leg in each] for each in from_each.values()]
    legs = [leg for each in from_each.values() for leg in each]
    first = legs[0]
    departure = depart(
        first.profile,
        first.configuration,
        tables,
        starts=tuple(from_each),
        highest_row=max([end.highest_row for ends in destinations for end in ends]),
        leak_kg_per_h=first.leak_kg_per_h,
    )
    found = options(
        departure,
        destinations,
        flow_scale=first.configuration.fuel_flow_scale,
        leak_kg_per_h=first.leak_kg_per_h,
    )
    for_time = first.objective is Objective.LEAST_TIME
    plans = _each_chosen(found.fastest_choices if for_time else found.choices)
    beside: list[Option] = []
    if any(ordinary) and not for_time:  # a flight for time is given what it asks for
        usual = ordinary_way(first.profile, first.configuration)
        nearest = found.nearest_choices(level_ft=usual.level_ft, cas_kt=usual.cas_kt)
        beside = [option for option in _each_chosen(nearest) if ordinary[option[0]]]
    descents = found.descents((*plans, *beside))
    flown = {
        option[0]: _flown_option(legs[option[0]], found, option, descent)
        for option, descent in zip(plans, descents, strict=False)
    }
    for option, descent in zip(beside, descents[len(plans) :], strict=True):
        plan = flown[option[0]]
        flown[option[0]] = _with_ordinary(plan, legs[option[0]], found, option, descent)
    return [flown[i] if i in flown else _none(leg, found, i) for i, leg in enumerate(legs)]


def _each_chosen(choices: Sequence[LevelAndSpeed | None]) -> list[Option]:
    """The option of each destination that has one."""
    return [(i, *choice) for i, choice in enumerate(choices) if choice is not None]


def _with_ordinary(
    plan: Outcome, leg: DiversionLeg, found: SearchOptions, option: Option, descent: list[float]
) -> Outcome:
    """The plan, and beside it what the ordinary way takes."""
    which, level, speed = option
    departure, row = found.departure, found.rows.start + level
    start, fuel_kg = found.asked.start.item(which), found.fuel_kg.item(which, speed, level)
    if not isinstance(plan, Flown) or fuel_kg > leg.mass_kg - leg.profile.masses.oew_kg:
        return plan
    to_level_h, cruise_h = (
        departure.hours.item(start, speed, row),
        found.cruise_hours.item(which, speed, level),
    )
    return replace(
        plan,
        ordinary=OrdinaryWay(
            fuel_kg=fuel_kg,
            time_min=(to_level_h + cruise_h + descent[HOURS]) * MIN_PER_H,
            pressure_altitude_ft=departure.tables.levels_ft.item(row),
            cas_kt=departure.tables.level_cas_kt.item(departure.speeds.start + speed, row),
        ),
    )


def _none(leg: DiversionLeg, found: SearchOptions, i: int) -> Outcome:
    """No option for a destination: the limit that forbids it, or the figure that is missing."""
    sought = found.masks.sought[i, 0]
    if not sought.any():
        return CannotFly(limited_by=_no_level(leg))
    if found.masks.within_limits[i].any():
        return NotKnown(what=unknown_words(leg.profile, leg.configuration))
    ground_speed_kt = np.broadcast_to(found.ground_speed_kt, found.fuel_kg.shape)
    slowest_fpm = found.departure.slowest_fpm[found.asked.start[i], :, found.rows]
    return CannotFly(
        limited_by=_margin_words(
            leg,
            slowest_fpm=slowest_fpm[:, sought],
            ground_speed_kt=ground_speed_kt[i, :, sought].T,
            cruise_nm=found.cruise_miles[i, :, sought].T,
        )
    )


def _no_level(leg: DiversionLeg) -> str:
    """Lowest and highest level are closer than a step of the search."""
    return f"no level between {leg.lowest_ft:.0f} ft and {leg.highest.words('ft')}"


def _margin_words(
    leg: DiversionLeg,
    *,
    slowest_fpm: FloatArray,
    ground_speed_kt: FloatArray,
    cruise_nm: FloatArray,
) -> str:
    """Which of climb, wind and distance forbids every option."""
    climbs = slowest_fpm >= MINIMUM_RATE_FPM
    if not climbs.any():
        return (
            f"climb at {leg.mass_kg:.0f} kg to {leg.lowest_ft:.0f} ft or above is"
            f" {slowest_fpm.max():.0f} ft/min at best; {MINIMUM_RATE_FPM:.0f} ft/min needed"
        )
    ground_kt = ground_speed_kt[climbs].max()
    if ground_kt < SLOWEST_GROUND_SPEED_KT:
        return (
            f"ground speed is {ground_kt:.0f} kt at best; {SLOWEST_GROUND_SPEED_KT:.0f} kt needed"
        )
    taken_nm = leg.distance_nm - cruise_nm[climbs].max()
    return (
        f"distance {leg.distance_nm:.0f} NM is too short: climb and descent alone take"
        f" {taken_nm:.0f} NM at least"
    )


def _flown_option(
    leg: DiversionLeg, found: SearchOptions, option: Option, descent: list[float]
) -> Outcome:
    """One option as a flight."""
    which, level, speed = option
    departure, row, place = found.departure, found.rows.start + level, (which, speed, level)
    start = found.asked.start.item(which)
    hours, descent_kg, descent_nm = descent
    to_level = FlownStage(
        fuel_kg=departure.fuel_kg.item(start, speed, row),
        time_min=departure.hours.item(start, speed, row) * MIN_PER_H,
        distance_nm=found.to_level_miles.item(
            which if len(found.to_level_miles) > 1 else 0, speed, level
        ),
    )
    cruise = FlownStage(
        fuel_kg=found.cruise_fuel_kg.item(place),
        time_min=found.cruise_hours.item(place) * MIN_PER_H,
        distance_nm=found.cruise_miles.item(place),
    )
    down = FlownStage(
        fuel_kg=descent_kg * leg.configuration.fuel_flow_scale + hours * leg.leak_kg_per_h,
        time_min=hours * MIN_PER_H,
        distance_nm=descent_nm,
    )
    return flown_stages(
        leg,
        stages=(to_level, cruise, down),
        level_ft=departure.tables.levels_ft.item(row),
        cas_kt=departure.tables.level_cas_kt.item(departure.speeds.start + speed, row),
        extra_nm=cruise.distance_nm - found.straight_miles.item(place),
    )


def flown_stages(
    leg: DiversionLeg,
    *,
    stages: tuple[FlownStage, FlownStage, FlownStage],
    level_ft: float,
    cas_kt: float,
    extra_nm: float,
) -> Outcome:
    """Way to the level, cruise and descent as steps with their sums; empty ones are left out.

    `extra_nm` of the way down are beyond the leg's distance and become a step of their own.
    """
    to_level, cruise, descent = stages
    up = CLIMB if level_ft >= leg.start_ft else DESCENT_TO_LEVEL
    down_nm = to_level.distance_nm + descent.distance_nm
    share = extra_nm / down_nm if extra_nm > 0.0 else 0.0
    down_share = share if up == DESCENT_TO_LEVEL else 0.0
    parts = (
        (up, level_ft + (leg.start_ft - level_ft) * down_share, to_level, 1.0 - down_share),
        (EXTRA_TRACK, level_ft, to_level, down_share),
        (CRUISE, level_ft, cruise, 1.0),
        (EXTRA_TRACK, level_ft + (leg.end_ft - level_ft) * share, descent, share),
        (DESCENT, leg.end_ft, descent, 1.0 - share),
    )
    label = leg.configuration.label
    steps = tuple(
        [
            Step(
                name=name,
                distance_nm=stage.distance_nm * part,
                time_min=stage.time_min * part,
                fuel_kg=stage.fuel_kg * part,
                pressure_altitude_ft=height_ft,
                cas_kt=cas_kt,
                configuration=label,
            )
            for name, height_ft, stage, part in parts
            if stage.time_min * part > 0.0
        ]
    )
    fuel_kg = math.fsum([step.fuel_kg for step in steps])
    carried_kg = leg.mass_kg - leg.profile.masses.oew_kg
    if fuel_kg > carried_kg:
        return CannotFly(
            limited_by=f"fuel exhausted on the way: {fuel_kg:.0f} kg needed, at "
            f"{leg.mass_kg:.0f} kg at most {carried_kg:.0f} kg above the empty mass"
        )
    return Flown(
        fuel_kg=fuel_kg,
        time_min=math.fsum([step.time_min for step in steps]),
        distance_nm=leg.distance_nm + extra_nm,
        pressure_altitude_ft=level_ft,
        cas_kt=cas_kt,
        end_mass_kg=leg.mass_kg - fuel_kg,
        steps=steps,
    )


def _fixed(leg: DiversionLeg, *, level_ft: float | None, cas_kt: float | None) -> Outcome:
    """The flight at a given level, speed or both, in slabs; the best of what is left open."""
    forbidden = _forbidden_choice(leg, level_ft=level_ft, cas_kt=cas_kt)
    if forbidden is not None:
        return CannotFly(limited_by=forbidden)
    levels = _open_levels(leg) if level_ft is None else np.array([float(level_ft)])
    speeds = _open_speeds(leg) if cas_kt is None else np.array([float(cas_kt)])
    if not levels.size:
        return CannotFly(limited_by=_no_level(leg))
    grid = _grid(leg, levels, speeds)
    choice = choose_option(grid.fuel_kg, flyable=grid.flyable, worth_it=grid.worth_it)
    if choice is None and grid.within_limits.any():
        return NotKnown(what=unknown_words(leg.profile, leg.configuration))
    if choice is None:
        return CannotFly(
            limited_by=_margin_words(
                leg,
                slowest_fpm=grid.slowest_fpm,
                ground_speed_kt=grid.ground_speed_kt,
                cruise_nm=grid.cruise_nm,
            )
        )
    stages = fly_cases(
        leg.profile,
        leg.configuration,
        _cases(leg, float(levels[choice[0]]), float(speeds[choice[1]])),
        air=leg.air,
    )
    return flown_stages(
        leg,
        stages=(
            _flown_stage(stages.to_level),
            _flown_stage(stages.cruise),
            _flown_stage(stages.descent),
        ),
        level_ft=float(levels[choice[0]]),
        cas_kt=float(stages.cruise_cas_kt),
        extra_nm=float(stages.extra_track_nm),
    )


def _flown_stage(stage: Stage) -> FlownStage:
    return FlownStage(
        fuel_kg=float(stage.fuel_kg),
        time_min=float(stage.time_min),
        distance_nm=float(stage.distance_nm),
    )


def _forbidden_choice(
    leg: DiversionLeg, *, level_ft: float | None, cas_kt: float | None
) -> str | None:
    """What forbids the given level or speed."""
    limits = envelope(leg.profile, leg.configuration)
    slowest = slowest_kt(leg.profile, leg.configuration, mass_kg=leg.mass_kg)
    if cas_kt is not None and cas_kt > limits.fastest_kt.value:
        return f"{cas_kt:.0f} kt is above {limits.fastest_kt.words('kt')}"
    if cas_kt is not None and cas_kt < slowest:
        return f"{cas_kt:.0f} kt is below 1.30 VSR {slowest:.0f} kt"
    if level_ft is not None and level_ft > leg.highest.value:
        return f"{level_ft:.0f} ft is above {leg.highest.words('ft')}"
    if level_ft is not None and level_ft < leg.lowest_ft:
        return f"{level_ft:.0f} ft is below the lowest level allowed, {leg.lowest_ft:.0f} ft"
    return None


def _open_levels(leg: DiversionLeg) -> FloatArray:
    highest_ft = leg.highest.value
    first_ft = math.ceil(leg.lowest_ft / LEVEL_STEP_FT) * LEVEL_STEP_FT
    return np.arange(first_ft, highest_ft + 1.0, LEVEL_STEP_FT)


def _open_speeds(leg: DiversionLeg) -> FloatArray:
    speeds = speed_grid_kt(leg.profile, leg.configuration)
    limits = envelope(leg.profile, leg.configuration)
    slowest = slowest_kt(leg.profile, leg.configuration, mass_kg=leg.mass_kg)
    fastest = limits.planned_kt if slowest <= limits.planned_kt else limits.fastest_kt.value
    return speeds[(speeds >= slowest) & (speeds <= fastest)]


def _cases(leg: DiversionLeg, level_ft: Numbers, cas_kt: Numbers) -> Cases:
    return Cases(
        mass_kg=leg.mass_kg,
        distance_nm=leg.distance_nm,
        start_ft=leg.start_ft,
        end_ft=leg.end_ft,
        level_ft=level_ft,
        cas_kt=cas_kt,
        leak_kg_per_h=leg.leak_kg_per_h,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grid:
    """Flights at every level and speed that a request leaves open: arrays [level, speed]."""

    fuel_kg: FloatArray
    flyable: BoolArray
    within_limits: BoolArray
    worth_it: BoolArray
    slowest_fpm: FloatArray
    ground_speed_kt: FloatArray
    cruise_nm: FloatArray


def _grid(leg: DiversionLeg, levels: FloatArray, speeds: FloatArray) -> _Grid:
    """Fly the grid, the levels above the start and those below it apart."""
    grid = _Grid(
        fuel_kg=np.zeros((levels.size, speeds.size)),
        flyable=np.zeros((levels.size, speeds.size), dtype=np.bool_),
        within_limits=np.zeros((levels.size, speeds.size), dtype=np.bool_),
        worth_it=np.zeros((levels.size, speeds.size), dtype=np.bool_),
        slowest_fpm=np.zeros((levels.size, speeds.size)),
        ground_speed_kt=np.zeros((levels.size, speeds.size)),
        cruise_nm=np.zeros((levels.size, speeds.size)),
    )
    for rows in (levels >= leg.start_ft, levels < leg.start_ft):
        if rows.any():
            cases = _cases(leg, levels[rows][:, None], speeds[None, :])
            flown = fly_cases(leg.profile, leg.configuration, cases, air=leg.air)
            grid.fuel_kg[rows] = flown.fuel_kg
            grid.flyable[rows] = flown.flyable
            grid.within_limits[rows] = flown.within_limits
            grid.worth_it[rows] = flown.worth_it
            grid.slowest_fpm[rows] = np.minimum(flown.to_level.slowest_fpm, flown.level_rate_fpm)
            grid.ground_speed_kt[rows] = flown.ground_speed_kt
            grid.cruise_nm[rows] = flown.cruise.distance_nm
    return grid
