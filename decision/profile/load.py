"""Read an aircraft profile: TOML in, a checked and frozen `Profile` out.

A value stands as `key = { value = .., unit = "..", source = "KEY" }` (words and flags without a
unit), a row of a table as plain keys beside one `source`. The dataclasses of `types` are the
description of the file: their fields are its keys, their `Range` its units and intervals.
Everything wrong with a file is found in one pass; nothing gets a default but an absent limit.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any, Final, get_args, get_origin, get_type_hints

from decision.citations import DATA
from decision.errors import DataError
from decision.profile.describe import (
    FIELDS_FROM_ELSEWHERE,
    HEADER,
    HEADER_FIELDS,
    kind_of,
    range_of,
)
from decision.profile.operator_tables_file import NO_FILES, Files, read_operator_tables
from decision.profile.operator_tables_file import SECTION as OPERATOR_TABLES
from decision.profile.own_sources import OWN_SOURCES, OwnSources, read_own_sources
from decision.profile.systems_data import SUFFIX as SYSTEMS_SUFFIX
from decision.profile.systems_data import read_systems_file
from decision.profile.types import AccuracyOf, OrdinaryOf, Profile

PROFILES: Final = DATA / "profiles"
SUFFIX: Final = ".toml"

Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class FileReading:
    """What came out of a file: the profile, or everything that is wrong with it."""

    profile: Profile | None
    faults: tuple[DataError, ...]


@cache
def profile_ids() -> tuple[str, ...]:
    """Ids of the profiles that come with the product, sorted."""
    paths = PROFILES.glob(f"*{SUFFIX}")
    return tuple(sorted(p.name[: -len(SUFFIX)] for p in paths if SYSTEMS_SUFFIX not in p.name))


@cache
def load_profile(profile_id: str) -> Profile:
    """The profile of that id. Raises DataError naming file, key and range of the first fault."""
    if profile_id not in profile_ids():
        raise DataError(profile_id + SUFFIX, "id", f"no such profile; known: {profile_ids()}")
    reading = read_profile(PROFILES / (profile_id + SUFFIX))
    if reading.profile is None:
        raise reading.faults[0]
    return reading.profile


def read_profile(path: Path, *, systems_path: Path | None = None) -> FileReading:
    """Read a profile and its systems file completely; every fault in them is in the answer.

    The systems file is the one beside the profile unless `systems_path` names another.
    """
    beside = systems_path or path.with_name(path.name[: -len(SUFFIX)] + SYSTEMS_SUFFIX)
    content = path.read_bytes()
    try:
        table = tomllib.loads(content.decode())
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        return FileReading(profile=None, faults=(DataError(path.name, "file", str(error)),))
    own = read_own_sources(table.get(OWN_SOURCES, {}))
    reader = _Reader(file=path.name, faults=[], own=own)
    for key, problem in own.faults:
        reader.fault(key, problem)
    values = reader.profile_values(table)
    systems = read_systems_file(beside, own=own)
    reader.faults.extend(systems.faults)
    files = _operator_tables(path, table, values)
    reader.faults.extend(files.faults)
    if reader.faults or systems.systems is None:
        return FileReading(profile=None, faults=tuple(reader.faults))
    profile = Profile(
        **values,
        digest=_digest(content + files.content + beside.read_bytes()),
        systems=systems.systems,
        tables=files.tables,
        sources=own.sources,
    )
    faults = tuple(DataError(path.name, key, problem) for key, problem in _contradictions(profile))
    return FileReading(profile=None if faults else profile, faults=faults)


def _operator_tables(path: Path, table: Table, values: Mapping[str, Any]) -> Files:
    """The tables that the file names, none if it names none; as far as its own values are read."""
    detents, engine = values.get("detents"), values.get("engine")
    if OPERATOR_TABLES not in table or not detents or None in detents or engine is None:
        return NO_FILES
    return read_operator_tables(
        path,
        table[OPERATOR_TABLES],
        detents=[detent.id for detent in detents],
        engines=engine.count,
    )


def _digest(content: bytes) -> str:
    """SHA-256 over the profile, its tables and its systems file."""
    return hashlib.sha256(content).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Turns tables into values and notes what is wrong on the way."""

    file: str
    faults: list[DataError]
    own: OwnSources

    def fault(self, key: str, problem: str) -> object:
        """Note what is wrong; the value stays unread, hence None."""
        self.faults.append(DataError(self.file, key, problem))
        return None

    def profile_values(self, table: Table) -> dict[str, Any]:
        """Keyword arguments of `Profile`, as far as the file gives them."""
        hints = get_type_hints(Profile, include_extras=True)
        names = [f.name for f in fields(Profile) if f.name not in FIELDS_FROM_ELSEWHERE]
        header = self._header(table.get(HEADER, {}))
        allowed = {HEADER, OPERATOR_TABLES, OWN_SOURCES, *names}
        self._keys(table, allowed=allowed, required={HEADER, *names}, where="")
        return header | {n: self.member(hints[n], table[n], n) for n in names if n in table}

    def _header(self, table: object) -> dict[str, Any]:
        if not isinstance(table, dict):
            self.fault(HEADER, "must be a table")
            return {}
        self._keys(table, allowed={*HEADER_FIELDS}, required={*HEADER_FIELDS}, where=f"{HEADER}.")
        for name, value in table.items():
            if not isinstance(value, str):
                self.fault(f"{HEADER}.{name}", "must be text")
        return {name: table[name] for name in HEADER_FIELDS if name in table}

    def _keys(self, table: Table, *, allowed: set[str], required: set[str], where: str) -> None:
        for key in sorted(set(table) - allowed):
            self.fault(where + key, "unknown key")
        for key in sorted(required - set(table)):
            self.fault(where + key, "missing")

    def member(self, hint: object, entry: object, where: str) -> object:
        """A value of one field: a nested table, a table of rows, or a single cell."""
        if get_origin(hint) is tuple:
            if not isinstance(entry, list) or not entry:
                return self.fault(where, "must be an array of tables with at least one row")
            row = get_args(hint)[0]
            return tuple(self.row(row, e, f"{where}[{i}]") for i, e in enumerate(entry))
        if not isinstance(entry, dict):
            return self.fault(where, "must be a table { value, unit, source }")
        if isinstance(hint, type) and is_dataclass(hint):
            return self.section(hint, entry, where)
        return self.cell(hint, entry, where)

    def section(self, kind: type[Any], entry: Table, where: str) -> object:
        """A dataclass whose fields are cells, sections or rows."""
        hints = get_type_hints(kind, include_extras=True)
        self._keys(entry, allowed={*hints}, required={*hints}, where=f"{where}.")
        values = {n: self.member(hints[n], entry[n], f"{where}.{n}") for n in hints if n in entry}
        return kind(**values) if len(values) == len(hints) else None

    def row(self, kind: type[Any], entry: object, where: str) -> object:
        """A dataclass from one row: bare values with their unit in the key, and one source."""
        if not isinstance(entry, dict):
            return self.fault(where, "must be a table")
        hints = get_type_hints(kind, include_extras=True)
        required = {f.name for f in fields(kind) if f.default is MISSING} | {"source"}
        self._keys(entry, allowed={*hints, "source"}, required=required, where=f"{where}.")
        self._source(entry, where)
        present = [n for n in hints if n in entry]
        values = {n: self.plain(hints[n], entry[n], f"{where}.{n}") for n in present}
        return kind(**values) if required <= {*entry} else None

    def cell(self, hint: object, entry: Table, where: str) -> object:
        """A single sourced value with its unit."""
        limits = range_of(hint)
        keys = {"value", "source"} | ({"unit"} if limits else set())
        self._keys(entry, allowed=keys | {"note"}, required=keys, where=f"{where}.")
        self._source(entry, where)
        if limits and "unit" in entry and entry["unit"] != limits.unit:
            self.fault(f"{where}.unit", f"is {entry['unit']!r}; must be {limits.unit!r}")
        return self.plain(hint, entry["value"], where) if "value" in entry else None

    def _source(self, entry: Table, where: str) -> None:
        key = entry.get("source", "")
        if not isinstance(key, str) or not self.own.known(key):
            self.fault(f"{where}.source", f"{key!r} is not in the bibliography")

    def plain(self, hint: object, value: object, where: str) -> object:
        """A bare value of the type and in the range that the field demands."""
        limits, kind = range_of(hint), kind_of(hint)
        if issubclass(kind, StrEnum):
            return self._word(kind, value, where)
        accepted = (int, float) if kind is float else (kind,)
        if type(value) not in accepted:
            return self.fault(where, f"is {value!r}; must be of type {kind.__name__}")
        if limits and isinstance(value, int | float) and not limits.low <= value <= limits.high:
            span = f"{limits.low:g} to {limits.high:g} {limits.unit}"
            return self.fault(where, f"is {value:g}; must be {span}")
        return float(value) if kind is float and isinstance(value, int) else value

    def _word(self, kind: type[StrEnum], value: object, where: str) -> object:
        words = [member.value for member in kind]
        if value not in words:
            return self.fault(where, f"is {value!r}; must be one of {', '.join(words)}")
        return kind(value)


