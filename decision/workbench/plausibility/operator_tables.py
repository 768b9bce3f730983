"""Gates of an operator's tables: what no aeroplane does, and how far they lie from the physics.

A file may be complete and well formed and still have two columns changed or a unit mistaken. A
profile without tables has nothing to show here.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec.structs import replace

from decision.atmosphere import pressure_ratio
from decision.elementwise import FloatArray
from decision.performance.configuration import Configuration
from decision.performance.drag import configured_polar, drag_n
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.landing import landing
from decision.performance.point import Point, point
from decision.profile import Profile
from decision.profile.operator_tables import FlowGrid, Grid, Shape, Speed
from decision.speeds import cas_from_mach
from decision.units import PERCENT
from decision.workbench.plausibility.finding import Gate, GateFigure

# [ASSUMED] beyond these a unit or a column is mistaken rather than the physics
FLOW_OVER_PHYSICS: Final = (0.75, 1.35)
LANDING_OVER_PHYSICS: Final = (0.6, 1.7)
NO_MACH_CAP: Final = 1.0


def _fuel_grids(profile: Profile) -> Iterator[tuple[Shape, FlowGrid]]:
    for shape, grids in profile.tables.fuel.items():
        for grid in grids:
            yield shape, grid


def _more_mass_burns_more(profile: Profile) -> Iterator[GateFigure]:
    """The least growth of flow from one mass to the next."""
    for shape, table in _fuel_grids(profile):
        values = table.grid.values
        growth = float((values[1:] / values[:-1] - 1.0).min()) * PERCENT
        yield GateFigure(what=f"{table.file}: {shape.label}", value=growth, low=0.0)


def _gear_down_burns_more(profile: Profile) -> Iterator[GateFigure]:
    """The least ratio of gear down to gear up where both tables have the same nodes."""
    fuel = profile.tables.fuel
    for shape, table in _fuel_grids(profile):
        sound = replace(shape, gear_down=False, gear_doors_open=False)
        for other in fuel.get(sound, ()) if shape.gear_down else ():
            ratio = _least_ratio(table, other)
            if ratio is not None:
                yield GateFigure(what=f"{table.file}: {shape.label}", value=ratio, low=1.0)


def _least_ratio(table: FlowGrid, other: FlowGrid) -> float | None:
    """Of one table to another at the nodes of the first that the second reaches."""
    if table.speed is not other.speed:
        return None
    nodes = [
        axis.nodes[np.asarray(of.covers(axis.nodes))]
        for axis, of in zip(table.grid.axes, other.grid.axes, strict=True)
    ]
    if not all(each.size for each in nodes):
        return None
    at = np.meshgrid(*nodes, indexing="ij")
    return float(np.min(np.asarray(table.grid.line(*at)) / np.asarray(other.grid.line(*at))))


def _flow_over_physics(profile: Profile) -> Iterator[GateFigure]:
    """The least and the greatest ratio of a table to the profile's own physics."""
    low, high = FLOW_OVER_PHYSICS
    for shape, table in _fuel_grids(profile):
        ratio = table.grid.values / _physics(profile, shape, table)
        what = f"{table.file}: {shape.label}"
        yield GateFigure(what=f"{what}, least", value=float(ratio.min()), low=low, high=high)
        yield GateFigure(what=f"{what}, greatest", value=float(ratio.max()), low=low, high=high)


def _physics(profile: Profile, shape: Shape, table: FlowGrid) -> FloatArray:
    configuration = Configuration(
        gear_down=shape.gear_down,
        gear_doors_open=shape.gear_doors_open,
        flap=shape.flap,
        slats_out=shape.slats_out,
        engines_running=shape.engines_running,
    )
    mass_kg = table.grid.axes[0].nodes[:, None, None]
    at = _points(table)
    polar = configured_polar(profile, configuration)
    drag = drag_n(profile, polar, mass_kg=mass_kg, at=at, thrust_n=None)
    return np.asarray(fuel_flow_kg_per_h(profile, configuration, thrust_n=drag, at=at))


