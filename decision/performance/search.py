"""The best level and speed of a diversion, from prepared tables.

All levels (each 1000 ft) and all speeds (each 5 kt) at once: a mask says which a limit forbids,
fuel decides among the rest, and the lowest level within 1 % of the best is taken, since the optimum
is flat and a low level is quick and asks less of the engines. Flown for time, the level that asks
for least climbing within half a minute of the least time is taken. What belongs to a start (mass
and height, in one configuration) is computed once, and all destinations of several starts are flown
to at once: an array operation costs more to begin than to do, so that five aerodromes cost little
more than one, and two starts less than twice one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import Final, TypeVar

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from decision.elementwise import BoolArray, FloatArray
from decision.performance.air import crosswind_kt, headwind_kt
from decision.performance.climb import MINIMUM_RATE_FPM
from decision.performance.configuration import Air, Configuration
from decision.performance.envelope import LEVEL_STEP_FT, envelope, slowest_kt
from decision.performance.prepared import (
    BOTTOM_FT,
    FUEL,
    HOURS,
    MILES,
    QUANTITIES,
    SLABS_PER_LEVEL,
    Parabola,
    Prepared,
    near_mass,
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
NEAR_KT: Final = 10.0  # counts as much as a level when the nearest way is sought

IntArray = npt.NDArray[np.intp]

LevelAndSpeed = tuple[int, int]
"""Places of an option among the levels that are looked at and the speeds that are allowed."""
Option = tuple[int, int, int]
"""The same of one destination: which, level, speed."""


def row_of(height_ft: float) -> float:
    """Place of a height among the levels of the tables; whole numbers are levels."""
    return (height_ft - BOTTOM_FT) / LEVEL_STEP_FT


class SearchEnd(Struct, frozen=True, kw_only=True, gc=False):
    """Where a diversion goes: miles, place of its end and of the levels allowed, air.

    `most_fuel_kg` bounds a flight for time.
    """

    distance_nm: float
    end_row: float
    lowest_row: int
    highest_row: int
    air: Air
    most_fuel_kg: float


def search_end(
    *,
    distance_nm: float,
    end_ft: float,
    lowest_ft: float,
    highest_ft: float,
    air: Air,
    most_fuel_kg: float,
) -> SearchEnd:
    """The same of pressure altitudes: levels of the tables from the lowest to the highest."""
    return SearchEnd(
        distance_nm=distance_nm,
        end_row=row_of(end_ft),
        lowest_row=math.ceil(row_of(lowest_ft)),
        highest_row=math.floor(row_of(highest_ft)),
        air=air,
        most_fuel_kg=most_fuel_kg,
    )


class Start(Struct, frozen=True, kw_only=True, gc=False):
    """Where diversions begin: pressure altitude and mass."""

    height_ft: float
    mass_kg: float

    @property
    def row(self) -> float:
        """Its place among the levels of the tables."""
        return row_of(self.height_ft)

    @property
    def first_climb_row(self) -> int:
        """The lowest level that is not below the start."""
        return math.ceil(self.row)

    @property
    def descents(self) -> int:
        """How many levels a flight need not climb to: it only descends, and may fly extra track."""
        return math.floor(self.row) + 1


class SearchStarts(Struct, frozen=True, kw_only=True, gc=False):
    """Everything about diversions from one or several starts that their destinations do not change.

    Arrays [start, speed, level] run over all levels up to the highest allowed one and over the
    allowed `speeds`, which are those of all the starts. Below a start's height they hold the
    descent from it. `band_hours` are those of the climb from each level to the next, zero below the
    start; `level_flow` [term, start, speed, level] and `descent` [term, quantity, start, speed,
    level] are parabolas around the mass of the start; `reach` is what climb and descent by way of
    each level to the bottom of the tables take.
    """

    tables: Prepared
    speeds: slice
    starts: tuple[Start, ...]
    fuel_kg: FloatArray
    hours: FloatArray
    miles: FloatArray
    slowest_fpm: FloatArray
    climbs: BoolArray
    band_hours: FloatArray
    level_flow: FloatArray
    descent: FloatArray
    reach: FloatArray

    @property
    def levels(self) -> int:
        """How many levels there are."""
        return int(self.fuel_kg.shape[-1])


@lru_cache(maxsize=16)  # two hundred kilobytes a start
def depart(
    profile: Profile,
    configuration: Configuration,
    tables: Prepared,
    *,
    starts: tuple[Start, ...],
    highest_row: int,
    leak_kg_per_h: float,
) -> SearchStarts:
    """Climb to every level at every allowed speed, or descend to it from a start above it.

    The starts are those to which the same speeds are allowed.
    """
    rows = min(highest_row, tables.shapes.levels - 1) + 1
    slabs = (rows - 1) * SLABS_PER_LEVEL
    speeds = speeds_for(profile, configuration, tables, mass_kg=starts[0].mass_kg)
    highest = max([rows, *[each.first_climb_row + 1 for each in starts]])
    near = [near_mass(tables, each.mass_kg) for each in starts]
    scale = configuration.fuel_flow_scale
    descent = _stacked([each.descent[:, :, speeds, :highest] for each in near])
    way, slowest_fpm = _climb(
        tables,
        starts,
        speeds=speeds,
        slabs=slabs,
        flow_scale=scale,
        leak_kg_per_h=leak_kg_per_h,
    )
    band_hours = way[HOURS, ..., 1:] - way[HOURS, ..., :-1]
    for i, start in enumerate(starts):
        below = min(start.first_climb_row, rows)
        if below > 0:
            table = descent[0, :, i]
            down = between(table, start.row)[..., None] - table[..., :below]
            down[FUEL] = _leaving(down[FUEL], scale, leak_kg_per_h * down[HOURS])
            way[:, i, :, :below] = down
    level_rate = Parabola(terms=tables.level_rate_fpm.terms[:, None, speeds, :rows])
    level_fpm = level_rate.at(_off_middle_kg(tables, starts) - way[FUEL])
    level_fpm[..., 0] = math.inf  # nothing is below the lowest level that could tell
    slowest_fpm = np.minimum(slowest_fpm, level_fpm)
    return SearchStarts(
        tables=tables,
        speeds=speeds,
        starts=starts,
        fuel_kg=way[FUEL],
        hours=way[HOURS],
        miles=way[MILES],
        slowest_fpm=slowest_fpm,
        climbs=slowest_fpm >= MINIMUM_RATE_FPM,
        band_hours=band_hours,
        level_flow=_stacked([each.level_flow_kg_per_h[:, speeds, :rows] for each in near]),
        descent=descent,
        reach=way + descent[0, ..., :rows],
    )


def _off_middle_kg(tables: Prepared, starts: Sequence[Start]) -> FloatArray:
    """How far the masses of the starts are from that of the tables: [start, 1, 1]."""
    return np.array([tables.off_middle_kg(each.mass_kg) for each in starts])[:, None, None]


def _stacked(tables: Sequence[FloatArray]) -> FloatArray:
    """Tables [.., speed, level] of each start as one [.., start, speed, level]."""
    return tables[0][..., None, :, :] if len(tables) == 1 else np.stack(tables, axis=-3)


@lru_cache(maxsize=64)
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
    """A table [.., level] at a height between its levels, linear."""
    below = min(int(row), table.shape[-1] - 2)
    share = row - below
    result: FloatArray = table[..., below] * (1.0 - share) + table[..., below + 1] * share
    return result


def _leaving(burnt: FloatArray, flow_scale: float, leaked: FloatArray | float) -> FloatArray:
    """What leaves the tanks: mostly what the tables say, without a leak and with a known flow."""
    if flow_scale != 1.0:
        burnt = burnt * flow_scale
    if isinstance(leaked, float) and leaked == 0.0:
        return burnt
    return burnt + leaked


CLIMB_PASSES: Final = 3


def _climb(
    tables: Prepared,
    starts: Sequence[Start],
    *,
    speeds: slice,
    slabs: int,
    flow_scale: float,
    leak_kg_per_h: float,
) -> tuple[FloatArray, FloatArray]:
    """To every level: hours, fuel and miles [quantity, start, speed, level], and the slowest rate.

    Through the slabs; the fuel of each pass gives the mass in each slab for the next. Near the
    highest level two passes would climb 2 % too fast.
    """
    rows = slabs // SLABS_PER_LEVEL + 1
    rate = Parabola(terms=tables.climb_rate_fpm.terms[:, None, speeds, :slabs])
    flow = Parabola(terms=tables.climb_flow_kg_per_h.terms[:, None, speeds, :slabs])
    start_ft = np.array([each.height_ft for each in starts])[:, None, None]
    above_ft = BOTTOM_FT + SLAB_FT - start_ft + SLAB_FT * np.arange(float(slabs))
    height_ft = np.minimum(np.maximum(above_ft, 0.0), SLAB_FT)  # nothing to climb below the start
    height_fpm_h = height_ft / MIN_PER_H
    start_kg = _off_middle_kg(tables, starts)
    offset_kg = start_kg
    for _ in range(CLIMB_PASSES - 1):
        hours = height_fpm_h / np.maximum(rate.at(offset_kg), MINIMUM_RATE_FPM)
        fuel_kg = _leaving(flow.at(offset_kg), flow_scale, leak_kg_per_h) * hours
        offset_kg = start_kg + fuel_kg / 2.0 - fuel_kg.cumsum(axis=-1)
    rate_fpm = rate.at(offset_kg)
    hours = height_fpm_h / np.maximum(rate_fpm, MINIMUM_RATE_FPM)
    cosine = np.sqrt(1.0 - (rate_fpm / tables.slab_rise_fpm[speeds, :slabs]) ** 2)
    parts = np.empty((QUANTITIES, *hours.shape))
    parts[HOURS] = hours
    parts[FUEL] = _leaving(flow.at(offset_kg), flow_scale, leak_kg_per_h) * hours
    parts[MILES] = hours * cosine * tables.slab_tas_kt[speeds, :slabs]
    way: FloatArray = np.zeros((*parts.shape[:-1], rows))
    way[..., 1:] = parts.cumsum(axis=-1)[..., SLABS_PER_LEVEL - 1 :: SLABS_PER_LEVEL]
    for fpm, climbed_ft in zip(rate_fpm, height_ft, strict=True):
        fpm[:, : int(np.count_nonzero(climbed_ft <= 0.0))] = math.inf
    slowest_fpm: FloatArray = np.full((*rate_fpm.shape[:-1], rows), math.inf)
    running_fpm = np.minimum.accumulate(rate_fpm, axis=-1)
    slowest_fpm[..., 1:] = running_fpm[..., SLABS_PER_LEVEL - 1 :: SLABS_PER_LEVEL]
    return way, slowest_fpm


class Masks(Struct, frozen=True, kw_only=True, gc=False):
    """Which options may be flown: [destination, speed, level], `sought` [destination, 1, level].

    `sought` is looked at; `within_limits` is what no limit of level, climb, wind or distance
    forbids, `flyable` of which the flow is known too, and `judged` what to choose from: with a
    cruise worth its climb, and others only if nothing else is flyable, as a minimum safe altitude
    may demand.
    """

    sought: BoolArray
    within_limits: BoolArray
    flyable: BoolArray
    judged: BoolArray


class SearchOptions(Struct, frozen=True, kw_only=True, gc=False):
    """Every level from `lowest_row` and every speed for each destination; NM over the ground.

    Arrays [destination, speed, level], where one axis may stand for all destinations or speeds.
    A flight that only descends may fly more than the `straight_miles` to lose its height. The
    figures of what is not flyable mean nothing. `asked`: the destinations; `ends` is the descent
    table at each end [term, quantity, destination, speed]; the descent is flown at
    `landing_offset_kg`.
    """

    departure: SearchStarts
    asked: Destinations
    rows: slice
    masks: Masks
    to_level_miles: FloatArray
    cruise_fuel_kg: FloatArray
    cruise_hours: FloatArray
    cruise_miles: FloatArray
    straight_miles: FloatArray
    landing_offset_kg: FloatArray
    landing_miles: FloatArray
    ends: FloatArray
    fuel_kg: FloatArray
    ground_speed_kt: FloatArray

    @property
    def choices(self) -> tuple[LevelAndSpeed | None, ...]:
        """Level and speed of the plan for each destination; None if there is none."""
        return _nearly_least(np.where(self.masks.judged, self.fuel_kg, math.inf), near=NEAR_BEST)

    @property
    def fastest_choices(self) -> tuple[LevelAndSpeed | None, ...]:
        """The same for time: the fastest within the fuel, the one of least fuel where none is."""
        to_level_h = self.asked.each(self.departure.hours[..., self.rows])
        hours = to_level_h + self.cruise_hours + self._landing_hours
        within = self.masks.flyable & (self.fuel_kg <= self.asked.most_fuel_kg[:, None, None])
        least_fuel = self.choices
        starts = [self.departure.starts[i] for i in self.asked.start.tolist()]
        first = [each.first_climb_row - self.rows.start for each in starts]
        return tuple(
            _fastest(hours[i] * MIN_PER_H, within[i], start_row=row) or least_fuel[i]
            for i, row in enumerate(first)
        )

    @property
    def _landing_hours(self) -> FloatArray:
        from_level = self.asked.each(self.departure.descent[:, HOURS, ..., self.rows])
        hours = from_level - self.ends[:, HOURS, ..., None]
        return Parabola(terms=hours).at(self.landing_offset_kg)

    def nearest_choices(
        self, *, level_ft: float, cas_kt: float
    ) -> tuple[LevelAndSpeed | None, ...]:
        """What can be flown nearest to a level and speed."""
        tables = self.departure.tables
        levels = np.abs(tables.levels_ft[self.rows] - level_ft) / LEVEL_STEP_FT
        speeds = np.abs(tables.speeds_kt[self.departure.speeds] - cas_kt) / NEAR_KT
        off = levels + speeds[:, None]
        return _nearly_least(np.where(self.masks.judged, off, math.inf), near=1.0)

    def descents(self, chosen: Sequence[Option]) -> list[list[float]]:
        """Hours, fuel without leak and NM of the descents of options."""
        if not chosen:
            return []
        which, levels, speeds = np.array(chosen).T
        start = self.asked.start[which]
        table = self.departure.descent[:, :, start, speeds, levels + self.rows.start]
        offset_kg = self.landing_offset_kg[which, speeds, levels]
        parts = Parabola(terms=table - self.ends[:, :, which, speeds]).at(offset_kg)
        parts[MILES] = self.landing_miles[which, speeds, levels]
        found: list[list[float]] = parts.T.tolist()
        return found


def options(
    departure: SearchStarts,
    destinations: Sequence[Sequence[SearchEnd]],
    *,
    flow_scale: float,
    leak_kg_per_h: float,
) -> SearchOptions:
    """Fly from each start to each of its destinations at every level and every speed."""
    asked = _asked(departure.starts, destinations)
    ends = asked.read(departure.descent)
    last = _levels_within(departure, asked, ends[0, MILES])
    lowest = int(asked.lowest_row.min())
    rows = slice(lowest, max(lowest, int(last.max())))
    way = _way(departure, asked, ends, rows)
    down = way.down(flow_scale=flow_scale, leak_kg_per_h=leak_kg_per_h)
    to_level_kg = asked.each(departure.fuel_kg[..., rows]).copy()
    offset_kg = -to_level_kg
    flow = Parabola(terms=asked.each(departure.level_flow[..., rows]).copy())
    left_nm = asked.distance_nm[:, None, None] - way.miles
    glance_nm = asked.at_least_none(left_nm - down.miles.glance(offset_kg), rows)
    glance_hours = glance_nm / way.safe_kt
    at_start_kg = _leaving(flow.glance(offset_kg), flow_scale, leak_kg_per_h) * glance_hours
    halfway_flow = flow.glance(offset_kg - at_start_kg / 2.0)  # a long cruise burns less at its end
    glance_kg = _leaving(halfway_flow, flow_scale, leak_kg_per_h) * glance_hours
    landing_offset_kg = offset_kg - glance_kg
    landing_nm = down.miles.at(landing_offset_kg)
    straight_nm = left_nm - landing_nm
    cruise_nm = asked.at_least_none(straight_nm.copy(), rows)
    hours = cruise_nm / way.safe_kt
    cruise_flow = flow.at(offset_kg - glance_kg / 2.0)
    cruise_kg = _leaving(cruise_flow, flow_scale, leak_kg_per_h) * hours
    masks = _masks(
        departure,
        asked,
        last,
        way,
        cruise_nm=cruise_nm,
        known=departure.tables.flow_known(
            departure.speeds,
            rows,
            mass_kg=asked.start_mass_kg[:, None, None] + offset_kg,
            burnt_kg=cruise_kg,
        ),
    )
    return SearchOptions(
        departure=departure,
        asked=asked,
        rows=rows,
        masks=masks,
        to_level_miles=way.miles,
        cruise_fuel_kg=cruise_kg,
        cruise_hours=hours,
        cruise_miles=cruise_nm,
        straight_miles=straight_nm,
        landing_offset_kg=landing_offset_kg,
        landing_miles=landing_nm,
        ends=way.ends,
        fuel_kg=to_level_kg + cruise_kg + down.fuel.at(landing_offset_kg),
        ground_speed_kt=way.ground_kt,
    )


def _masks(
    departure: SearchStarts,
    asked: Destinations,
    last: FloatArray,
    way: _Way,
    *,
    cruise_nm: FloatArray,
    known: BoolArray | None,
) -> Masks:
    """What limits and distances leave; a level that is not climbed to is worth any cruise."""
    rows, sought = way.rows, _sought(asked, way.rows, last)
    within: BoolArray = asked.each(departure.climbs[..., rows]) & sought
    within = within & (cruise_nm >= 0.0)
    if way.safe_kt is not way.ground_kt:
        within &= way.ground_kt >= SLOWEST_GROUND_SPEED_KT
    flyable = within if known is None else within & known
    shortest_nm = np.minimum(
        MINIMUM_CRUISE_SHARE * asked.distance_nm[:, None, None],
        MINIMUM_CRUISE_MIN / MIN_PER_H * way.safe_kt,
    )
    worth_it: BoolArray = np.greater_equal(cruise_nm, shortest_nm)
    for start, mine in asked.parts:
        worth_it[mine, :, : max(start.descents - rows.start, 0)] = True
    return Masks(
        sought=sought,
        within_limits=within,
        flyable=flyable,
        judged=_preferred(flyable, worth_it),
    )


Table = TypeVar("Table", FloatArray, BoolArray)


class Destinations(Struct, frozen=True, kw_only=True, gc=False):
    """All destinations: one figure each, and their airs, one for all where all are the same.

    An end lies above the level `below_row` by a `share` of what is between that and the next.
    `start` is the place of its start among all of them, and `parts` are the starts with the
    destinations of each.
    """

    distance_nm: FloatArray
    headwind_kt: FloatArray
    below_row: IntArray
    share: FloatArray
    lowest_row: FloatArray
    highest_row: FloatArray
    most_fuel_kg: FloatArray
    start_mass_kg: FloatArray
    start: IntArray
    parts: tuple[tuple[Start, slice], ...]
    airs: tuple[Air, ...]

    def each(self, table: Table) -> Table:
        """A table [.., start, speed, level] for each destination; that of one start for all."""
        return table if len(self.parts) == 1 else table.take(self.start, axis=-3)

    def read(self, table: FloatArray) -> FloatArray:
        """A table [.., start or destination, speed, level] at each end: [.., destination, speed].

        One that stands for all is read at all of the ends.
        """
        below = np.minimum(self.below_row, table.shape[-1] - 2)
        share = self.share + (self.below_row - below)
        which = self.start if table.shape[-3] == len(self.parts) else np.arange(len(below))
        if table.shape[-3] == 1:
            which = np.zeros_like(below)
        low, high = table[..., which, :, below], table[..., which, :, below + 1]
        share = share.reshape(-1, *(1,) * (low.ndim - 1))
        ends: FloatArray = low * (1.0 - share) + high * share  # [destination, .., speed]
        return ends.transpose(*range(1, ends.ndim - 1), 0, ends.ndim - 1)

    def at_least_none(self, cruise_nm: FloatArray, rows: slice) -> FloatArray:
        """Miles of the cruise, in place: none less than none on levels that need no climb."""
        for start, mine in self.parts:
            lowest = cruise_nm[mine, :, : max(start.descents - rows.start, 0)]
            np.maximum(lowest, 0.0, out=lowest)
        return cruise_nm


def _asked(starts: Sequence[Start], destinations: Sequence[Sequence[SearchEnd]]) -> Destinations:
    flat = [
        (i, start, each)
        for i, (start, ends) in enumerate(zip(starts, destinations, strict=True))
        for each in ends
    ]
    start, start_mass_kg, distance_nm, headwind_kt, end_row, lowest, highest, most_fuel_kg = (
        np.array(
            [
                (
                    i,
                    start.mass_kg,
                    each.distance_nm,
                    max(each.air.strongest_headwind_kt, 0.0),
                    each.end_row,
                    each.lowest_row,
                    each.highest_row,
                    each.most_fuel_kg,
                )
                for i, start, each in flat
            ]
        ).T
    )
    airs = tuple([each.air for _, _, each in flat])
    below_row = end_row.astype(np.intp)
    alone = len(starts) == 1
    ends = [0, *accumulate(map(len, destinations))]
    return Destinations(
        distance_nm=distance_nm,
        headwind_kt=headwind_kt,
        below_row=below_row,
        share=end_row - below_row,
        lowest_row=lowest,
        highest_row=highest,
        most_fuel_kg=most_fuel_kg,
        start_mass_kg=start_mass_kg,
        start=start.astype(np.intp),
        parts=tuple(
            (start, slice(None) if alone else slice(*part))
            for start, part in zip(starts, pairwise(ends), strict=True)
        ),
        airs=airs[:1] if alone and airs.count(airs[0]) == len(airs) else airs,
    )


def _levels_within(
    departure: SearchStarts, asked: Destinations, to_bottom_nm: FloatArray
) -> FloatArray:
    """How many levels to look at for each: beyond, climb and descent exceed the distance.

    The strongest headwind on all of the way is the most that can shorten them. `to_bottom_nm`
    [destination, speed] is what a descent from the end would go on to the lowest level.
    """
    reach = asked.each(departure.reach)
    shortest_nm = reach[MILES] - asked.headwind_kt[:, None, None] * reach[HOURS]
    taken_nm = (shortest_nm - to_bottom_nm[..., None]).min(axis=1, initial=math.inf)
    levels = np.arange(1.0, departure.levels + 1.0)
    near = np.where(taken_nm <= asked.distance_nm[:, None], levels, 0.0).max(axis=1, initial=0.0)
    first = np.array([each.first_climb_row for each in departure.starts])[asked.start]
    least = np.maximum(asked.lowest_row, first) + 1.0
    within: FloatArray = np.minimum(np.maximum(near + 1.0, least), departure.levels)
    return within


def _sought(asked: Destinations, rows: slice, within: FloatArray) -> BoolArray:
    """Which levels are looked at for each destination: [destination, 1, level]."""
    levels = np.arange(rows.start, rows.stop)
    last = np.minimum(asked.highest_row, within - 1.0)
    sought: BoolArray = (levels >= asked.lowest_row[:, None]) & (levels <= last[:, None])
    return sought[:, None, :]


def _preferred(flyable: BoolArray, worth_it: BoolArray) -> BoolArray:
    """What to choose from: what is worth it, and where nothing is, what can be flown."""
    preferred = flyable & worth_it
    some: BoolArray = np.logical_or.reduce(preferred, axis=(1, 2))
    if not some.all():
        preferred = np.where(some[:, None, None], preferred, flyable)
    return preferred


def _nearly_least(judged: FloatArray, *, near: float) -> tuple[LevelAndSpeed | None, ...]:
    """Level and speed for each destination: the lowest level so near to the least of all.

    Arrays [destination, speed, level]; infinite where it is not to be chosen.
    """
    if judged.size == 0:
        return (None,) * len(judged)
    by_level = judged.min(axis=1)
    least = by_level.min(axis=1)
    levels = (by_level <= near * least[:, None]).argmax(axis=1)
    speeds = judged[np.arange(len(levels)), :, levels].argmin(axis=1)
    return tuple(
        None if math.isinf(figure) else (level, speed)
        for figure, level, speed in zip(
            least.tolist(), levels.tolist(), speeds.tolist(), strict=True
        )
    )


def _fastest(minutes: FloatArray, within: BoolArray, *, start_row: int) -> LevelAndSpeed | None:
    """Least climb from the start near the least time; below it the highest level."""
    judged = np.where(within, minutes, math.inf)
    by_level = judged.min(axis=0, initial=math.inf)
    least_min = by_level.min(initial=math.inf)
    if math.isinf(least_min):
        return None
    (near,) = np.nonzero(by_level <= least_min + NEAR_LEAST_MIN)
    above = near[near >= start_row]
    level = int(above[0] if above.size else near[-1])
    return level, int(judged[:, level].argmin())


def choose_option(
    fuel_kg: FloatArray, *, flyable: BoolArray, worth_it: BoolArray
) -> LevelAndSpeed | None:
    """Level and speed of the plan of one flight: arrays [level, speed].

    Least fuel on the lowest level within 1 % of the least.
    """
    judged = _preferred(flyable.T[None], worth_it.T[None])
    return _nearly_least(np.where(judged, fuel_kg.T[None], math.inf), near=NEAR_BEST)[0]


class _Down(Struct, frozen=True, kw_only=True, gc=False):
    """NM over the ground and fuel of the descents to each end, as parabolas around the mass."""

    miles: Parabola
    fuel: Parabola


class _Way(Struct, frozen=True, kw_only=True, gc=False):
    """Air and ground of each destination: [destination, speed, level].

    `ground_kt` and `miles` are those at and to each of the levels looked at, `safe_kt` what may be
    divided by; `blown` is the table of the descent over the ground and `ends` the descent table at
    each end.
    """

    descent: FloatArray
    asked: Destinations
    blown: FloatArray
    ends: FloatArray
    ground_kt: FloatArray
    safe_kt: FloatArray
    miles: FloatArray
    rows: slice

    def down(self, *, flow_scale: float, leak_kg_per_h: float) -> _Down:
        """From the levels looked at to the ends."""
        leaked: FloatArray | float = 0.0
        if leak_kg_per_h > 0.0:
            leaked = self._through(HOURS) * leak_kg_per_h
        return _Down(
            miles=Parabola(terms=self.blown[..., self.rows] - self.ends[:, MILES, ..., None]),
            fuel=Parabola(terms=_leaving(self._through(FUEL), flow_scale, leaked)),
        )

    def _through(self, quantity: int) -> FloatArray:
        """What the air asks for: [term, destination, speed, level]."""
        from_level = self.asked.each(self.descent[:, quantity, ..., self.rows])
        result: FloatArray = from_level - self.ends[:, quantity, ..., None]
        return result


def _way(departure: SearchStarts, asked: Destinations, at_ends: FloatArray, rows: slice) -> _Way:
    """The winds of all destinations put into the miles of climb and descent."""
    tables, speeds, table = departure.tables, departure.speeds, departure.descent
    winds = winds_of(tables, asked.airs)
    drift_nm = winds.drift_nm(tables, asked.parts, speeds=speeds, levels=table.shape[-1])
    blown = asked.each(table[:, MILES]) - drift_nm
    ends = at_ends.copy()
    ends[:, MILES] = asked.read(blown)
    top = rows.stop
    climbed = asked.each(departure.band_hours[..., : top - 1]) * winds.band_kt[:, speeds, : top - 1]
    blown_nm = np.zeros((len(climbed), climbed.shape[1], top))
    climbed.cumsum(axis=2, out=blown_nm[..., 1:])
    miles = asked.each(departure.miles[..., rows]) - blown_nm[..., rows]
    for start, mine in asked.parts:
        below = slice(rows.start, min(start.first_climb_row, top))
        if below.stop > below.start:
            from_start = between(blown[0, mine], start.row)[..., None]
            miles[mine, :, : below.stop - below.start] = from_start - blown[0, mine, :, below]
    ground_kt = np.ascontiguousarray(winds.ground_kt[:, speeds, rows])
    slow = winds.slowest_kt < SLOWEST_GROUND_SPEED_KT
    return _Way(
        descent=table,
        asked=asked,
        blown=blown,
        ends=ends,
        ground_kt=ground_kt,
        safe_kt=np.maximum(ground_kt, SLOWEST_GROUND_SPEED_KT) if slow else ground_kt,
        miles=miles,
        rows=rows,
    )


class Winds(Struct, frozen=True, kw_only=True, gc=False):
    """Airs along several ways as seen by one aircraft: [air, speed, level].

    `ground_kt` is the speed over the ground, `slowest_kt` the least of them, `band_kt` the
    equivalent headwind between a level and the next;
    `drift_by_mass_nm` [mass, air, speed, level] what it takes off the miles of the descent from the
    lowest level to each.
    """

    ground_kt: FloatArray
    slowest_kt: float
    band_kt: FloatArray
    drift_by_mass_nm: FloatArray

    def drift_nm(
        self,
        tables: Prepared,
        parts: Sequence[tuple[Start, slice]],
        *,
        speeds: slice,
        levels: int,
    ) -> FloatArray:
        """Terms of the parabolas around the mass of each start: [term, air, speed, level]."""
        found = []
        for start, mine in parts:
            drift = self.drift_by_mass_nm[:, mine, speeds, :levels]
            terms = tables.in_mass(drift.reshape(len(drift), -1), mass_kg=start.mass_kg)
            found.append(terms.reshape(len(terms), *drift.shape[1:]))
        return found[0] if len(found) == 1 else np.concatenate(found, axis=1)


@lru_cache(maxsize=32)
def winds_of(tables: Prepared, airs: tuple[Air, ...]) -> Winds:
    """The winds of the same few ways: every start of a decision has them."""
    column_ft = tables.levels_ft
    against_kt = [headwind_kt(air, pressure_altitude_ft=column_ft) for air in airs]
    across_kt = [crosswind_kt(air, pressure_altitude_ft=column_ft) for air in airs]
    levels = (len(airs), 1, len(column_ft))
    against, across = np.empty(levels), np.empty(levels)
    for i in range(len(airs)):
        against[i], across[i] = against_kt[i], across_kt[i]
    tas_kt = tables.level_tas_kt
    wind_kt = tas_kt - np.sqrt(np.maximum(tas_kt**2 - across**2, 0.0)) + against
    band_kt = 0.5 * (wind_kt[..., 1:] + wind_kt[..., :-1])
    hours = tables.descent_by_mass[:, HOURS]
    drift_nm = np.zeros((len(hours), *wind_kt.shape))
    bands = (hours[..., 1:] - hours[..., :-1])[:, None] * band_kt
    bands.cumsum(axis=-1, out=drift_nm[..., 1:])
    ground_kt = tas_kt - wind_kt
    return Winds(
        ground_kt=ground_kt,
        slowest_kt=float(ground_kt.min()),
        band_kt=band_kt,
        drift_by_mass_nm=drift_nm,
    )
