"""An operator's tables in a profile: fuel flow, landing distance, and factors for what has failed.

Where a table has rows it governs: it is read by multilinear interpolation between its own figures
and never beyond them. A point outside is refused by name (`OutOfTable`), not clipped and not left
to the physics. Whether the physics may answer for a configuration that no table has rows for, the
profile says (`Elsewhere`). Reading the files is `tables_file`'s, use is `performance`'s.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import product
from types import MappingProxyType
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from msgspec import Struct

from decision.elementwise import FloatArray, Numbers, Truths
from decision.errors import OutOfRange

KT: Final = "kt CAS"
MACH: Final = "Mach"


class OutOfTable(OutOfRange):
    """A point that a governing table does not reach; the text names table, figure and range."""

    def __init__(self, reason: str, *, name: str, value: float, low: float, high: float) -> None:
        super().__init__(name, value, low=low, high=high, source="operator's table")
        self.reason = reason

    def __str__(self) -> str:
        return self.reason


def beyond(axis: Axis, value: float, *, table: str) -> OutOfTable:
    """The refusal of a value that lies outside an axis."""
    low, high = axis.low, axis.high
    reach = f"it has {axis.words(low)} to {axis.words(high)}"
    reason = f"operator's table {table} does not reach {axis.words(value)}: {reach}"
    return OutOfTable(reason, name=axis.name, value=value, low=low, high=high)


def untabled(what: str, *, table: str) -> OutOfTable:
    """The refusal of something that a table has no rows for."""
    reason = f"operator's table {table} has no rows for {what}"
    return OutOfTable(reason, name="rows", value=0.0, low=1.0, high=math.inf)


class Elsewhere(StrEnum):
    """What answers for a configuration that no table has rows for."""

    PHYSICS = "physics"
    REFUSE = "refuse"


class Speed(StrEnum):
    """The speed column of a fuel table."""

    CAS_KT = "cas_kt"
    MACH = "mach"


class TableQuantity(StrEnum):
    """What a factor multiplies."""

    FUEL = "fuel"
    LANDING = "landing"


class Loss(StrEnum):
    """What a factor is for. The first five concern fuel, the others landings, `FLAP` both."""

    GEAR_DOWN = "gear_down"
    GEAR_DOORS_OPEN = "gear_doors_open"
    SLATS_OUT = "slats_out"
    ENGINE_OUT = "engine_out"
    FLAP = "flap"
    GROUND_SPOILERS_LOST = "ground_spoilers_lost"
    REVERSERS_LOST = "reversers_lost"
    SPOILERS_AND_REVERSERS_LOST = "spoilers_and_reversers_lost"
    HALF_BRAKES_LOST = "half_brakes_lost"
    ANTI_SKID_LOST = "anti_skid_lost"


FUEL_LOSSES: Final = (
    Loss.GEAR_DOWN,
    Loss.GEAR_DOORS_OPEN,
    Loss.SLATS_OUT,
    Loss.ENGINE_OUT,
    Loss.FLAP,
)
LANDING_LOSSES: Final = tuple(loss for loss in Loss if loss not in FUEL_LOSSES[:-1])


class Departing(StrEnum):
    """By what a landing departs from the table's: sea level, standard, calm, level, all reversers.

    Each is a positive amount in the unit of its name; `unused_reversers` counts.
    """

    PRESSURE_ALTITUDE_FT = "pressure_altitude_ft"
    BELOW_SEA_LEVEL_FT = "below_sea_level_ft"
    WARMER_DEGC = "warmer_degc"
    COLDER_DEGC = "colder_degc"
    HEADWIND_KT = "headwind_kt"
    TAILWIND_KT = "tailwind_kt"
    DOWNSLOPE_PERCENT = "downslope_percent"
    UPSLOPE_PERCENT = "upslope_percent"
    SPEED_INCREMENT_KT = "speed_increment_kt"
    UNUSED_REVERSERS = "unused_reversers"

    @property
    def words(self) -> str:
        """Unit and name, such as 'kt headwind'."""
        name, _, unit = self.value.rpartition("_")
        return f"{unit} {name.replace('_', ' ')}"


SHORTENING: Final = frozenset(
    {
        Departing.HEADWIND_KT,
        Departing.UPSLOPE_PERCENT,
        Departing.COLDER_DEGC,
        Departing.BELOW_SEA_LEVEL_FT,
    }
)
"""Departures that may take metres off; each of the others adds some."""


# --- a rectangular grid ------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class Axis:
    """One side of a grid: rising nodes, at least two."""

    name: str
    unit: str
    nodes: FloatArray

    @property
    def low(self) -> float:
        """The first node."""
        return float(self.nodes[0])

    @property
    def high(self) -> float:
        """The last node."""
        return float(self.nodes[-1])

    def covers(self, value: Numbers) -> Truths:
        """Where a value lies within the nodes."""
        return (value >= self.low) & (value <= self.high)

    def words(self, value: float) -> str:
        """A value with its unit, with the digits that the table could have."""
        return f"{value:.3f} {self.unit}" if self.unit == MACH else f"{value:.0f} {self.unit}"

    def place(self, value: Numbers) -> tuple[npt.NDArray[np.intp], Numbers]:
        """Number of the node below, and how far to the next; beyond 0 to 1 outside the nodes."""
        below = np.searchsorted(self.nodes, value, side="right") - 1
        below = np.clip(below, 0, len(self.nodes) - 2)  # the share then tells how far outside
        low = self.nodes[below]
        return np.asarray(below), (value - low) / (self.nodes[below + 1] - low)


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Values at every combination of the nodes of its axes."""

    axes: tuple[Axis, ...]
    values: FloatArray

    def line(self, *at: Numbers) -> Numbers:
        """Multilinear value; beyond the nodes its straight continuation, which `at` refuses.

        Only the preparation of tables asks beyond: to support a curve, never for an answer.
        """
        places = [axis.place(value) for axis, value in zip(self.axes, at, strict=True)]
        total: Numbers = 0.0
        for corner in product((0, 1), repeat=len(places)):
            weight: Numbers = 1.0
            for (_, share), up in zip(places, corner, strict=True):
                weight = weight * (share if up else 1.0 - share)
            nodes = tuple(below + up for (below, _), up in zip(places, corner, strict=True))
            total = total + weight * self.values[nodes]
        return total

    def at(self, *at: float, table: str) -> float:
        """Multilinear value inside the nodes. Raises OutOfTable outside them."""
        for axis, value in zip(self.axes, at, strict=True):
            if not axis.covers(value):
                raise beyond(axis, value, table=table)
        return float(self.line(*at))


