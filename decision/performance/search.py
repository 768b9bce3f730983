"""The best level and speed of a diversion, from prepared tables.

All levels (each 1000 ft) and all speeds (each 5 kt) at once: a mask says which a limit forbids,
fuel decides among the rest, and the lowest level within 1 % of the best is taken, since the optimum
is flat and a low level is quick and asks less of the engines. Flown for time, the level that asks
for least climbing within half a minute of the least time is taken. What belongs to the start (mass,
height, configuration) is computed once, and all destinations are flown to at once: an array
operation costs more to begin than to do, so that five aerodromes cost little more than one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from decision.elementwise import BoolArray, FloatArray
from decision.performance.air import crosswind_kt, headwind_kt
from decision.performance.climb import MINIMUM_RATE_FPM
from decision.performance.configuration import Air, Configuration
from decision.performance.envelope import LEVEL_STEP_FT, envelope, slowest_kt
from decision.performance.prepared import (
    BOTTOM_FT,
    SLABS_PER_LEVEL,
    Parabola,
    Prepared,
)
from decision.performance.slabs import (
    MINIMUM_CRUISE_MIN,
    MINIMUM_CRUISE_SHARE,
    SLAB_FT,
    SLOWEST_GROUND_SPEED_KT,
)
from decision.profile import Profile
from decision.units import MIN_PER_H

NEAR_LEAST_MIN: Final = 0.5  # [ASSUMED] a climb that saves less time than this saves none
NEAR_BEST: Final = 1.01  # [ASSUMED] levels this close to the least fuel count as equal
MASS_PASSES: Final = 2  # fuel of a climb, then the climb at the masses that it leaves
NEAR_KT: Final = 10.0  # counts as much as a level when the nearest way is sought
HOURS, FUEL, MILES = range(3)  # quantities of the descent table

CALM: Final = np.zeros((1, 1, 1))  # an equivalent headwind

IntArray = npt.NDArray[np.intp]


def row_of(height_ft: float) -> float:
    """Place of a height among the levels of the tables; whole numbers are levels."""
    return (height_ft - BOTTOM_FT) / LEVEL_STEP_FT


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchEnd:
    """Where a diversion goes: miles, pressure altitude at the end, levels allowed, air.

    `most_fuel_kg` bounds a flight for time.
    """

    distance_nm: float
    end_ft: float
    lowest_ft: float
    highest_ft: float
    air: Air
    most_fuel_kg: float

    @property
    def lowest_row(self) -> int:
        """The lowest level of the tables that is allowed."""
        return math.ceil(row_of(self.lowest_ft))

    @property
    def highest_row(self) -> int:
        """The highest of them."""
        return math.floor(row_of(self.highest_ft))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SearchStart:
    """Everything about a diversion that its destination does not change.

    Arrays [level, speed] run over all levels up to the highest allowed one and over the allowed
    `speeds`. Below the start's height they hold the descent from it. `band_hours` are those of
    the climb from each level to the next, zero below the start; `descent` and `level_flow` are
    parabolas around `mass_kg`; `reach_miles` and `reach_hours` are what climb and descent by way of
    each level to the bottom of the tables take; `floor_nm` [level, 1] is the least cruise, 0 where
    the flight only descends and may fly extra track.
    """

    tables: Prepared
    speeds: slice
    start_row: float
    mass_kg: float
    fuel_kg: FloatArray
    hours: FloatArray
    miles: FloatArray
    slowest_fpm: FloatArray
    band_hours: FloatArray
    level_flow: Parabola
    descent: Parabola
    reach_miles: FloatArray
    reach_hours: FloatArray
    floor_nm: FloatArray

    @property
    def first_climb_row(self) -> int:
        """The lowest level that is not below the start."""
        return math.ceil(self.start_row)

    def rows_within(self, destinations: Sequence[SearchEnd]) -> IntArray:
        """How many levels to look at for each: beyond, climb and descent exceed the distance.

        The strongest headwind on all of the way is the most that can shorten them.
        """
        headwind_kt, distance_nm, end_row, lowest_row = np.array(
            [
                (
                    max(each.air.strongest_headwind_kt, 0.0),
                    each.distance_nm,
                    row_of(each.end_ft),
                    each.lowest_row,
                )
                for each in destinations
            ]
        ).T
        shortest_nm = self.reach_miles - headwind_kt[:, None, None] * self.reach_hours
        to_bottom_nm = at_rows(self.descent.terms[0, MILES][None], end_row)
        taken_nm = (shortest_nm - to_bottom_nm[:, None]).min(axis=2, initial=math.inf)
        near = _after_last(taken_nm <= distance_nm[:, None])
        wanted = np.maximum(near + 1, np.maximum(self.first_climb_row, lowest_row) + 1)
        within: IntArray = np.minimum(len(self.fuel_kg), wanted).astype(np.intp)
        return within


def _after_last(truths: BoolArray) -> IntArray:
    """Place after the last truth of each row, 0 without one."""
    places = np.where(truths, np.arange(1, truths.shape[1] + 1), 0)
    after: IntArray = places.max(axis=1, initial=0)
    return after


@lru_cache(maxsize=64)
def depart(
    profile: Profile,
    configuration: Configuration,
    tables: Prepared,
    *,
    mass_kg: float,
    start_ft: float,
    highest_ft: float,
    leak_kg_per_h: float,
) -> SearchStart:
    """Climb to every level at every allowed speed, or descend to it from a start above it."""
    rows = int(row_of(min(highest_ft, float(tables.levels_ft[-1])))) + 1
    speeds = speeds_for(profile, configuration, tables, mass_kg=mass_kg)
    start_row = row_of(start_ft)
    descent_rows = max(rows, math.ceil(start_row) + 1)
    descent = tables.in_mass(tables.descent[:, :, :descent_rows, speeds], mass_kg=mass_kg)
    climb = _climb(
        tables,
        speeds=speeds,
        rows=rows,
        mass_kg=mass_kg,
        start_ft=start_ft,
        flow_scale=configuration.fuel_flow_scale,
        leak_kg_per_h=leak_kg_per_h,
    )
    down = between(descent.terms[0], start_row)[:, None] - descent.terms[0][:, :rows]
    up = np.arange(rows)[:, None] >= start_row
    down_kg = down[FUEL] * configuration.fuel_flow_scale + down[HOURS] * leak_kg_per_h
    fuel_kg = np.where(up, climb.fuel_kg, down_kg)
    level_fpm = climb.level_rate_fpm(-fuel_kg)
    miles = np.where(up, climb.miles, down[MILES])
    hours = np.where(up, climb.hours, down[HOURS])
    return SearchStart(
        tables=tables,
        speeds=speeds,
        start_row=start_row,
        mass_kg=mass_kg,
        fuel_kg=fuel_kg,
        hours=hours,
        miles=miles,
        slowest_fpm=np.where(up, np.minimum(climb.slowest_fpm, level_fpm), level_fpm),
        band_hours=climb.band_hours,
        level_flow=tables.in_mass(tables.level_flow_kg_per_h[:, :rows, speeds], mass_kg=mass_kg),
        descent=descent,
        reach_miles=miles + descent.terms[0, MILES, :rows],
        reach_hours=hours + descent.terms[0, HOURS, :rows],
        floor_nm=np.where(np.arange(rows)[:, None] > start_row, -math.inf, 0.0),
    )


def speeds_for(
    profile: Profile, configuration: Configuration, tables: Prepared, *, mass_kg: float
) -> slice:
    """The columns of a plan: clear of the placards, or at them where the mass leaves no room."""
    limits = envelope(profile, configuration)
    slowest = slowest_kt(profile, configuration, mass_kg=mass_kg)
    first = int(np.searchsorted(tables.speeds_kt, slowest))
    end = int(np.searchsorted(tables.speeds_kt, limits.planned_kt, side="right"))
    if end <= first:
        end = int(np.searchsorted(tables.speeds_kt, limits.fastest_kt.value, side="right"))
    return slice(first, end)


def between(table: FloatArray, row: float) -> FloatArray:
    """A table [.., level, speed] at a height between its levels, linear."""
    below = min(int(row), table.shape[-2] - 2)
    share = row - below
    result: FloatArray = table[..., below, :] * (1.0 - share) + table[..., below + 1, :] * share
    return result


def at_rows(tables: FloatArray, rows: FloatArray) -> FloatArray:
    """Tables [.., table, level, speed] each read at its own height, linear: [.., height, speed].

    A single table is read at all of the heights.
    """
    below = np.minimum(rows.astype(np.intp), tables.shape[-2] - 2)
    share = (rows - below)[:, None]
    which = np.arange(len(rows)) if tables.shape[-3] > 1 else np.zeros(len(rows), dtype=np.intp)
    low, high = tables[..., which, below, :], tables[..., which, below + 1, :]
    result: FloatArray = low * (1.0 - share) + high * share
    return result


@dataclass(frozen=True, slots=True, kw_only=True)
class _Climb:
    """A climb to every level; `rate_fpm` in slabs, `band_hours` from level to level."""

    fuel_kg: FloatArray
    hours: FloatArray
    miles: FloatArray
    slowest_fpm: FloatArray
    band_hours: FloatArray
    rate_fpm: Parabola

    def level_rate_fpm(self, offset_kg: FloatArray) -> FloatArray:
        """Climb left at each level, extrapolated from the two slabs below it."""
        terms = self.rate_fpm.terms
        under = terms[:, SLABS_PER_LEVEL - 1 :: SLABS_PER_LEVEL]
        below = terms[:, SLABS_PER_LEVEL - 2 :: SLABS_PER_LEVEL]
        at_levels = Parabola(terms=1.5 * under - 0.5 * below)
        return _with_bottom(at_levels.at(offset_kg[1:]), math.inf)


def _climb(
    tables: Prepared,
    *,
    speeds: slice,
    rows: int,
    mass_kg: float,
    start_ft: float,
    flow_scale: float,
    leak_kg_per_h: float,
) -> _Climb:
    """Climb through the slabs; the fuel of a first pass gives the mass in each slab."""
    slabs = (rows - 1) * SLABS_PER_LEVEL
    tops_ft = BOTTOM_FT + SLAB_FT * np.arange(1.0, slabs + 1.0)[:, None]
    height_ft = np.clip(tops_ft - start_ft, 0.0, SLAB_FT)  # nothing to climb below the start
    rate = tables.in_mass(tables.climb_rate_fpm[:, :slabs, speeds], mass_kg=mass_kg)
    flow = tables.in_mass(tables.climb_flow_kg_per_h[:, :slabs, speeds], mass_kg=mass_kg)
    offset_kg: FloatArray = np.zeros(rate.terms.shape[1:])
    for _ in range(MASS_PASSES):
        rate_fpm = rate.at(offset_kg)
        hours = height_ft / np.maximum(rate_fpm, MINIMUM_RATE_FPM) / MIN_PER_H
        fuel_kg = (flow.at(offset_kg) * flow_scale + leak_kg_per_h) * hours
        burnt_kg = np.cumsum(fuel_kg, axis=0)
        offset_kg = fuel_kg / 2.0 - burnt_kg
    cosine = np.sqrt(1.0 - (rate_fpm / tables.slab_rise_fpm[:slabs, speeds]) ** 2)
    miles = np.cumsum(hours * cosine * tables.slab_tas_kt[:slabs, speeds], axis=0)
    climbed = np.where(height_ft > 0.0, rate_fpm, math.inf)
    level_hours = _at_levels(np.cumsum(hours, axis=0))
    return _Climb(
        fuel_kg=_at_levels(burnt_kg),
        hours=level_hours,
        miles=_at_levels(miles),
        slowest_fpm=_at_levels(np.minimum.accumulate(climbed), bottom=math.inf),
        band_hours=np.diff(level_hours, axis=0),
        rate_fpm=rate,
    )


def _at_levels(slabs: FloatArray, bottom: float = 0.0) -> FloatArray:
    """Running values at the tops of slabs, read at the levels."""
    return _with_bottom(slabs[SLABS_PER_LEVEL - 1 :: SLABS_PER_LEVEL], bottom)


def _with_bottom(rows: FloatArray, bottom: float) -> FloatArray:
    return np.concatenate((np.full((1, rows.shape[1]), bottom), rows))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SearchOptions:
    """Every level from `lowest_row` and every speed for each destination; NM over the ground.

    Arrays [destination, level, speed], where one axis may stand for all destinations or speeds.
    A flight that only descends may fly `extra_miles` to lose its height. What a limit forbids is
    not `flyable` and its figures mean nothing. A cruise below `minimum_cruise_nm` is not worth the
    climb, and taken only if nothing else is flyable, as a minimum safe altitude may demand.
    """

    departure: SearchStart
    lowest_row: int
    sought: BoolArray
    to_level_miles: FloatArray
    cruise_fuel_kg: FloatArray
    cruise_hours: FloatArray
    cruise_miles: FloatArray
    extra_miles: FloatArray
    descent: FloatArray
    descent_fuel_kg: FloatArray
    fuel_kg: FloatArray
    slowest_fpm: FloatArray
    ground_speed_kt: FloatArray
    minimum_cruise_nm: FloatArray
    flow_known: BoolArray | None
    destinations: tuple[SearchEnd, ...]

    @property
    def flyable(self) -> BoolArray:
        """Which options nothing forbids."""
        within = self.within_limits
        return within if self.flow_known is None else within & self.flow_known

    @property
    def within_limits(self) -> BoolArray:
        """Which options no limit of level, climb, wind or distance forbids."""
        return (
            self.sought
            & (self.slowest_fpm >= MINIMUM_RATE_FPM)
            & (self.cruise_miles >= 0.0)
            & (self.ground_speed_kt >= SLOWEST_GROUND_SPEED_KT)
        )

    @property
    def choices(self) -> tuple[tuple[int, int] | None, ...]:
        """Level and speed of the plan for each destination; None if there is none."""
        return choose_options(self.fuel_kg, flyable=self.flyable, worth_it=self.worth_it)

    @property
    def worth_it(self) -> BoolArray:
        """Which options have a cruise worth their climb."""
        worth_it: BoolArray = self.cruise_miles >= self.minimum_cruise_nm
        return worth_it

    @property
    def fastest_choices(self) -> tuple[tuple[int, int] | None, ...]:
        """The same for time: the fastest within the fuel, the one of least fuel where none is."""
        rows = slice(self.lowest_row, self.lowest_row + self.fuel_kg.shape[1])
        hours = self.departure.hours[rows] + self.cruise_hours + self.descent[HOURS]
        bound_kg = np.array([each.most_fuel_kg for each in self.destinations])[:, None, None]
        within = self.flyable & (self.fuel_kg <= bound_kg)
        least_fuel = self.choices
        start = self.departure.first_climb_row - self.lowest_row
        return tuple(
            _fastest(hours[i] * MIN_PER_H, within[i], start_row=start) or least_fuel[i]
            for i in range(len(self.destinations))
        )

    def nearest_choices(
        self, *, level_ft: float, cas_kt: float
    ) -> tuple[tuple[int, int] | None, ...]:
        """What can be flown nearest to a level and speed."""
        preferred = self.flyable & self.worth_it
        some = preferred.any(axis=(1, 2), keepdims=True)
        levels_ft = BOTTOM_FT + LEVEL_STEP_FT * (
            self.lowest_row + np.arange(self.fuel_kg.shape[1])[:, None]
        )
        speeds_kt = self.departure.tables.speeds_kt[self.departure.speeds]
        off = np.abs(levels_ft - level_ft) / LEVEL_STEP_FT + np.abs(speeds_kt - cas_kt) / NEAR_KT
        judged = np.where(np.where(some, preferred, self.flyable), off, math.inf)
        return tuple(_least(each) for each in judged)


def options(
    departure: SearchStart,
    destinations: Sequence[SearchEnd],
    *,
    flow_scale: float,
    leak_kg_per_h: float,
) -> SearchOptions:
    """Fly to each destination at every level from its lowest and every speed."""
    lowest = min(each.lowest_row for each in destinations)
    ends = departure.rows_within(destinations)
    rows = slice(lowest, max(lowest, int(ends.max())))
    tables, speeds = departure.tables, departure.speeds
    tas_kt = tables.level_tas_kt[rows, speeds]
    way = _way(departure, destinations, rows)
    end_rows = np.array([row_of(each.end_ft) for each in destinations])
    down = Parabola(terms=way.descent[..., rows, :] - at_rows(way.descent, end_rows)[..., None, :])
    flow = Parabola(terms=departure.level_flow.terms[:, rows])
    ground_kt = tas_kt - way.wind_kt
    safe_kt = np.maximum(ground_kt, SLOWEST_GROUND_SPEED_KT)
    distance_nm = np.array([each.distance_nm for each in destinations])[:, None, None]
    left_nm = distance_nm - way.miles
    offset_kg = -departure.fuel_kg[rows]
    floor_nm = departure.floor_nm[rows]
    glance_nm = np.maximum(
        left_nm - Parabola(terms=down.terms[:, MILES]).glance(offset_kg), floor_nm
    )
    glance_kg = (flow.glance(offset_kg) * flow_scale + leak_kg_per_h) * (glance_nm / safe_kt)
    landing = down.at(offset_kg - glance_kg)
    straight_nm = left_nm - landing[MILES]
    cruise_nm = np.maximum(straight_nm, floor_nm)
    hours = cruise_nm / safe_kt
    cruise_kg = (flow.at(offset_kg - glance_kg / 2.0) * flow_scale + leak_kg_per_h) * hours
    landing_kg = landing[FUEL] * flow_scale + landing[HOURS] * leak_kg_per_h
    return SearchOptions(
        departure=departure,
        lowest_row=lowest,
        destinations=tuple(destinations),
        sought=_sought(destinations, rows, ends),
        to_level_miles=way.miles,
        cruise_fuel_kg=cruise_kg,
        cruise_hours=hours,
        cruise_miles=cruise_nm,
        extra_miles=cruise_nm - straight_nm,
        descent=landing,
        descent_fuel_kg=landing_kg,
        fuel_kg=departure.fuel_kg[rows] + cruise_kg + landing_kg,
        slowest_fpm=departure.slowest_fpm[rows],
        ground_speed_kt=ground_kt,
        minimum_cruise_nm=np.minimum(
            np.where(floor_nm < 0.0, MINIMUM_CRUISE_SHARE * distance_nm, 0.0),
            MINIMUM_CRUISE_MIN / MIN_PER_H * safe_kt,
        ),
        flow_known=tables.flow_known(
            rows, speeds, mass_kg=departure.mass_kg, offset_kg=offset_kg, burnt_kg=cruise_kg
        ),
    )


def _sought(destinations: Sequence[SearchEnd], rows: slice, ends: IntArray) -> BoolArray:
    """Which levels are looked at for each destination: [destination, level, 1]."""
    lowest = np.array([each.lowest_row for each in destinations])
    highest = np.array([each.highest_row for each in destinations])
    levels = np.arange(rows.start, rows.stop)
    within: BoolArray = (levels >= lowest[:, None]) & (levels < ends[:, None])
    within &= levels <= highest[:, None]
    return within[:, :, None]


def _least(judged: FloatArray) -> tuple[int, int] | None:
    """Place of the least figure; None where there is none."""
    if judged.size == 0:
        return None
    place = int(judged.argmin())
    level, speed = divmod(place, judged.shape[1])
    return None if math.isinf(judged[level, speed]) else (level, speed)


def _fastest(minutes: FloatArray, within: BoolArray, *, start_row: int) -> tuple[int, int] | None:
    """Least climb from the start near the least time; below it the highest level."""
    judged = np.where(within, minutes, math.inf)
    by_level = judged.min(axis=1, initial=math.inf)
    least_min = by_level.min(initial=math.inf)
    if math.isinf(least_min):
        return None
    (near,) = np.nonzero(by_level <= least_min + NEAR_LEAST_MIN)
    above = near[near >= start_row]
    level = int(above[0] if above.size else near[-1])
    return level, int(judged[level].argmin())


def choose_option(
    fuel_kg: FloatArray, *, flyable: BoolArray, worth_it: BoolArray
) -> tuple[int, int] | None:
    """The same for one destination: arrays [level, speed]."""
    return choose_options(fuel_kg[None], flyable=flyable[None], worth_it=worth_it[None])[0]


def choose_options(
    fuel_kg: FloatArray, *, flyable: BoolArray, worth_it: BoolArray
) -> tuple[tuple[int, int] | None, ...]:
    """Level and speed of the plan for each destination: arrays [destination, level, speed].

    Least fuel on the lowest level within 1 % of the least.
    """
    if fuel_kg.size == 0:
        return (None,) * len(fuel_kg)
    preferred = flyable & worth_it
    some = preferred.any(axis=(1, 2), keepdims=True)
    judged = np.where(np.where(some, preferred, flyable), fuel_kg, math.inf)
    by_level = judged.min(axis=2)
    least = by_level.min(axis=1)
    levels = (by_level <= NEAR_BEST * least[:, None]).argmax(axis=1)
    speeds = judged[np.arange(len(levels)), levels].argmin(axis=1)
    return tuple(
        None if math.isinf(least_kg) else (level, speed)
        for least_kg, level, speed in zip(
            least.tolist(), levels.tolist(), speeds.tolist(), strict=True
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Way:
    """Air and ground of each destination: [destination, level, speed], one for all in calm air.

    `wind_kt` is the equivalent headwind and `miles` the way to each of the levels looked at, both
    over the ground; `descent` is the table of the departure with its miles over the ground.
    """

    wind_kt: FloatArray
    miles: FloatArray
    descent: FloatArray


def _way(departure: SearchStart, destinations: Sequence[SearchEnd], rows: slice) -> _Way:
    """The winds of all destinations put into the miles of climb and descent."""
    table = departure.descent.terms[:, :, None]
    if all(each.air.calm for each in destinations):
        return _Way(wind_kt=CALM, miles=departure.miles[None, rows], descent=table)
    levels = max(rows.stop, math.ceil(departure.start_row) + 1)
    airs = tuple(each.air for each in destinations)
    wind_kt = winds_of(departure.tables, speeds=departure.speeds, levels=levels, airs=airs)
    descent = over_ground(table[..., :levels, :], wind_kt)
    return _Way(
        wind_kt=wind_kt[:, rows],
        miles=_miles_over_ground(departure, wind_kt, descent, rows.stop)[:, rows],
        descent=descent,
    )


@lru_cache(maxsize=256)
def _winds_at_levels(tables: Prepared, airs: tuple[Air, ...]) -> tuple[FloatArray, FloatArray]:
    """Head- and crosswind of each air at each level: [air, level, 1]."""
    column_ft = tables.levels_ft[:, None]
    shape = column_ft.shape
    against_kt = [headwind_kt(air, pressure_altitude_ft=column_ft) for air in airs]
    across_kt = [crosswind_kt(air, pressure_altitude_ft=column_ft) for air in airs]
    return (
        np.stack([np.broadcast_to(each, shape) for each in against_kt]),
        np.stack([np.broadcast_to(each, shape) for each in across_kt]),
    )


def winds_of(tables: Prepared, *, speeds: slice, levels: int, airs: tuple[Air, ...]) -> FloatArray:
    """Equivalent headwinds on the lowest levels: true airspeed less speed along the track.

    [air, level, speed].
    """
    tas_kt = tables.level_tas_kt[:levels, speeds]
    against_kt, across_kt = _winds_at_levels(tables, airs)
    left_kt = np.sqrt(np.maximum(tas_kt**2 - across_kt[:, :levels] ** 2, 0.0))
    result: FloatArray = tas_kt - left_kt + against_kt[:, :levels]
    return result


def over_ground(terms: FloatArray, wind_kt: FloatArray) -> FloatArray:
    """Descent tables with their miles over the ground.

    `terms` [.., quantity, 1, level, speed], `wind_kt` and what is returned with all destinations.
    """
    shape = (*terms.shape[:-3], *wind_kt.shape)
    blown = np.broadcast_to(terms, shape).copy()
    hours = terms[:, HOURS]
    bands_kt = 0.5 * (wind_kt[:, 1:] + wind_kt[:, :-1])
    drift_nm = (hours[..., 1:, :] - hours[..., :-1, :]) * bands_kt
    blown[:, MILES, :, 1:] -= drift_nm.cumsum(axis=-2)
    return blown


def _miles_over_ground(
    departure: SearchStart, wind_kt: FloatArray, descent: FloatArray, rows: int
) -> FloatArray:
    """Miles from the start to each level, for each destination."""
    band_kt = (wind_kt[:, 1:rows] + wind_kt[:, : rows - 1]) / 2.0
    miles = np.broadcast_to(departure.miles[:rows], (len(wind_kt), *departure.miles[:rows].shape))
    miles = miles.copy()
    miles[:, 1:] -= (departure.band_hours[: rows - 1] * band_kt).cumsum(axis=1)
    below = min(departure.first_climb_row, rows)
    table = descent[0, MILES]
    miles[:, :below] = between(table, departure.start_row)[:, None] - table[:, :below]
    return miles
