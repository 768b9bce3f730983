"""Aerodrome files from open tables of aerodromes and runways, by a map of their columns.

What such tables lack stays away from the files, and so unknown: approaches and their minima, and
declared distances. The length of a runway is written as that (`length_m`), never as what is
available for landing. What cannot be read is left out and told, row by row; nothing is made up.
"""

from __future__ import annotations

import csv
import json
import re
import tomllib
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import msgspec

from decision.case import Runway
from decision.case.aerodromes import faults_of, read_aerodrome
from decision.case.bearing import WRONG_WAY_DEG, apart_deg
from decision.case.derive import record_of
from decision.case.spec import BodyReading
from decision.case.written import AERODROME
from decision.earth import initial_true_deg
from decision.errors import DataError
from decision.quantities import Position
from decision.units import M_PER_FT, PERCENT

Row = Mapping[str, str]
Table = dict[str, Any]

IDENT: Final = re.compile(r"(\d{1,2})([LCR]?)")
YES: Final = frozenset({"1", "true", "yes", "y"})
IN_METRES: Final[Mapping[str, float]] = {"m": 1.0, "ft": M_PER_FT}


class AerodromeColumns(
    msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True
):
    """Columns of the table of aerodromes; `key`: what the table of runways names it by."""

    key: str
    icao: str
    name: str
    latitude_deg: str
    longitude_deg: str
    elevation_ft: str


class AerodromeTable(
    msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True
):
    """The table of aerodromes; `keep`: by column the values of the rows that are read."""

    file: str
    columns: AerodromeColumns
    keep: dict[str, list[str]] = {}


class RunwayColumns(
    msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True
):
    """Columns of the table of runways that are of both directions; lengths in feet or metres."""

    aerodrome: str
    length_ft: str | None = None
    length_m: str | None = None
    width_ft: str | None = None
    width_m: str | None = None
    closed: str | None = None


class EndColumns(msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True):
    """Columns of one direction of a runway: its name, its true bearing, where it begins."""

    ident: str
    true_bearing_deg: str | None = None
    latitude_deg: str | None = None
    longitude_deg: str | None = None
    elevation_ft: str | None = None


class RunwayTable(msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True):
    """The table of runways: one row for both directions, `ends` are the columns of each."""

    file: str
    columns: RunwayColumns
    ends: tuple[EndColumns, EndColumns]
    keep: dict[str, list[str]] = {}


class ColumnMap(msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True):
    """What the tables are, where they are (beside the map), and what their columns mean."""

    source: str
    version: str
    aerodromes: AerodromeTable
    runways: RunwayTable


class Imported(msgspec.Struct, kw_only=True):
    """What came of it: files written, those that were there before, and what was left out."""

    written: list[str] = []
    kept: list[str] = []
    level: int = 0  # directions of which no slope is known
    left_out: dict[str, list[str]] = msgspec.field(default_factory=lambda: defaultdict(list))


class _Unread(ValueError):
    """Why a row cannot be read."""


def read_map(path: Path) -> ColumnMap:
    """Raises: DataError naming the key that is missing, unknown or wrong."""
    try:
        return msgspec.convert(tomllib.loads(path.read_text(encoding="utf-8")), ColumnMap)
    except (OSError, ValueError, msgspec.ValidationError) as error:
        raise DataError(path.name, "map", str(error)) from None


def import_tables(path: Path, folder: Path, *, replace: bool = False) -> Imported:
    """Write a file for each aerodrome of the tables that the map at the path describes.

    A file that is there already stays, unless `replace` is set: what an operator has written is
    better than any table. Raises: DataError where a table or a column is missing.
    """
    told, columns = Imported(), read_map(path)
    runways = _runways(path.parent, columns.runways, told)
    folder.mkdir(parents=True, exist_ok=True)
    table = columns.aerodromes
    for row in _rows(path.parent / table.file, _named(table.columns), table.keep):
        icao = row[table.columns.icao].strip()
        try:
            made = _aerodrome(row, columns, runways.get(row[table.columns.key].strip(), []))
        except _Unread as error:
            told.left_out[str(error)].append(icao or "without a name")
            continue
        file = folder / f"{icao}.toml"
        if file.exists() and not replace:
            told.kept.append(icao)
            continue
        file.write_text(as_toml(made), encoding="utf-8")
        told.written.append(icao)
        told.level += sum("slope_percent" not in each for each in made["runways"])
    return told


def _named(columns: msgspec.Struct) -> list[str]:
    """The columns that a part of the map names."""
    values = (getattr(columns, each) for each in columns.__struct_fields__)
    return [each for each in values if isinstance(each, str)]