# --- fuel flow ---------------------------------------------------------------------------------


class Shape(Struct, frozen=True, kw_only=True, gc=False):
    """What of a configuration the rows of a fuel table tell apart."""

    gear_down: bool
    gear_doors_open: bool
    flap: str
    slats_out: bool
    engines_running: int

    @property
    def label(self) -> str:
        """Short words, such as 'gear down, flap 0, slats in, 2 engines'."""
        gear = f"gear {'down' if self.gear_down else 'up'}"
        doors = ", gear doors open" if self.gear_doors_open else ""
        slats = f"slats {'out' if self.slats_out else 'in'}"
        return f"{gear}{doors}, flap {self.flap}, {slats}, {self.engines_running} engines"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlowGrid:
    """Fuel flow of one configuration in level flight, standard air: mass, level, speed."""

    file: str
    speed: Speed
    grid: Grid

    @property
    def mass(self) -> Axis:
        """The axis of mass."""
        return self.grid.axes[0]

    def covers(self, *, pressure_altitude_ft: Numbers, speed: Numbers) -> Truths:
        """Where level and speed lie within the grid."""
        _, level, fast = self.grid.axes
        return level.covers(pressure_altitude_ft) & fast.covers(speed)

    @property
    def reach(self) -> str:
        """The grid's ends in words."""
        return ", ".join(f"{a.words(a.low)} to {a.words(a.high)}" for a in self.grid.axes)


