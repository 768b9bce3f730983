"""Read an operator's tables: CSV files beside a profile, every fault of them in one pass.

`[tables]` of the profile names the files. A file is a table of plain rows: the first line names
the columns, units are in the names, each row has a source in the operator's own words (manual,
page, revision). Rows of one grid rise by their columns from left to right, without a gap.
"""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, product
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, cast

import numpy as np

from decision.errors import DataError
from decision.profile.operator_tables import (
    FUEL_LOSSES,
    KT,
    LANDING_LOSSES,
    MACH,
    NO_TABLES,
    SHORTENING,
    Axis,
    Correction,
    Departing,
    Elsewhere,
    Factors,
    FlowGrid,
    Grid,
    LandingTable,
    Loss,
    OperatorTables,
    Shape,
    Speed,
    TableQuantity,
)

SECTION: Final = "tables"
FUEL_FLOW, DISTANCES = "fuel_flow", "landing_distance"
CORRECTIONS, FACTORS = "landing_corrections", "factors"
ELSEWHERE: Final = "other_configurations"
KEYS: Final = frozenset({FUEL_FLOW, DISTANCES, CORRECTIONS, FACTORS, ELSEWHERE})

# [ASSUMED] accepted intervals: wide enough for any transport aeroplane
MASS_KG: Final = (1_000.0, 650_000.0)
LEVEL_FT: Final = (-2_000.0, 51_000.0)
CAS_KT: Final = (60.0, 450.0)
MACH_NUMBER: Final = (0.1, 0.99)
FLOW_KG_PER_H: Final = (10.0, 60_000.0)
DISTANCE_M: Final = (200.0, 8_000.0)
M_PER_UNIT: Final = (-200.0, 1_000.0)
AMOUNT: Final = (0.0, 20_000.0)
FACTOR: Final = (1.0, 5.0)  # what is lost never helps
ENGINES: Final = (1, 4)
CODES: Final = (1, 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Files:
    """The tables of a profile, what is wrong with them, and the bytes they were read from."""

    tables: OperatorTables
    faults: tuple[DataError, ...]
    content: bytes


NO_FILES: Final = Files(tables=NO_TABLES, faults=(), content=b"")


def read_operator_tables(
    profile: Path, section: object, *, detents: Sequence[str], engines: int
) -> Files:
    """The tables that a profile file names in its section `tables`."""
    reader = _Reader(profile=profile, detents=tuple(detents), engines=engines)
    tables = reader.tables(section)
    return Files(tables=tables, faults=tuple(reader.faults), content=b"".join(reader.contents))


# --- columns and rows --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: its name, how a cell is read (ValueError if it cannot be), what it may be."""

    name: str
    read: Callable[[str], object]
    accepted: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRecord:
    """One row as read, with the number of its line."""

    line: int
    values: Mapping[str, Any]

    def __getitem__(self, column: str) -> Any:  # noqa: ANN401 - a cell is what its column reads
        return self.values[column]


def _number(name: str, span: tuple[float, float]) -> Column:
    low, high = span

    def read(cell: str) -> float:
        value = float(cell)
        if not low <= value <= high:
            raise ValueError(cell)
        return value

    return Column(name=name, read=read, accepted=f"a number from {low:g} to {high:g}")


def _whole(name: str, span: tuple[int, int], *, optional: bool = False) -> Column:
    low, high = span

    def read(cell: str) -> int | None:
        if optional and not cell:
            return None
        if not low <= int(cell) <= high:
            raise ValueError(cell)
        return int(cell)

    empty = ", or empty" if optional else ""
    return Column(name=name, read=read, accepted=f"a whole number from {low} to {high}{empty}")


def _word(name: str, words: Mapping[str, object]) -> Column:
    def read(cell: str) -> object:
        if cell not in words:
            raise ValueError(cell)
        return words[cell]

    accepted = " or ".join(word or "empty" for word in words)
    return Column(name=name, read=read, accepted=accepted)


def _text(name: str) -> Column:
    def read(cell: str) -> str:
        if not cell:
            raise ValueError(cell)
        return cell

    return Column(name=name, read=read, accepted="where the figure is from, in words")


SOURCE: Final = _text("source")
UP_OR_DOWN: Final = _word("gear", {"up": False, "down": True})
DOORS: Final = _word("doors", {"closed": False, "open": True})
SLATS: Final = _word("slats", {"in": False, "out": True})
SPEEDS: Final = MappingProxyType(
    {Speed.CAS_KT: (CAS_KT, KT), Speed.MACH: (MACH_NUMBER, MACH)}  # range, unit of the axis
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Reads the files and notes what is wrong on the way."""

    profile: Path
    detents: tuple[str, ...]
    engines: int
    faults: list[DataError] = field(default_factory=list)
    contents: list[bytes] = field(default_factory=list)

    def fault(self, file: str, key: str, problem: str) -> None:
        """Note what is wrong."""
        self.faults.append(DataError(file, key, problem))

    # --- the section of the profile ------------------------------------------------------------

    def tables(self, section: object) -> OperatorTables:
        """Everything that the section names."""
        if not isinstance(section, dict):
            self.fault(self.profile.name, SECTION, "must be a table of file names")
            return OperatorTables()
        for key in sorted(set(section) - KEYS):
            self.fault(self.profile.name, f"{SECTION}.{key}", "unknown key")
        named = {key: self.names(section[key], key) for key in KEYS - {ELSEWHERE} if key in section}
        if CORRECTIONS in named and DISTANCES not in named:
            self.fault(self.profile.name, f"{SECTION}.{CORRECTIONS}", f"needs {DISTANCES} too")
        return OperatorTables(
            elsewhere=self.elsewhere(section.get(ELSEWHERE)),
            fuel=self.fuel(named.get(FUEL_FLOW, ())),
            landing=self.landing(named.get(DISTANCES, ()), named.get(CORRECTIONS, ())),
            factors=self.factors(named.get(FACTORS, ())),
        )

    def elsewhere(self, word: object) -> Elsewhere:
        """What answers for configurations without rows: the operator has to say."""
        if isinstance(word, str) and word in {each.value for each in Elsewhere}:
            return Elsewhere(word)
        accepted = " or ".join(Elsewhere)
        self.fault(self.profile.name, f"{SECTION}.{ELSEWHERE}", f"must be {accepted}")
        return Elsewhere.REFUSE

    def names(self, value: object, key: str) -> tuple[str, ...]:
        """One file name or, for fuel flow, a list of them."""
        names = value if isinstance(value, list) and key == FUEL_FLOW else [value]
        if all(isinstance(name, str) and Path(name).name == name for name in names) and names:
            return tuple(names)
        wanted = "file names" if key == FUEL_FLOW else "the name of a file"
        self.fault(self.profile.name, f"{SECTION}.{key}", f"must be {wanted} beside the profile")
        return ()

    # --- rows ------------------------------------------------------------------------------------

    def records(self, name: str, columns: Iterable[Column]) -> list[TableRecord]:
        """The rows of a file that could be read; every cell that could not is a fault."""
        path = self.profile.with_name(name)
        try:
            content = path.read_bytes()
            text = content.decode("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            self.fault(name, "file", f"cannot be read: {getattr(error, 'strerror', None) or error}")
            return []
        self.contents.append(content)
        return list(self.rows(name, text, tuple(columns)))

    def rows(self, name: str, text: str, columns: tuple[Column, ...]) -> Iterator[TableRecord]:
        """Each row under the header, if that is right."""
        reader = csv.DictReader(io.StringIO(text))
        header, wanted = list(reader.fieldnames or ()), [column.name for column in columns]
        if sorted(header) != sorted(wanted):
            self.fault(name, "line 1", _header_words(header, wanted))
            return
        empty = True
        for cells in reader:
            empty = False
            record = self.record(name, reader.line_num, cells, columns)
            if record is not None:
                yield record
        if empty:
            self.fault(name, "file", "has no rows")

    def record(
        self, name: str, line: int, cells: Mapping[Any, Any], columns: tuple[Column, ...]
    ) -> TableRecord | None:
        """One row; None with its faults noted."""
        if None in cells or None in cells.values():
            self.fault(name, f"line {line}", "does not have as many cells as the header")
            return None
        values: dict[str, object] = {}
        for column in columns:
            cell = cast("str", cells[column.name]).strip()
            try:
                values[column.name] = column.read(cell)
            except ValueError:
                shown = repr(cell) if cell else "empty"
                where = f"line {line}: {column.name}"
                self.fault(name, where, f"is {shown}; must be {column.accepted}")
        return TableRecord(line=line, values=values) if len(values) == len(columns) else None

    @property
    def flap(self) -> Column:
        """A column of flap detents."""
        return _word("flap", {detent: detent for detent in self.detents})

    # --- fuel flow -------------------------------------------------------------------------------

    def fuel(self, names: Sequence[str]) -> Mapping[Shape, tuple[FlowGrid, ...]]:
        """The grids of every configuration, in the order of the files."""
        found: dict[Shape, list[FlowGrid]] = defaultdict(list)
        for name in names:
            speed = self.speed_of(name)
            if speed is None:
                continue
            by_shape: dict[Shape, list[TableRecord]] = defaultdict(list)
            for record in self.records(name, self.flow_columns(speed)):
                by_shape[_shape(record)].append(record)
            for shape, records in by_shape.items():
                grid = self.grid(
                    name, shape.label, records, _flow_axes(speed), "fuel_flow_kg_per_h"
                )
                if grid is not None:
                    found[shape].append(FlowGrid(file=name, speed=speed, grid=grid))
        return MappingProxyType({shape: tuple(grids) for shape, grids in found.items()})

    def speed_of(self, name: str) -> Speed | None:
        """Whether a fuel table goes by calibrated airspeed or by Mach number."""
        try:
            with self.profile.with_name(name).open(encoding="utf-8-sig") as file:
                header = file.readline().strip().split(",")
        except (OSError, UnicodeDecodeError):
            return Speed.CAS_KT  # the attempt to read it says what is wrong
        found = [speed for speed in Speed if speed.value in header]
        if len(found) == 1:
            return found[0]
        self.fault(name, "line 1", f"must have exactly one of the columns {', '.join(Speed)}")
        return None

    def flow_columns(self, speed: Speed) -> tuple[Column, ...]:
        """The columns of a fuel table."""
        return (
            UP_OR_DOWN,
            DOORS,
            self.flap,
            SLATS,
            _whole("engines_running", (ENGINES[0], self.engines)),
            _number("mass_kg", MASS_KG),
            _number("pressure_altitude_ft", LEVEL_FT),
            _number(speed.value, SPEEDS[speed][0]),
            _number("fuel_flow_kg_per_h", FLOW_KG_PER_H),
            SOURCE,
        )

    # --- grids -----------------------------------------------------------------------------------

    def grid(
        self,
        name: str,
        what: str,
        records: Sequence[TableRecord],
        axes: Sequence[tuple[str, str]],
        value: str,
    ) -> Grid | None:
        """A full rectangle from rows that rise; None with its faults noted."""
        columns = [column for column, _ in axes]
        at = [tuple(float(record[column]) for column in columns) for record in records]
        faults = len(self.faults)
        self.check_order(name, records, at, columns)
        nodes = [sorted({place[i] for place in at}) for i in range(len(columns))]
        for column, values in zip(columns, nodes, strict=True):
            if len(values) < len("ab"):
                self.fault(name, f"{what}: {column}", "needs at least two values to read between")
        self.check_full(name, what, at, nodes)
        if len(self.faults) > faults:
            return None
        figures = np.array([float(record[value]) for record in records])
        return Grid(
            axes=tuple(
                Axis(column, unit, np.array(each))
                for (column, unit), each in zip(axes, nodes, strict=True)
            ),
            values=figures.reshape([len(each) for each in nodes]),
        )

    def check_order(
        self,
        name: str,
        records: Sequence[TableRecord],
        at: Sequence[tuple[float, ...]],
        columns: Sequence[str],
    ) -> None:
        """Rows must rise by their columns from left to right; one twice does not."""
        for record, (before, after) in zip(records[1:], pairwise(at), strict=True):
            if after == before:
                self.fault(name, f"line {record.line}", "repeats the row before")
            elif after < before:
                rising = ", then ".join(columns)
                self.fault(name, f"line {record.line}", f"not ascending: rows rise by {rising}")

    def check_full(
        self, name: str, what: str, at: Sequence[tuple[float, ...]], nodes: Sequence[list[float]]
    ) -> None:
        """Every combination of the nodes must be there."""
        there = set(at)
        missing = [place for place in product(*nodes) if place not in there]
        if missing:
            first = ", ".join(f"{value:g}" for value in missing[0])
            count = f"{len(missing)} of {len(missing) + len(there)} combinations"
            self.fault(name, what, f"not a full rectangle: {count} missing, the first at {first}")

    # --- landing ---------------------------------------------------------------------------------

    def landing(self, distances: Sequence[str], corrections: Sequence[str]) -> LandingTable | None:
        """Distances and corrections."""
        if not distances:
            return None
        columns = (
            self.flap,
            _whole("condition_code", CODES),
            _number("mass_kg", MASS_KG),
            _number("distance_m", DISTANCE_M),
            SOURCE,
        )
        by_place: dict[tuple[str, int], list[TableRecord]] = defaultdict(list)
        for record in self.records(distances[0], columns):
            by_place[record["flap"], record["condition_code"]].append(record)
        grids: dict[tuple[str, int], Grid] = {}
        for (flap, code), records in by_place.items():
            what = f"flap {flap}, condition code {code}"
            grid = self.grid(distances[0], what, records, [("mass_kg", "kg")], "distance_m")
            if grid is not None:
                grids[flap, code] = grid
        return LandingTable(
            file=distances[0],
            distances=MappingProxyType(grids),
            corrections=self.corrections(corrections, grids),
        )

    def corrections(
        self, names: Sequence[str], grids: Mapping[tuple[str, int], Grid]
    ) -> Mapping[tuple[str, int, Departing], Correction]:
        """Corrections by detent, code and what departs."""
        columns = (
            self.flap,
            _whole("condition_code", CODES),
            _word("departing", {each.value: each for each in Departing}),
            _number("m_per_unit", M_PER_UNIT),
            _number("most_units", AMOUNT),
            SOURCE,
        )
        found: dict[tuple[str, int, Departing], Correction] = {}
        for name in names:
            for record in self.records(name, columns):
                key = (record["flap"], record["condition_code"], record["departing"])
                where = f"line {record.line}"
                if key in found:
                    self.fault(name, where, "repeats a row before")
                if key[:2] not in grids:
                    self.fault(name, where, "has no distance that it corrects")
                if record["m_per_unit"] < 0.0 and key[2] not in SHORTENING:
                    self.fault(name, f"{where}: m_per_unit", f"{key[2]} cannot shorten a landing")
                found[key] = Correction(m_per_unit=record["m_per_unit"], most=record["most_units"])
        return MappingProxyType(found)

    # --- factors ---------------------------------------------------------------------------------

    def factors(self, names: Sequence[str]) -> Factors:
        """Factors for fuel and for landing."""
        columns = (
            _word("quantity", {each.value: each for each in TableQuantity}),
            _word("loss", {each.value: each for each in Loss}),
            _word("detent", {"": "", **{detent: detent for detent in self.detents}}),
            _whole("condition_code", CODES, optional=True),
            _number("factor", FACTOR),
            SOURCE,
        )
        fuel: dict[tuple[Loss, str], float] = {}
        landing: dict[tuple[Loss, str, int | None], float] = {}
        for name in names:
            for record in self.records(name, columns):
                loss, detent, code = record["loss"], record["detent"], record["condition_code"]
                of_fuel = record["quantity"] is TableQuantity.FUEL
                known = (loss, detent) in fuel if of_fuel else (loss, detent, code) in landing
                for problem in _factor_problems(record, known=known):
                    self.fault(name, f"line {record.line}", problem)
                if of_fuel:
                    fuel[loss, detent] = record["factor"]
                else:
                    landing[loss, detent, code] = record["factor"]
        return Factors(fuel=MappingProxyType(fuel), landing=MappingProxyType(landing))


def _factor_problems(record: TableRecord, *, known: bool) -> Iterator[str]:
    """What is wrong with a row of factors whose cells can be read."""
    loss, quantity = record["loss"], record["quantity"]
    of_fuel = quantity is TableQuantity.FUEL
    if known:
        yield "repeats a row before"
    if loss not in (FUEL_LOSSES if of_fuel else LANDING_LOSSES):
        yield f"{loss} is no loss that multiplies {quantity}"
    if (loss is Loss.FLAP) != bool(record["detent"]):
        yield f"a detent belongs to {Loss.FLAP}, and to it alone"
    if of_fuel and record["condition_code"] is not None:
        yield "a condition code belongs to a landing"


def _header_words(header: Sequence[str], wanted: Sequence[str]) -> str:
    lacking = [name for name in wanted if name not in header]
    unknown = [name for name in header if name not in wanted]
    words = [f"lacks {', '.join(lacking)}"] if lacking else []
    words += [f"does not know {', '.join(map(repr, unknown))}"] if unknown else []
    return f"{'; '.join(words) or 'names a column twice'}; the columns are {', '.join(wanted)}"


def _shape(record: TableRecord) -> Shape:
    return Shape(
        gear_down=record["gear"],
        gear_doors_open=record["doors"],
        flap=record["flap"],
        slats_out=record["slats"],
        engines_running=record["engines_running"],
    )


def _flow_axes(speed: Speed) -> tuple[tuple[str, str], ...]:
    """Columns of the axes of a fuel table, each with the unit that texts give it."""
    return (("mass_kg", "kg"), ("pressure_altitude_ft", "ft"), (speed.value, SPEEDS[speed][1]))