def _rows(path: Path, columns: Sequence[str], keep: Mapping[str, Sequence[str]]) -> Iterator[Row]:
    """The rows of a table that are wanted. Raises: DataError."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file, restval="")
            there = reader.fieldnames or ()
            for each in (*columns, *keep):
                if each not in there:
                    raise DataError(path.name, each, f"is no column; there are {', '.join(there)}")
            for row in reader:
                if all(row[column] in wanted for column, wanted in keep.items()):
                    yield row
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise DataError(path.name, "table", str(error)) from None


def _aerodrome(row: Row, columns: ColumnMap, runways: Sequence[Table]) -> Table:
    names = columns.aerodromes.columns
    made: Table = {
        "source": columns.source,
        "version": columns.version,
        "icao": row[names.icao].strip(),
        "name": " ".join(row[names.name].split())[:80] or row[names.icao].strip(),
        "elevation_ft": _number(row, names.elevation_ft, "elevation"),
        "position": {
            "latitude_deg": _number(row, names.latitude_deg, "position"),
            "longitude_deg": _number(row, names.longitude_deg, "position"),
        },
        "runways": list(runways),
        "approaches": [],
    }
    if not runways:
        raise _Unread("no runway that can be read")
    body = {name: value for name, value in made.items() if name not in ("source", "version")}
    for fault in AERODROME.faults(body):
        raise _Unread(f"{fault.pointer.strip('/')} is not {fault.accepted}")
    for fault in faults_of(read_aerodrome(body, "", BodyReading()), ""):
        raise _Unread(fault.message.removeprefix(f"{made['icao']} "))
    return made


def _number(row: Row, column: str, what: str) -> float:
    found = _known(row, column)
    if found is None:
        raise _Unread(f"no {what}")
    return found


def _known(row: Row, column: str | None) -> float | None:
    """A number, or None where there is none or what is there is none."""
    if column is None:
        return None
    try:
        found = float(row[column])
    except ValueError:
        return None
    return found if abs(found) < float("inf") else None  # NaN is not less than anything


def _runways(folder: Path, table: RunwayTable, told: Imported) -> dict[str, list[Table]]:
    """The directions of each aerodrome, by the key that the table names it by."""
    columns = [*_named(table.columns), *(each for end in table.ends for each in _named(end))]
    found: dict[str, list[Table]] = defaultdict(list)
    for row in _rows(folder / table.file, columns, table.keep):
        key = row[table.columns.aerodrome].strip()
        for end, other in (table.ends, table.ends[::-1]):
            try:
                made = _direction(row, table.columns, end, other)
            except _Unread as error:
                told.left_out[f"runway: {error}"].append(f"{key} {row[end.ident].strip()}".strip())
                continue
            found[key].append(made)
    return found


def _direction(row: Row, columns: RunwayColumns, end: EndColumns, other: EndColumns) -> Table:
    ident = IDENT.fullmatch(row[end.ident].strip())
    if ident is None:
        raise _Unread("no name such as 09 or 27L")
    made: Table = {"ident": f"{int(ident[1]):02d}{ident[2]}"}
    bearing = _bearing(row, end, other)
    if bearing is None:
        raise _Unread("neither a true bearing nor where both ends are")
    made["true_bearing_deg"] = bearing
    length_m = _metres(row, columns, "length")
    made |= {
        name: value
        for name, value in (("length_m", length_m), ("width_m", _metres(row, columns, "width")))
        if value
    }
    slope = _slope(row, end, other, length_m)
    made |= {} if slope is None else {"slope_percent": slope}
    if columns.closed is not None and row[columns.closed].strip().lower() in YES:
        made["closed"] = True  # of one that is not told to be closed nothing is known today
    for fault in RUNWAY.faults(made):
        raise _Unread(f"{fault.pointer.strip('/')} is not {fault.accepted}")
    if apart_deg(RUNWAY.made(made, "", BodyReading())) > WRONG_WAY_DEG:
        raise _Unread("its bearing is that of the other end")
    return made


RUNWAY: Final = record_of(Runway)


def _metres(row: Row, columns: RunwayColumns, what: str) -> float | None:
    for unit, factor in IN_METRES.items():
        found = _known(row, getattr(columns, f"{what}_{unit}"))
        if found is not None and found > 0.0:
            return round(found * factor, 1)
    return None


def _bearing(row: Row, end: EndColumns, other: EndColumns) -> float | None:
    """As the table has it, else from where both ends are."""
    told = _known(row, end.true_bearing_deg)
    if told is not None:
        return told
    here, there = _position(row, end), _position(row, other)
    if here is None or there is None or here == there:
        return None
    return round(initial_true_deg(start=here, end=there), 1)


def _position(row: Row, end: EndColumns) -> Position | None:
    latitude_deg, longitude_deg = _known(row, end.latitude_deg), _known(row, end.longitude_deg)
    if latitude_deg is None or longitude_deg is None:
        return None
    try:
        return Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    except ValueError:
        return None


def _slope(row: Row, end: EndColumns, other: EndColumns, length_m: float | None) -> float | None:
    """Mean slope, uphill positive, where both ends have an elevation."""
    low_ft, high_ft = _known(row, end.elevation_ft), _known(row, other.elevation_ft)
    if low_ft is None or high_ft is None or not length_m:
        return None
    return round((high_ft - low_ft) * M_PER_FT / length_m * PERCENT, 2)


# --- TOML: the standard library reads it only ---


def as_toml(table: Table) -> str:
    """A file of one aerodrome: its own members, then its tables."""
    plain = {name: each for name, each in table.items() if not _is_table(each)}
    lines = [f"{name} = {_value(each)}" for name, each in plain.items()]
    for name, each in table.items():
        if isinstance(each, Mapping):
            lines += ["", f"[{name}]", *(f"{key} = {_value(one)}" for key, one in each.items())]
        elif _is_table(each):
            for item in each:
                lines += ["", f"[[{name}]]", *(f"{key} = {_value(v)}" for key, v in item.items())]
    return "\n".join(lines) + "\n"


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping) or (isinstance(value, list) and bool(value))


WRITERS: Final[tuple[tuple[type, Callable[[Any], str]], ...]] = (
    (bool, lambda value: str(value).lower()),
    (str, lambda value: json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")),
    (list, lambda _empty: "[]"),
    (float, lambda value: repr(int(value)) if value.is_integer() else repr(value)),
)


def _value(value: object) -> str:
    return next(write for kind, write in WRITERS if isinstance(value, kind))(value)
