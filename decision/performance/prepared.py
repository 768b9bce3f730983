"""Tables from which any diversion of one configuration in one temperature profile is read quickly.

Prepared once for the neighbourhood of a mass: rate and flow of the climb in 500 ft slabs,
cumulative time, fuel and air distance of the descent at each 1000 ft, flow in level flight, over a
grid of mass and speed. In mass everything is read by the parabola through three nodes, which these
quantities follow to 0.01 %. Wind is not in the tables: it only shifts distances, by the sum of wind
times time. Neither are leaks and the fuel-flow scale. The result agrees with `slabs`, which the
tests hold it to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from decision.elementwise import BoolArray, FloatArray
from decision.errors import DataError
from decision.performance.air import isa_deviation_degc
from decision.performance.climb import FPM_PER_MPS, MINIMUM_RATE_FPM, climb_rate, idle_descent
from decision.performance.configuration import Air, AirAtLevel, Configuration
from decision.performance.envelope import LEVEL_STEP_FT, SPEED_STEP_KT, envelope, slowest_kt
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.level import LevelFlow, level_flow
from decision.performance.point import Point, point
from decision.performance.slabs import SLAB_FT
from decision.performance.thrust import en_route_rating
from decision.profile import Profile
from decision.units import MIN_PER_H, MPS_PER_KT

SLABS_PER_LEVEL: Final = int(LEVEL_STEP_FT / SLAB_FT)
BOTTOM_FT: Final = (
    -2000.0
)  # [ASSUMED] lowest pressure altitude of an aerodrome on a high-pressure day
FASTEST_SOUGHT_KT: Final = 250.0  # [PRACTICE] climb and descent pass below 10 000 ft
FAST_STEP_KT: Final = 10.0  # [ASSUMED] spacing of the speeds up to VMO, where time or a leak counts
MASS_NODES: Final = 17
HOURS, FUEL, MILES = range(3)  # quantities of the descent table
QUANTITIES: Final = 3
LIGHTEST_RATIO: Final = 0.9  # of the empty mass: room for a case that runs its tanks dry


class Parabola(Struct, frozen=True, kw_only=True, gc=False):
    """A table as a function of mass around one mass: value, slope, half the curvature, stacked."""

    terms: FloatArray

    def at(self, offset_kg: FloatArray | float) -> FloatArray:
        """The table at an offset from that mass."""
        value, slope, half_curvature = self.terms
        result: FloatArray = value + offset_kg * (slope + offset_kg * half_curvature)
        return result

    def glance(self, offset_kg: FloatArray) -> FloatArray:
        """The same without curvature, where an estimate will do."""
        result: FloatArray = self.terms[0] + offset_kg * self.terms[1]
        return result


class Shapes(Struct, frozen=True, kw_only=True, gc=False):
    """How many speeds, levels and slabs the tables have, which lie side by side in this order."""

    speeds: int
    levels: int
    slabs: int


class NearMass(Struct, frozen=True, kw_only=True, gc=False):
    """Tables of a configuration of which estimates are made, as terms of parabolas around one mass.

    [term, speed, level] for level flight, [term, quantity, speed, level] for the descent.
    """

    level_flow_kg_per_h: FloatArray
    descent: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class Prepared:
    """Tables of one configuration near one mass; arrays are indexed [speed, height].

    Climb tables stand at the middles of the slabs above `BOTTOM_FT`; descent and level tables at
    the levels, descent cumulative from `BOTTOM_FT` as hours, fuel and NM through the air. The climb
    is read by parabolas around the middle mass [term, speed, slab or level]; `level_rate_fpm` is
    what is left of it at a level, extrapolated from the two slabs below it, which the lowest level
    does not have. Flow in level flight and descent lie side by side in `by_mass` [mass, table
    entry], so that one product has both near a mass: an array operation costs more to begin than to
    do. `level_masses_kg` is the least and
    the greatest mass for which an operator's table has the flow of a level and a speed; None where
    nothing but the physics governs.
    """

    masses_kg: tuple[float, float, float]
    speeds_kt: FloatArray
    levels_ft: FloatArray
    slab_middles_ft: FloatArray
    climb_rate_fpm: Parabola
    climb_flow_kg_per_h: Parabola
    level_rate_fpm: Parabola
    by_mass: FloatArray
    shapes: Shapes
    slab_tas_kt: FloatArray
    slab_rise_fpm: FloatArray
    level_tas_kt: FloatArray
    level_cas_kt: FloatArray
    level_masses_kg: tuple[FloatArray, FloatArray] | None

    def off_middle_kg(self, mass_kg: float) -> float:
        """How far a mass is from the middle one."""
        return mass_kg - self.masses_kg[1]

    @property
    def descent_by_mass(self) -> FloatArray:
        """The descent at the three masses: [mass, quantity, speed, level]."""
        shape = self.shapes
        part = self.by_mass[:, -QUANTITIES * shape.speeds * shape.levels :]
        return part.reshape(len(part), QUANTITIES, shape.speeds, shape.levels)

    def flow_known(
        self,
        speeds: slice,
        rows: slice,
        *,
        mass_kg: FloatArray,
        burnt_kg: FloatArray,
    ) -> BoolArray | None:
        """Where the flow of a cruise that burns so much is known throughout; None: everywhere."""
        if self.level_masses_kg is None:
            return None
        low, high = (each[speeds, rows] for each in self.level_masses_kg)
        known: BoolArray = (low <= mass_kg - burnt_kg) & (mass_kg <= high)
        return known

    def in_mass(self, by_mass: FloatArray, *, mass_kg: float) -> FloatArray:
        """Terms of the parabolas around a mass of what is given at the three masses."""
        return _around(self.masses_kg, by_mass, mass_kg=mass_kg)


def _around(
    masses_kg: tuple[float, float, float], by_mass: FloatArray, *, mass_kg: float
) -> FloatArray:
    lightest_kg, middle_kg, _ = masses_kg
    spacing = middle_kg - lightest_kg
    x = (mass_kg - middle_kg) / spacing
    half = 0.5 / spacing**2
    weights = np.array(
        (
            ((x * x - x) / 2.0, 1.0 - x * x, (x * x + x) / 2.0),
            ((x - 0.5) / spacing, -2.0 * x / spacing, (x + 0.5) / spacing),
            (half, -2.0 * half, half),
        )
    )
    terms: FloatArray = weights @ by_mass
    return terms


@lru_cache(maxsize=16)
def near_mass(tables: Prepared, mass_kg: float) -> NearMass:
    """What is estimated, around a mass."""
    terms = tables.in_mass(tables.by_mass, mass_kg=mass_kg)
    speeds, levels = tables.shapes.speeds, tables.shapes.levels
    level = speeds * levels
    return NearMass(
        level_flow_kg_per_h=terms[:, :level].reshape(3, speeds, levels),
        descent=terms[:, level:].reshape(3, QUANTITIES, speeds, levels),
    )


def prepared(
    profile: Profile,
    configuration: Configuration,
    air: Air,
    *,
    mass_kg: float,
    fast: bool = False,
) -> Prepared:
    """Tables for a configuration near a mass in the temperatures of an air; kept for the next.

    Only the three masses that a parabola goes through: the temperatures of a new forecast want new
    tables, and all masses at once would take four times as long as those that are asked for.
    `fast`: with the speeds beyond those that are ordinary, up to the limits.
    """
    nodes_kg = _mass_nodes_kg(profile)
    spacing_kg = nodes_kg[1] - nodes_kg[0]
    middle = min(max(round((mass_kg - nodes_kg[0]) / spacing_kg), 1), MASS_NODES - 2)
    return _prepare(profile, _bare(configuration), air.temperatures, middle, fast)


@lru_cache(maxsize=16)
def _mass_nodes_kg(profile: Profile) -> tuple[float, ...]:
    masses = profile.masses
    nodes_kg = np.linspace(LIGHTEST_RATIO * masses.oew_kg, masses.mtow_kg, MASS_NODES)
    return tuple(nodes_kg.tolist())


@lru_cache(maxsize=512)
def _bare(configuration: Configuration) -> Configuration:
    """The part of a configuration that the tables depend on."""
    return replace(configuration, fuel_flow_scale=1.0, max_pressure_altitude_ft=None)


@lru_cache(maxsize=256)
def _prepare(
    profile: Profile,
    configuration: Configuration,
    temperatures: tuple[tuple[float, float], ...],
    middle: int,
    fast: bool,
) -> Prepared:
    levels_ft = _levels_ft(profile)
    middles_ft = np.arange(levels_ft[0] + SLAB_FT / 2.0, levels_ft[-1], SLAB_FT)
    speeds_kt = speed_grid_kt(profile, configuration, fast=fast)
    masses_kg = np.array(_mass_nodes_kg(profile)[middle - 1 : middle + 2])
    build = _Build(
        profile=profile,
        configuration=configuration,
        air=still_air(temperatures),
        mass_kg=masses_kg[:, None, None],
        cas_kt=speeds_kt[None, None, :],
    )
    middles, levels = build.points(middles_ft), build.points(levels_ft)
    rate_fpm, climb_flow = build.climb(middles)
    level, tables = build.level_flow(levels), profile.tables
    shape = (masses_kg.size, levels_ft.size, speeds_kt.size)
    three_kg = masses_kg.item(0), masses_kg.item(1), masses_kg.item(2)
    level_flow_kg_per_h = np.broadcast_to(np.asarray(level.kg_per_h), shape)
    return Prepared(
        masses_kg=three_kg,
        speeds_kt=speeds_kt,
        levels_ft=levels_ft,
        slab_middles_ft=middles_ft,
        climb_rate_fpm=_around_middle(three_kg, rate_fpm),
        climb_flow_kg_per_h=_around_middle(three_kg, climb_flow),
        level_rate_fpm=_around_middle(three_kg, _level_rate_fpm(rate_fpm)),
        by_mass=_side_by_side(level_flow_kg_per_h, build.descent(middles)),
        shapes=Shapes(speeds=speeds_kt.size, levels=levels_ft.size, slabs=middles_ft.size),
        slab_tas_kt=_by_speed(_kt(middles)[0]),
        slab_rise_fpm=_by_speed(
            np.asarray(middles.tas_mps * middles.standard_to_true_height)[0] * FPM_PER_MPS
        ),
        level_tas_kt=_by_speed(_kt(levels)[0]),
        level_cas_kt=_by_speed(np.broadcast_to(np.asarray(levels.cas_kt), shape)[0]),
        level_masses_kg=_masses_kg(level, shape) if tables.concern_fuel else None,
    )


def _by_speed(table: FloatArray) -> FloatArray:
    """[.., height, speed] as [.., speed, height]: sums run along heights, choices along speeds."""
    return np.ascontiguousarray(np.swapaxes(table, -1, -2))


def _around_middle(masses_kg: tuple[float, float, float], table: FloatArray) -> Parabola:
    """A table [mass, height, speed] around the middle mass: [term, speed, height]."""
    by_speed = _by_speed(table)
    terms = _around(masses_kg, by_speed.reshape(len(table), -1), mass_kg=masses_kg[1])
    return Parabola(terms=terms.reshape(by_speed.shape))


def _side_by_side(*tables: FloatArray) -> FloatArray:
    """Tables [mass, .., height, speed] as one [mass, entry]."""
    flat = [_by_speed(table).reshape(len(table), -1) for table in tables]
    return np.concatenate(flat, axis=1)


def _level_rate_fpm(rate_fpm: FloatArray) -> FloatArray:
    """The climb left at each level by the two slabs below it; nothing below the lowest."""
    under = rate_fpm[:, SLABS_PER_LEVEL - 1 :: SLABS_PER_LEVEL]
    below = rate_fpm[:, SLABS_PER_LEVEL - 2 :: SLABS_PER_LEVEL]
    lowest = np.zeros_like(rate_fpm[:, :1])
    return np.concatenate((lowest, 1.5 * under - 0.5 * below), axis=1)


def _masses_kg(flow: LevelFlow, shape: tuple[int, ...]) -> tuple[FloatArray, FloatArray]:
    """For which masses a flow is known, [speed, level]."""
    low, high = (
        _by_speed(np.broadcast_to(np.asarray(each), shape)[0])
        for each in (flow.lightest_kg, flow.heaviest_kg)
    )
    return low, high


def speed_grid_kt(
    profile: Profile, configuration: Configuration, *, fast: bool = False
) -> FloatArray:
    """Speeds that are tried: multiples of a step, the fastest of a plan, and the limit itself.

    The limit is for a mass whose slowest speed leaves no room for a margin. `fast`: up to VMO, in
    wider steps; else no faster than is ordinary, or than the heaviest aircraft has to fly.
    """
    limits = envelope(profile, configuration)
    step_kt = FAST_STEP_KT if fast else SPEED_STEP_KT
    most_kt = math.inf if fast else max(FASTEST_SOUGHT_KT, _slowest_kt(profile, configuration))
    planned_kt, limit_kt = min(limits.planned_kt, most_kt), min(limits.fastest_kt.value, most_kt)
    slowest = slowest_kt(profile, configuration, mass_kg=profile.masses.oew_kg)
    first = min(np.ceil(slowest / step_kt) * step_kt, planned_kt - step_kt)
    return np.unique(np.append(np.arange(first, planned_kt, step_kt), (planned_kt, limit_kt)))


def _slowest_kt(profile: Profile, configuration: Configuration) -> float:
    """The slowest speed of the heaviest aircraft, up to the next of the speeds that are tried."""
    slowest = slowest_kt(profile, configuration, mass_kg=profile.masses.mtow_kg)
    return math.ceil(slowest / SPEED_STEP_KT) * SPEED_STEP_KT


def _levels_ft(profile: Profile) -> FloatArray:
    top_ft = profile.limits.max_pressure_altitude_ft
    return np.arange(BOTTOM_FT, top_ft + LEVEL_STEP_FT, LEVEL_STEP_FT)


def still_air(temperatures: tuple[tuple[float, float], ...]) -> Air:
    """The temperatures of an air (pairs of level and ISA deviation) without its wind."""
    return Air(
        levels=tuple(
            AirAtLevel(
                pressure_altitude_ft=height_ft,
                headwind_kt=0.0,
                crosswind_kt=0.0,
                isa_deviation_degc=deviation,
            )
            for height_ft, deviation in temperatures
        )
    )


def _kt(at: Point) -> FloatArray:
    return np.asarray(at.tas_mps) / MPS_PER_KT


@dataclass(frozen=True, slots=True, kw_only=True)
class _Build:
    """The grid being filled."""

    profile: Profile
    configuration: Configuration
    air: Air
    mass_kg: FloatArray
    cas_kt: FloatArray

    def points(self, heights_ft: FloatArray) -> Point:
        column_ft = heights_ft[None, :, None]
        return point(
            pressure_altitude_ft=column_ft,
            cas_kt=self.cas_kt,
            isa_deviation_degc=isa_deviation_degc(self.air, pressure_altitude_ft=column_ft),
            mach_cap=envelope(self.profile, self.configuration).mach_cap,
        )

    def flow(self, at: Point, thrust_n: FloatArray) -> FloatArray:
        flow = fuel_flow_kg_per_h(self.profile, self.configuration, thrust_n=thrust_n, at=at)
        return np.asarray(flow)

    def climb(self, at: Point) -> tuple[FloatArray, FloatArray]:
        path = climb_rate(
            self.profile,
            self.configuration,
            mass_kg=self.mass_kg,
            at=at,
            rating=en_route_rating(self.profile, self.configuration),
        )
        return np.asarray(path.rate_fpm), self.flow(at, np.asarray(path.thrust_n))

    def level_flow(self, at: Point) -> LevelFlow:
        return level_flow(self.profile, self.configuration, mass_kg=self.mass_kg, at=at)

    def descent(self, at: Point) -> FloatArray:
        """Cumulative hours, fuel and air miles [mass, quantity, level, speed].

        Raises DataError if idle thrust holds the aircraft up.
        """
        path = idle_descent(self.profile, self.configuration, mass_kg=self.mass_kg, at=at)
        rate_fpm = -np.asarray(path.rate_fpm)
        if rate_fpm.min() < MINIMUM_RATE_FPM:
            raise DataError(self.profile.id, "engine.idle_thrust_ratio", "idle does not descend")
        hours = SLAB_FT / rate_fpm / MIN_PER_H
        fuel_kg = hours * self.flow(at, np.asarray(path.thrust_n))
        along_nm = hours * _kt(at) * np.sqrt(1.0 - np.asarray(path.sine) ** 2)
        slabs = np.stack((hours, fuel_kg, along_nm), axis=1)
        total = np.zeros((*slabs.shape[:2], slabs.shape[2] + 1, slabs.shape[3]))
        np.cumsum(slabs, axis=2, out=total[:, :, 1:])
        return np.ascontiguousarray(total[:, :, ::SLABS_PER_LEVEL])