# --- landing distance --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """Metres per unit of a departure from the table's conditions, up to `most` units."""

    m_per_unit: float
    most: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LandingTable:
    """Unfactored distances by flap detent and condition code over mass, and corrections.

    Corrections are by detent and code; both maps are complete for the detents that they have.
    """

    file: str
    distances: Mapping[tuple[str, int], Grid]
    corrections: Mapping[tuple[str, int, Departing], Correction]

    @property
    def reach(self) -> Iterator[str]:
        """The masses of each detent and condition code."""
        for (flap, code), grid in self.distances.items():
            mass = grid.axes[0]
            span = f"{mass.words(mass.low)} to {mass.words(mass.high)}"
            yield f"{self.file}: landing, flap {flap}, condition code {code}: {span}"

    def has(self, flap: str) -> bool:
        """Whether there are rows for a detent."""
        return any(detent == flap for detent, _ in self.distances)

    def distance_m(
        self,
        *,
        flap: str,
        condition_code: int,
        mass_kg: float,
        departing: Mapping[Departing, float],
    ) -> float:
        """The distance with its corrections. Raises OutOfTable beyond rows or corrections."""
        grid = self.distances.get((flap, condition_code))
        if grid is None:
            raise untabled(f"flap {flap} on condition code {condition_code}", table=self.file)
        total_m = grid.at(mass_kg, table=self.file)
        for what, amount in departing.items():
            if amount > 0.0:
                total_m += self._corrected_m(flap, condition_code, what, amount)
        return total_m

    def _corrected_m(self, flap: str, code: int, what: Departing, amount: float) -> float:
        correction = self.corrections.get((flap, code, what))
        if correction is None:
            raise untabled(
                f"{amount:g} {what.words} with flap {flap} on code {code}", table=self.file
            )
        if amount > correction.most:
            axis = Axis(what.value, what.words, np.array([0.0, correction.most]))
            raise beyond(axis, amount, table=self.file)
        return correction.m_per_unit * amount


# --- factors -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors:
    """An operator's factors. Keys: what is lost, and for `FLAP` the detent, else ''.

    Landing factors may differ by condition code; None is every code that has none of its own.
    """

    fuel: Mapping[tuple[Loss, str], float]
    landing: Mapping[tuple[Loss, str, int | None], float]

    @property
    def reach(self) -> Iterator[str]:
        """Each factor in words."""
        for (loss, detent), factor in self.fuel.items():
            yield f"fuel x{factor:g}: {f'{loss} {detent}'.rstrip()}"
        for (loss, detent, code), factor in self.landing.items():
            where = "" if code is None else f" on condition code {code}"
            yield f"landing distance x{factor:g}: {f'{loss} {detent}'.rstrip()}{where}"

    def fuel_factor(self, loss: Loss, detent: str = "") -> float | None:
        """The fuel factor for a loss; None if there is none."""
        return self.fuel.get((loss, detent))

    def landing_factor(self, loss: Loss, *, condition_code: int, detent: str = "") -> float | None:
        """The landing factor for a loss on a surface; None if there is none."""
        own = self.landing.get((loss, detent, condition_code))
        return self.landing.get((loss, detent, None)) if own is None else own


NOTHING: Final[Mapping[Any, Any]] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OperatorTables:
    """Everything an operator has tabulated; empty for a profile of physics alone.

    `fuel` lists the grids of a configuration in the order of the profile: the first that has a
    level and a speed governs there.
    """

    elsewhere: Elsewhere = Elsewhere.PHYSICS
    fuel: Mapping[Shape, tuple[FlowGrid, ...]] = field(default_factory=lambda: NOTHING)
    landing: LandingTable | None = None
    factors: Factors = Factors(fuel=NOTHING, landing=NOTHING)

    @property
    def concern_fuel(self) -> bool:
        """Whether any table or factor bears on fuel flow."""
        return bool(self.fuel) or bool(self.factors.fuel)

    @property
    def reach(self) -> tuple[str, ...]:
        """What there is, a line for each grid, detent with code, and factor."""
        fuel = [
            f"{each.file}: {shape.label}: {each.reach}"
            for shape, grids in self.fuel.items()
            for each in grids
        ]
        return (*fuel, *(self.landing.reach if self.landing else ()), *self.factors.reach)


NO_TABLES: Final = OperatorTables()
