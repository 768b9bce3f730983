"""Tables of fuel flows for the tests and the page: of a known aircraft, and of an open library."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from itertools import product
from pathlib import Path

import numpy as np
import openap

from decision.performance.configuration import Configuration
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.performance.point import point
from decision.profile import Profile
from decision.units import S_PER_H
from decision.workbench.flow_rows import COLUMNS, FlowRow
from tests.changing import replace

MASSES_KG = (48_000.0, 56_000.0, 64_000.0)
# gear down, flap, speeds, levels: what a manual tabulates
SHEETS = (
    (False, "0", (200, 230, 260, 290, 320), (1_500, 10_000, 20_000, 30_000)),
    (True, "0", (200, 220, 240, 260), (1_500, 10_000, 20_000)),
    (False, "6", (180, 200, 220), (1_500, 10_000)),
    (False, "12", (170, 190, 205), (1_500, 10_000)),
    (False, "20", (150, 170, 190), (1_500, 10_000)),
    (True, "20", (150, 170, 190), (1_500,)),
    (True, "34", (140, 155, 170), (1_500, 6_000)),
)
FLAPS_UP = "0"
FASTEST_MACH = 0.80


def flows_of(profile: Profile, *, noise: float = 0.0, seed: int = 0) -> tuple[FlowRow, ...]:
    """A table of a known aircraft of the kind of the demo, each flow off by seeded noise."""
    rng = np.random.default_rng(seed)
    return tuple(_noisy(row, profile, float(rng.normal(1.0, noise))) for row in _conditions(SHEETS))


def with_flows_of(profile: Profile, rows: Sequence[FlowRow]) -> tuple[FlowRow, ...]:
    """The conditions of some rows with the flows of an aircraft."""
    return tuple(_noisy(row, profile, 1.0) for row in rows)


def _conditions(
    sheets: Sequence[tuple[bool, str, tuple[int, ...], tuple[int, ...]]],
) -> Iterator[FlowRow]:
    for gear_down, flap, speeds, levels in sheets:
        for mass_kg, cas_kt, height_ft in product(MASSES_KG, speeds, levels):
            if mach(float(height_ft), float(cas_kt)) <= FASTEST_MACH:
                yield FlowRow(
                    mass_kg=mass_kg,
                    pressure_altitude_ft=float(height_ft),
                    cas_kt=float(cas_kt),
                    gear_down=gear_down,
                    gear_doors_open=False,
                    flap=flap,
                    slats_out=flap != FLAPS_UP,
                    engines_running=2,
                    fuel_flow_kg_per_h=0.0,
                )


def mach(height_ft: float, cas_kt: float) -> float:
    """Mach number of a calibrated airspeed."""
    here = point(
        pressure_altitude_ft=height_ft, cas_kt=cas_kt, isa_deviation_degc=0.0, mach_cap=1.0
    )
    return float(here.mach)


def _noisy(row: FlowRow, profile: Profile, factor: float) -> FlowRow:
    configuration = Configuration(
        gear_down=row.gear_down,
        flap=row.flap,
        slats_out=row.slats_out,
        engines_running=row.engines_running,
    )
    flow = level_flow_kg_per_h(
        profile,
        configuration,
        mass_kg=row.mass_kg,
        pressure_altitude_ft=row.pressure_altitude_ft,
        cas_kt=row.cas_kt,
    )
    return replace(row, fuel_flow_kg_per_h=float(flow) * factor)


def flows_of_library() -> tuple[FlowRow, ...]:
    """Clean and gear-down flows of an A320-class aircraft in the open library [OPENAP]."""
    return tuple(
        replace(row, fuel_flow_kg_per_h=_library_flow(row)) for row in _conditions(SHEETS[:2])
    )


def _library_flow(row: FlowRow) -> float:
    here = point(
        pressure_altitude_ft=row.pressure_altitude_ft,
        cas_kt=row.cas_kt,
        isa_deviation_degc=0.0,
        mach_cap=1.0,
    )
    state = {"mass": row.mass_kg, "tas": float(here.tas_kt), "alt": row.pressure_altitude_ft}
    drag_n = openap.Drag("A320").nonclean(**state, flap_angle=0, vs=0, landing_gear=row.gear_down)
    return float(openap.FuelFlow("A320").at_thrust(float(drag_n))) * S_PER_H


def write_csv(path: Path, rows: Sequence[FlowRow]) -> Path:
    """The rows as an operator would give them."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(COLUMNS)
        for row in rows:
            writer.writerow(
                (
                    row.mass_kg,
                    row.pressure_altitude_ft,
                    row.cas_kt,
                    "down" if row.gear_down else "up",
                    row.flap,
                    round(row.fuel_flow_kg_per_h, 1),
                )
            )
    return path