def _points(table: FlowGrid) -> Point:
    """The levels and speeds of a grid, standard air."""
    _, levels, speeds = table.grid.axes
    level_ft, speed = levels.nodes[None, :, None], speeds.nodes[None, None, :]
    if table.speed is Speed.MACH:
        speed = np.asarray(cas_from_mach(mach=speed, pressure_ratio=pressure_ratio(level_ft)))
    return point(
        pressure_altitude_ft=level_ft,
        cas_kt=speed,
        isa_deviation_degc=0.0,
        mach_cap=NO_MACH_CAP,
    )


def _distances(profile: Profile) -> Mapping[tuple[str, int], Grid]:
    table = profile.tables.landing
    return {} if table is None else table.distances


def _more_mass_needs_more_runway(profile: Profile) -> Iterator[GateFigure]:
    """The least growth of distance from one mass to the next."""
    for (flap, code), grid in sorted(_distances(profile).items()):
        growth = float(np.diff(grid.values).min())
        yield GateFigure(what=f"flap {flap}, condition code {code}", value=growth, low=0.0)


def _less_grip_needs_more_runway(profile: Profile) -> Iterator[GateFigure]:
    """The least growth of distance from one condition code to the next worse one."""
    found = _distances(profile)
    for flap in dict.fromkeys(flap for flap, _ in found):
        codes = sorted((code for detent, code in found if detent == flap), reverse=True)
        for better, worse in pairwise(codes):
            mass = found[flap, worse].axes[0].nodes
            mass = mass[np.asarray(found[flap, better].axes[0].covers(mass))]
            growth = found[flap, worse].line(mass) - found[flap, better].line(mass)
            least = float(np.min(growth)) if mass.size else None
            what = f"flap {flap}, from condition code {better} to {worse}"
            problem = "" if mass.size else "no mass in common"
            yield GateFigure(what=what, value=least, low=0.0, problem=problem)


def _landing_over_physics(profile: Profile) -> Iterator[GateFigure]:
    """Ratio of a table to the physics at the heaviest mass that it has."""
    low, high = LANDING_OVER_PHYSICS
    for (flap, code), grid in sorted(_distances(profile).items()):
        mass_kg = min(grid.axes[0].high, profile.masses.mtow_kg)
        landed = landing(
            profile,
            mass_kg=mass_kg,
            flap=flap,
            slats_out=profile.slats_out_with_lever(flap),
            pressure_altitude_ft=0.0,
            isa_deviation_degc=0.0,
            condition_code=code,
            headwind_kt=0.0,
            slope_percent=0.0,
            spoilers=1.0,
            reversers=profile.engine.count,
            brakes_fraction=1.0,
            anti_skid=profile.tyres.anti_skid,
        )
        stated_m, computed_m = landed.table_m, landed.computed_m
        ratio = stated_m / computed_m if stated_m and computed_m else None
        yield GateFigure(
            what=f"flap {flap}, condition code {code}",
            value=ratio,
            low=low,
            high=high,
            problem="" if ratio else landed.limited_by or "",
        )


OPERATOR_TABLES: Final = (
    Gate(
        id="fuel table: a heavier aircraft burns more",
        figures=_more_mass_burns_more,
        unit="%",
        source="ASSUMED",
    ),
    Gate(
        id="fuel table: gear down burns no less than gear up",
        figures=_gear_down_burns_more,
        unit="",
        source="ASSUMED",
    ),
    Gate(
        id="fuel table over the physics",
        figures=_flow_over_physics,
        unit="",
        source="ASSUMED",
    ),
    Gate(
        id="landing table: a heavier aircraft needs more runway",
        figures=_more_mass_needs_more_runway,
        unit="m",
        source="ASSUMED",
    ),
    Gate(
        id="landing table: less grip needs more runway",
        figures=_less_grip_needs_more_runway,
        unit="m",
        source="ASSUMED",
    ),
    Gate(
        id="landing table over the physics",
        figures=_landing_over_physics,
        unit="",
        source="ASSUMED",
    ),
)
