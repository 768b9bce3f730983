"""Reads and checks `data/profiles/<id>.systems.toml`: the one door to an aircraft's systems.

The file is rows: `[[node]]` (what feeds what) and `[[failure]]` (the catalogue). Each row has one
`source`; an effect in it may have its own. Everything wrong with the rows is found in one pass;
what they contradict each other in is looked for once each is right by itself.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, dataclass, fields
from enum import StrEnum
from functools import cache, partial
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, TypeVar, get_type_hints

from decision.citations import DATA
from decision.errors import DataError, OutOfRange
from decision.profile.own_sources import NO_OWN_SOURCES, OwnSources
from decision.profile.systems_checks import check
from decision.profile.systems_effects import EFFECTS, Effect
from decision.profile.systems_model import (
    CatalogueEntry,
    FailureGroup,
    Node,
    NodeKind,
    SupplyNeed,
    SystemsData,
)
from decision.quantities import GearPosition

PROFILES: Final = DATA / "profiles"
SUFFIX: Final = ".systems.toml"
ID: Final = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
ATA_CHAPTER: Final = re.compile(r"\d\d")
NODE_KEYS: Final = frozenset(
    {"id", "kind", "title", "needs", "backup", "when_lost", "when_degraded", "source", "note"}
)
FAILURE_KEYS: Final = frozenset(
    {
        "id",
        "group",
        "ata",
        "title",
        "gear",
        "effects",
        "source",
        "note",
        "nature",
        "dispatch",
        "cabin",
    }
)
NEED_FORMS: Final = (frozenset({"all_of"}), frozenset({"any_of"}), frozenset({"k", "k_of"}))

Row = Mapping[str, Any]
Word = TypeVar("Word", bound=StrEnum)
Named = TypeVar("Named", Node, CatalogueEntry)
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemsReading:
    """What came out of a file: the systems, or everything that is wrong with them."""

    systems: SystemsData | None
    faults: tuple[DataError, ...]


@cache
def load_systems(profile_id: str) -> SystemsData:
    """The systems of a profile, cached. Raises: as `read_systems`."""
    return read_systems(PROFILES / f"{profile_id}{SUFFIX}")


def read_systems(path: Path) -> SystemsData:
    """The systems in one file. Raises: DataError, the first fault of `read_systems_file`."""
    reading = read_systems_file(path)
    if reading.systems is None:
        raise reading.faults[0]
    return reading.systems


def read_systems_file(path: Path, *, own: OwnSources = NO_OWN_SOURCES) -> SystemsReading:
    """Read one file completely; `own` are sources beside those of the product.

    A fault names file and key: a missing file, a malformed row, an unknown or repeated id, a
    cycle, a node that nothing can reach, a wrong type or a value out of range.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        return SystemsReading(systems=None, faults=(DataError(path.name, "file", str(error)),))
    reader = _Reader(file=path.name, faults=[], own=own)
    systems = reader.systems(table)
    if systems is not None:
        reader.faults.extend(DataError(path.name, key, text) for key, text in check(systems))
    whole = None if reader.faults else systems
    return SystemsReading(systems=whole, faults=tuple(reader.faults))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Turns rows of one file into values.

    What reads a single value raises the fault in it; what puts several together tries each of
    them, notes the faults, and is None if there was one.
    """

    file: str
    faults: list[DataError]
    own: OwnSources

    def tried(self, read: Callable[[], Value]) -> Value | None:
        """What is read, or None with its fault noted."""
        try:
            return read()
        except DataError as fault:
            self.faults.append(fault)
            return None

    def all_of(self, parts: Mapping[str, Callable[[], object]]) -> dict[str, Any] | None:
        """Every part, or None if any of them has a fault."""
        before = len(self.faults)
        values = {name: self.tried(read) for name, read in parts.items()}
        return values if len(self.faults) == before else None

    def systems(self, table: Row) -> SystemsData | None:
        self.keys(table, frozenset({"node", "failure"}), where="file")
        nodes = [self.node(row) for row in self.rows(table, "node")]
        entries = [self.failure(row) for row in self.rows(table, "failure")]
        by_id = self.by_id([node for node in nodes if node], "node")
        catalogue = self.by_id([entry for entry in entries if entry], "failure")
        ordered = None if self.faults else self.inputs_first(by_id)
        if ordered is None:
            return None
        return SystemsData(nodes=MappingProxyType(ordered), catalogue=MappingProxyType(catalogue))

    def rows(self, table: Row, name: str) -> list[Row]:
        rows = table.get(name)
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self.faults.append(DataError(self.file, name, "must be an array of tables"))
            return []
        return rows

    def keys(self, row: Row, known: frozenset[str], *, where: str) -> None:
        """Note every key that the row must not have."""
        accepted = f"unknown key; accepted: {', '.join(sorted(known))}"
        unknown = sorted(set(row) - known)
        self.faults.extend(DataError(self.file, f"{where}.{key}", accepted) for key in unknown)

    def node(self, row: Row) -> Node | None:
        where = self.place(row, "node")
        self.keys(row, NODE_KEYS, where=where)
        parts = self.all_of(
            {
                "id": lambda: self.id(row, "node"),
                "source": lambda: self.source(row, where),
                "kind": lambda: self.word(NodeKind, row.get("kind"), f"{where}.kind"),
                "title": lambda: self.text(row, "title", where),
                "need": lambda: self.need(row.get("needs"), f"{where}.needs"),
                "backup": lambda: self.need(row.get("backup"), f"{where}.backup"),
                "when_lost": lambda: self.effects(row, "when_lost", where),
                "when_degraded": lambda: self.effects(row, "when_degraded", where),
                "note": lambda: self.note(row, where),
            }
        )
        return None if parts is None else Node(**parts)

    def failure(self, row: Row) -> CatalogueEntry | None:
        where = self.place(row, "failure")
        self.keys(row, FAILURE_KEYS, where=where)
        parts = self.all_of(
            {
                "id": lambda: self.id(row, "failure"),
                "source": lambda: self.source(row, where),
                "ata": lambda: self.chapter(row, where),
                "group": lambda: self.word(FailureGroup, row.get("group"), f"{where}.group"),
                "title": lambda: self.text(row, "title", where),
                "gear": lambda: self.gear(row, f"{where}.gear"),
                "effects": lambda: self.effects(row, "effects", where, required=True),
                "note": lambda: self.note(row, where),
                "nature": lambda: self.nature(row, where),
                "dispatch": lambda: self.sentence(row, "dispatch", where),
                "cabin": lambda: self.sentence(row, "cabin", where),
            }
        )
        return None if parts is None else CatalogueEntry(**parts)

    def place(self, row: Row, table: str) -> str:
        """How faults of a row name it: by its id, if it has one."""
        return f"{table}.{row.get('id', '?')}"

    def id(self, row: Row, table: str) -> str:
        value = row.get("id")
        if not isinstance(value, str) or not ID.fullmatch(value):
            raise DataError(self.file, table, f"id is {value!r}; must be small-letters-and-hyphens")
        return value

    def chapter(self, row: Row, where: str) -> str:
        ata = self.text(row, "ata", where)
        if not ATA_CHAPTER.fullmatch(ata):
            raise DataError(self.file, f"{where}.ata", f"is {ata!r}; must be a two-digit chapter")
        return ata

    def gear(self, row: Row, where: str) -> tuple[GearPosition, ...]:
        """The gear positions in which a failure can occur; all of them if it names none."""
        words = row.get("gear", [position.value for position in GearPosition])
        return tuple(self.word(GearPosition, word, where) for word in self.texts(words, where))

    def note(self, row: Row, where: str) -> str:
        return self.text(row, "note", where) if "note" in row else ""

    def nature(self, row: Row, where: str) -> str:
        """Words that stand after a call sign, between commas."""
        words = self.text(row, "nature", where)
        if words.endswith("."):
            raise DataError(self.file, f"{where}.nature", f"is {words!r}; must have no full stop")
        return words

    def sentence(self, row: Row, key: str, where: str) -> str:
        """Words that stand by themselves among others."""
        words = self.text(row, key, where)
        if not words.endswith("."):
            raise DataError(self.file, f"{where}.{key}", f"is {words!r}; must end in a full stop")
        return words

    def text(self, row: Row, key: str, where: str) -> str:
        value = row.get(key)
        if not isinstance(value, str) or not value.strip():
            raise DataError(self.file, f"{where}.{key}", f"is {value!r}; must be text")
        return value

    def texts(self, value: object, where: str) -> tuple[str, ...]:
        if not isinstance(value, list) or not value or not all(isinstance(v, str) for v in value):
            raise DataError(self.file, where, f"is {value!r}; must be a list of words")
        if len(set(value)) < len(value):
            raise DataError(self.file, where, f"repeats a word: {value!r}")
        return tuple(value)

    def word(self, kind: type[Word], value: object, where: str) -> Word:
        words = [member.value for member in kind]
        if value not in words:
            raise DataError(self.file, where, f"is {value!r}; must be one of {', '.join(words)}")
        return kind(value)

    def source(self, row: Row, where: str) -> str:
        key = self.text(row, "source", where)
        if not self.own.known(key):
            problem = f"{key!r} is not in the bibliography"
            raise DataError(self.file, f"{where}.source", problem)
        return key

    def need(self, entry: object, where: str) -> SupplyNeed | None:
        if entry is None:
            return None
        if not isinstance(entry, dict) or frozenset(entry) not in NEED_FORMS:
            raise DataError(self.file, where, "must be {all_of}, {any_of} or {k, k_of}")
        name = next(key for key in entry if key != "k")
        of = self.texts(entry[name], f"{where}.{name}")
        k = {"all_of": len(of), "any_of": 1}.get(name, entry.get("k"))
        if type(k) is not int:
            raise DataError(self.file, f"{where}.k", f"is {k!r}; must be a whole number")
        try:
            return SupplyNeed(k=k, of=of)
        except ValueError as error:
            raise DataError(self.file, f"{where}.k", str(error)) from error

    def effects(
        self, row: Row, name: str, where: str, *, required: bool = False
    ) -> tuple[Effect | None, ...]:
        value = row.get(name, None if required else [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise DataError(self.file, f"{where}.{name}", "must be a list of tables")
        origin = row.get("source")
        places = [f"{where}.{name}[{number}]" for number in range(len(value))]
        reads = [
            partial(self.effect, each, origin, place)
            for each, place in zip(value, places, strict=True)
        ]
        return tuple(self.tried(read) for read in reads)

    def effect(self, row: Row, origin: object, where: str) -> Effect:
        """One effect; its class says which further keys the row has, and of which type.

        `origin` is the source of the row that it stands in, which is checked there.
        """
        name = row.get("kind")
        kind = EFFECTS.get(name) if isinstance(name, str) else None
        if kind is None:
            problem = f"is {name!r}; must be one of {', '.join(EFFECTS)}"
            raise DataError(self.file, f"{where}.kind", problem)
        own = [field for field in fields(kind) if field.name != "source"]
        self.keys(row, frozenset({"kind", "source", *(f.name for f in own)}), where=where)
        hints = get_type_hints(kind)
        names = [f.name for f in own if f.name in row or f.default is MISSING]
        values: dict[str, Any] = {n: self.cell(hints[n], row, n, where) for n in names}
        values["source"] = self.source(row, where) if "source" in row else origin
        try:
            return kind(**values)
        except (OutOfRange, ValueError) as error:
            raise DataError(self.file, where, str(error)) from error

    def cell(self, hint: type[Any], row: Row, key: str, where: str) -> str | float:
        if hint is str:
            return self.text(row, key, where)
        if hint is float:
            return self.number(row.get(key), f"{where}.{key}")
        word: StrEnum = self.word(hint, row.get(key), f"{where}.{key}")
        return word

    def number(self, value: object, where: str) -> float:
        if type(value) not in (int, float) or not math.isfinite(value):  # type: ignore[arg-type]
            raise DataError(self.file, where, f"is {value!r}; must be a number")
        return float(value)  # type: ignore[arg-type]

    def by_id(self, items: Iterable[Named], table: str) -> dict[str, Named]:
        found: dict[str, Named] = {}
        for item in items:
            if found.setdefault(item.id, item) is not item:
                self.faults.append(DataError(self.file, f"{table}.{item.id}", "appears twice"))
        return found

    def inputs_first(self, nodes: Mapping[str, Node]) -> dict[str, Node] | None:
        """The nodes in an order in which each comes after all that it draws on."""
        for node in nodes.values():
            for unknown in sorted(set(node.inputs) - set(nodes)):
                problem = f"draws on unknown node {unknown!r}"
                self.faults.append(DataError(self.file, f"node.{node.id}", problem))
        if self.faults:
            return None
        sorter = TopologicalSorter({node.id: node.inputs for node in nodes.values()})
        try:
            return {id_: nodes[id_] for id_ in sorter.static_order()}
        except CycleError as error:
            problem = f"cycle: {' -> '.join(error.args[1])}"
            self.faults.append(DataError(self.file, f"node.{error.args[1][0]}", problem))
            return None