def _contradictions(profile: Profile) -> Iterator[tuple[str, str]]:
    """Values that are each possible but not together."""
    m = profile.masses
    if not m.oew_kg < m.mzfw_kg <= m.mlw_kg <= m.mtow_kg:
        yield "masses", "must satisfy oew_kg < mzfw_kg <= mlw_kg <= mtow_kg"
    yield from _wrong_detents(profile)
    yield from _wrong_engines(profile)
    if sorted(row.of for row in profile.accuracy) != sorted(AccuracyOf):
        yield "accuracy", f"must have one row for each of {', '.join(AccuracyOf)}"
    if sorted(row.state for row in profile.ordinary) != sorted(OrdinaryOf):
        yield "ordinary", f"must have one row for each of {', '.join(OrdinaryOf)}"
    codes = [row.condition_code for row in profile.wind.crosswind]
    if sorted(codes) != list(range(1, 7)):
        yield "wind.crosswind", "must have one row for each condition code 1 to 6"


def _wrong_detents(profile: Profile) -> Iterator[tuple[str, str]]:
    ids = [detent.id for detent in profile.detents]
    deflections = [detent.deflection_deg for detent in profile.detents]
    if len(set(ids)) < len(ids) or deflections != sorted(set(deflections)):
        yield "detents", "ids must be unique and deflections must increase"
    if deflections[0] != 0.0:
        yield "detents[0].deflection_deg", "must be 0: the first detent is flaps up"
    a = profile.approach
    named = (a.landing_detent, a.approach_detent, a.go_around_detent, a.second_segment_detent)
    for detent in (*named, profile.slats.out_from_detent):
        if detent not in ids:
            yield "approach", f"names the flap detent {detent!r}, which is not in detents"


def _wrong_engines(profile: Profile) -> Iterator[tuple[str, str]]:
    """The systems file is of the same aircraft."""
    count, systems = profile.engine.count, profile.systems
    if count != len(systems.engines):
        named = ", ".join(systems.engines) or "none"
        yield "engine.count", f"is {count}; the engines of the systems file are {named}"
    if systems.reversers > count:
        yield "engine.count", f"is {count}; the systems file has {systems.reversers} reversers"
