"""Fuel flow in level flight: an operator's table where it governs, else the physics.

The rows of a fuel table govern the configuration that they state, and nothing beyond their ends.
For a configuration without rows an operator's factors multiply the flow of the configuration
without what they name, and the greater of that and of the physics governs; without factors the
profile says whether the physics may answer. Tables stand for standard air: off it the flow goes
with the square root of absolute temperature [WALSH-FLETCHER], and what no table knows (ice on the
wing, bleed, an observed flow) is a ratio of the physics. Climb, descent and the approach path are
flown at a thrust, which no fuel table states: they stay with the physics.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.elementwise import Numbers, Truths, choose, greater
from decision.performance.configuration import Configuration
from decision.performance.drag import configured_polar, drag_n
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.point import Point
from decision.profile import Profile
from decision.profile.operator_tables import (
    Elsewhere,
    FlowGrid,
    Loss,
    OutOfTable,
    Shape,
    Speed,
)

ANY_MASS: Final = (-math.inf, math.inf)
NO_MASS: Final = (math.inf, -math.inf)


class LevelFlow(Struct, frozen=True, kw_only=True, gc=False):
    """A flow and the masses between which it is known; where it is not, the flow means nothing."""

    kg_per_h: Numbers
    lightest_kg: Numbers
    heaviest_kg: Numbers

    def known(self, *masses_kg: Numbers) -> Truths:
        """Where all of these masses lie within those that are known."""
        known: Truths = True
        for mass_kg in masses_kg:
            known = known & (mass_kg >= self.lightest_kg) & (mass_kg <= self.heaviest_kg)
        return known


def level_flow(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: Numbers,
    at: Point,
    extra_cd: Numbers = 0.0,
) -> LevelFlow:
    """Flow of level flight at points, with the masses for which what governs there is known."""
    asked = _physics_kg_per_h(profile, configuration, mass_kg=mass_kg, at=at, extra_cd=extra_cd)
    if not profile.tables.concern_fuel or configuration.engines_running == 0:
        return _at_any_mass(asked)
    tabled = _tabled(configuration)
    base = _physics_kg_per_h(profile, tabled, mass_kg=mass_kg, at=at)
    found = _governing(profile, tabled, _at_any_mass(base), mass_kg=mass_kg, at=at)
    more = asked / base  # exactly 1 where a table knows everything
    return replace(found, kg_per_h=found.kg_per_h * more)


def known_level_flow_kg_per_h(
    profile: Profile, configuration: Configuration, *, mass_kg: float, at: Point
) -> float:
    """Flow of level flight at one point. Raises OutOfTable where a governing table has none."""
    if not profile.tables.concern_fuel:
        return float(_physics_kg_per_h(profile, configuration, mass_kg=mass_kg, at=at))
    flow = level_flow(profile, configuration, mass_kg=mass_kg, at=at)
    if not flow.known(mass_kg):
        raise OutOfTable(
            f"{unknown_words(profile, configuration)}; asked for {mass_kg:.0f} kg at"
            f" {float(at.pressure_altitude_ft):.0f} ft, {float(at.cas_kt):.0f} kt CAS"
            f" (Mach {float(at.mach):.3f})",
            name="mass_kg",
            value=mass_kg,
            low=_finite(flow.lightest_kg),
            high=_finite(flow.heaviest_kg),
        )
    return float(flow.kg_per_h)


def _finite(mass_kg: Numbers) -> float:
    """An end of the known masses; where none is known both ends are zero."""
    return float(mass_kg) if math.isfinite(mass_kg) else 0.0


def unknown_words(profile: Profile, configuration: Configuration) -> str:
    """What the table that governs a configuration has, for a text that says what it has not."""
    governing = _governing_shape(profile, configuration)
    if governing not in profile.tables.fuel:
        return f"operator's fuel tables have no rows for {governing.label}"
    grids = profile.tables.fuel[governing]
    reach = "; ".join(f"{grid.file} has {grid.reach}" for grid in grids)
    return f"beyond the operator's fuel table for {governing.label}: {reach}"


def beside_tables(profile: Profile, configuration: Configuration) -> str | None:
    """The configuration in words whose level flow the physics answer for, though there are tables.

    None where a table governs, where nothing is answered, and where there are no tables.
    """
    tables = profile.tables
    if not tables.fuel or tables.elsewhere is Elsewhere.REFUSE:
        return None
    governing = _governing_shape(profile, configuration)
    return None if governing in tables.fuel else governing.label


def _governing_shape(profile: Profile, configuration: Configuration) -> Shape:
    """The shape with rows that governs, by way of factors; the last one tried if there is none."""
    shape = shape_of(configuration)
    while shape not in profile.tables.fuel:
        without = _without_factors(profile, shape)
        if without is None:
            return shape
        shape = without[0]
    return shape


@lru_cache(maxsize=512)
def _tabled(configuration: Configuration) -> Configuration:
    """The configuration without what no table knows."""
    return replace(configuration, drag_increment=0.0, fuel_flow_scale=1.0, anti_ice=False)


def shape_of(configuration: Configuration) -> Shape:
    """What the rows of a fuel table tell apart."""
    return Shape(
        gear_down=configuration.gear_down,
        gear_doors_open=configuration.gear_doors_open,
        flap=configuration.flap,
        slats_out=configuration.slats_out,
        engines_running=configuration.engines_running,
    )


def _physics_kg_per_h(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: Numbers,
    at: Point,
    extra_cd: Numbers = 0.0,
) -> Numbers:
    polar = configured_polar(profile, configuration)
    drag = drag_n(profile, polar, mass_kg=mass_kg, at=at, thrust_n=None, extra_cd=extra_cd)
    return fuel_flow_kg_per_h(profile, configuration, thrust_n=drag, at=at)


def _at_any_mass(kg_per_h: Numbers) -> LevelFlow:
    """What the physics know."""
    lightest_kg, heaviest_kg = ANY_MASS
    return LevelFlow(kg_per_h=kg_per_h, lightest_kg=lightest_kg, heaviest_kg=heaviest_kg)


def _governing(
    profile: Profile,
    configuration: Configuration,
    physics: LevelFlow,
    *,
    mass_kg: Numbers,
    at: Point,
) -> LevelFlow:
    """Rows, else factors, else the physics or nothing, as the profile says."""
    tables, shape = profile.tables, shape_of(configuration)
    if shape in tables.fuel:
        return _from_rows(tables.fuel[shape], physics, mass_kg=mass_kg, at=at)
    without = _without_factors(profile, shape)
    if without is not None:
        simpler, factor = without
        plainer = replace(
            configuration,
            gear_down=simpler.gear_down,
            gear_doors_open=simpler.gear_doors_open,
            flap=simpler.flap,
            slats_out=simpler.slats_out,
            engines_running=simpler.engines_running,
        )
        plain = _at_any_mass(_physics_kg_per_h(profile, plainer, mass_kg=mass_kg, at=at))
        base = _governing(profile, plainer, plain, mass_kg=mass_kg, at=at)
        return replace(base, kg_per_h=greater(factor * base.kg_per_h, physics.kg_per_h))
    if tables.fuel and tables.elsewhere is Elsewhere.REFUSE:
        lightest_kg, heaviest_kg = NO_MASS
        return replace(physics, lightest_kg=lightest_kg, heaviest_kg=heaviest_kg)
    return physics


def _from_rows(
    grids: tuple[FlowGrid, ...], physics: LevelFlow, *, mass_kg: Numbers, at: Point
) -> LevelFlow:
    """The first grid that has level and speed; where none has, no mass is known."""
    flow = physics.kg_per_h  # only a finite figure for where nothing is known
    lightest_kg, heaviest_kg = NO_MASS
    low: Numbers = lightest_kg
    high: Numbers = heaviest_kg
    warmth = (1.0 / at.standard_to_true_height) ** 0.5
    for each in reversed(grids):
        speed = at.mach if each.speed is Speed.MACH else at.cas_kt
        covered = each.covers(pressure_altitude_ft=at.pressure_altitude_ft, speed=speed)
        read = each.grid.line(mass_kg, at.pressure_altitude_ft, speed)
        flow = choose(covered, read * warmth, flow)
        low = choose(covered, each.mass.low, low)
        high = choose(covered, each.mass.high, high)
    return LevelFlow(kg_per_h=flow, lightest_kg=low, heaviest_kg=high)


def _without_factors(profile: Profile, shape: Shape) -> tuple[Shape, float] | None:
    """The configuration without everything that has a factor, and the product of the factors."""
    factors, count = profile.tables.factors, profile.engine.count
    product, simpler = 1.0, shape
    for there, loss, detent, changes in (
        (shape.gear_down, Loss.GEAR_DOWN, "", {"gear_down": False}),
        (shape.gear_doors_open, Loss.GEAR_DOORS_OPEN, "", {"gear_doors_open": False}),
        (shape.slats_out, Loss.SLATS_OUT, "", {"slats_out": False}),
        (shape.engines_running < count, Loss.ENGINE_OUT, "", {"engines_running": count}),
        (shape.flap != profile.flaps_up, Loss.FLAP, shape.flap, {"flap": profile.flaps_up}),
    ):
        factor = factors.fuel_factor(loss, detent) if there else None
        if factor is not None:
            product, simpler = product * factor, replace(simpler, **changes)
    return None if simpler == shape else (simpler, product)
