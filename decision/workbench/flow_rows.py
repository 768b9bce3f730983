"""Fuel flows to fit a profile to: a CSV file, one row per condition of level flight.

Units are in the column names. A column that only some tables need may be left out: it then stands
for what the lever does, closed doors and every engine. A fuel table that governs a profile
(`operator_tables_file`) has all of them and can be fitted as it is. Everything wrong with a file is
found in one pass, with its line.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar

from decision.errors import DataError
from decision.profile.types import Profile

Word = TypeVar("Word", str, bool, int)

COLUMNS: Final = (
    "mass_kg",
    "pressure_altitude_ft",
    "cas_kt",
    "gear",
    "flap",
    "fuel_flow_kg_per_h",
)
OPTIONAL_COLUMNS: Final = ("doors", "slats", "engines_running", "source")
GEAR: Final = {"up": False, "down": True}
DOORS: Final = {"closed": False, "open": True}
SLATS: Final = {"in": False, "out": True}
SLOWEST_CAS_KT: Final = 60.0  # [ASSUMED] below the stall of any transport aeroplane
GREATEST_FLOW_KG_PER_H: Final = 100_000.0  # [ASSUMED] beyond any transport aeroplane


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowRow:
    """Total flow of the running engines in level flight, standard air."""

    mass_kg: float
    pressure_altitude_ft: float
    cas_kt: float
    gear_down: bool
    gear_doors_open: bool
    flap: str
    slats_out: bool
    engines_running: int
    fuel_flow_kg_per_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowRows:
    """What came out of a file: its rows, or everything that is wrong with it."""

    rows: tuple[FlowRow, ...]
    faults: tuple[DataError, ...]


def read_flow_rows(path: Path, *, profile: Profile) -> FlowRows:
    """Read tabulated fuel flows of one aircraft. Raises: OSError, UnicodeDecodeError."""
    with path.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        faults = list(_header_faults(path.name, header := tuple(reader.fieldnames or ())))
        rows: list[FlowRow] = []
        for cells in () if faults else reader:
            where = f"{path.name} line {reader.line_num}"
            if len(cells) != len(header) or None in cells.values():
                problem = "does not have as many cells as the header"
                faults.append(DataError(where, "row", problem))
                continue
            rows += _Cells(where=where, cells=cells, faults=faults).rows(profile)
    if not rows and not faults:
        faults.append(DataError(path.name, "file", "has no rows"))
    return FlowRows(rows=() if faults else tuple(rows), faults=tuple(faults))


def _header_faults(file: str, header: tuple[str, ...]) -> Iterator[DataError]:
    for column in COLUMNS:
        if header.count(column) != 1:
            yield DataError(file, column, "the column must be there, once")
    known = (*COLUMNS, *OPTIONAL_COLUMNS)
    for column in header:
        if column not in known:
            yield DataError(file, column, f"unknown column; accepted: {', '.join(known)}")
        elif column in OPTIONAL_COLUMNS and header.count(column) > 1:
            yield DataError(file, column, "the column is there twice")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cells:
    """One line of a file; what is wrong with it goes to `faults`."""

    where: str
    cells: Mapping[str, object]
    faults: list[DataError]

    def rows(self, profile: Profile) -> tuple[FlowRow, ...]:
        """The row, or none if anything is wrong with it."""
        before = len(self.faults)
        masses, limits, count = profile.masses, profile.limits, profile.engine.count
        flap = self.word("flap", {detent.id: detent.id for detent in profile.detents})
        with_lever = flap is not None and profile.slats_out_with_lever(flap)
        row = FlowRow(
            mass_kg=self.number("mass_kg", masses.oew_kg, masses.mtow_kg),
            pressure_altitude_ft=self.number(
                "pressure_altitude_ft", 0.0, limits.max_pressure_altitude_ft
            ),
            cas_kt=self.number("cas_kt", SLOWEST_CAS_KT, limits.vmo_kt),
            gear_down=bool(self.word("gear", GEAR)),
            gear_doors_open=bool(self.word("doors", DOORS, absent=False)),
            flap=flap or "",
            slats_out=bool(self.word("slats", SLATS, absent=with_lever)),
            engines_running=self.word("engines_running", _up_to(count), absent=count) or count,
            fuel_flow_kg_per_h=self.number("fuel_flow_kg_per_h", 1.0, GREATEST_FLOW_KG_PER_H),
        )
        return (row,) if len(self.faults) == before else ()

    def number(self, column: str, low: float, high: float) -> float:
        """A cell as a number within its range, NaN (and a fault) if it is not."""
        text = str(self.cells[column])
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            self.fault(column, f"is {text!r}; must be a number from {low:g} to {high:g}")
        return value

    def word(
        self, column: str, accepted: Mapping[str, Word], *, absent: Word | None = None
    ) -> Word | None:
        """What a word stands for; `absent` if there is no such column, None with a fault if not."""
        if column not in self.cells and absent is not None:
            return absent
        text = str(self.cells[column])
        if text not in accepted:
            self.fault(column, f"is {text!r}; must be one of {', '.join(accepted)}")
        return accepted.get(text)

    def fault(self, column: str, problem: str) -> None:
        """Note what is wrong."""
        self.faults.append(DataError(self.where, column, problem))


def _up_to(count: int) -> dict[str, int]:
    """Numbers of engines that can run, as they are written."""
    return {str(number): number for number in range(1, count + 1)}
