"""Reads and checks `data/profiles/<id>.systems.toml`: the one door to an aircraft's systems.

The file is rows: `[[node]]` (what feeds what) and `[[failure]]` (the catalogue). Each row has one
`source`; an effect in it may have its own. The first fault found is raised.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, TypeVar, get_type_hints

from decision.citations import DATA, source
from decision.errors import DataError, OutOfRange
from decision.profile.systems_checks import check
from decision.profile.systems_effects import EFFECTS, Effect
from decision.profile.systems_model import (
    CatalogueEntry,
    FailureGroup,
    Need,
    Node,
    NodeKind,
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
    {"id", "group", "ata", "title", "gear", "effects", "source", "note"}
)
NEED_FORMS: Final = (frozenset({"all_of"}), frozenset({"any_of"}), frozenset({"k", "k_of"}))

Row = Mapping[str, Any]
Word = TypeVar("Word", bound=StrEnum)
Named = TypeVar("Named", Node, CatalogueEntry)


@cache
def load_systems(profile_id: str) -> SystemsData:
    """The systems of a profile, cached. Raises: as `read_systems`."""
    return read_systems(PROFILES / f"{profile_id}{SUFFIX}")


def read_systems(path: Path) -> SystemsData:
    """The systems in one file.

    Raises: DataError naming file and key on a missing file, a malformed row, an unknown or
    repeated id, a cycle, a node that nothing can reach, a wrong type or a value out of range.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise DataError(path.name, "file", str(error)) from error
    reader = _Reader(file=path.name)
    reader.keys(table, frozenset({"node", "failure"}), where="file")
    nodes = reader.by_id([reader.node(row) for row in reader.rows(table, "node")], "node")
    entries = [reader.failure(row) for row in reader.rows(table, "failure")]
    systems = SystemsData(
        nodes=MappingProxyType(reader.inputs_first(nodes)),
        catalogue=MappingProxyType(reader.by_id(entries, "failure")),
    )
    for key, problem in check(systems):
        raise DataError(path.name, key, problem)
    return systems


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """Turns rows of one file into values; every fault names the file and the row."""

    file: str

    def rows(self, table: Row, name: str) -> list[Row]:
        rows = table.get(name)
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise DataError(self.file, name, "must be an array of tables")
        return rows

    def keys(self, row: Row, known: frozenset[str], *, where: str) -> None:
        if unknown := sorted(set(row) - known):
            problem = f"unknown key; accepted: {', '.join(sorted(known))}"
            raise DataError(self.file, f"{where}.{unknown[0]}", problem)

    def node(self, row: Row) -> Node:
        where = f"node.{self.id(row, 'node')}"
        self.keys(row, NODE_KEYS, where=where)
        origin = self.source(row, where)
        return Node(
            id=row["id"],
            kind=self.word(NodeKind, row.get("kind"), f"{where}.kind"),
            title=self.text(row, "title", where),
            need=self.need(row.get("needs"), f"{where}.needs"),
            backup=self.need(row.get("backup"), f"{where}.backup"),
            when_lost=self.effects(row.get("when_lost", []), origin, f"{where}.when_lost"),
            when_degraded=self.effects(
                row.get("when_degraded", []), origin, f"{where}.when_degraded"
            ),
            source=origin,
            note=self.text(row, "note", where) if "note" in row else "",
        )

    def failure(self, row: Row) -> CatalogueEntry:
        where = f"failure.{self.id(row, 'failure')}"
        self.keys(row, FAILURE_KEYS, where=where)
        origin = self.source(row, where)
        ata = self.text(row, "ata", where)
        if not ATA_CHAPTER.fullmatch(ata):
            raise DataError(self.file, f"{where}.ata", f"is {ata!r}; must be a two-digit chapter")
        gear = row.get("gear", [position.value for position in GearPosition])
        return CatalogueEntry(
            id=row["id"],
            group=self.word(FailureGroup, row.get("group"), f"{where}.group"),
            ata=ata,
            title=self.text(row, "title", where),
            gear=tuple(
                self.word(GearPosition, item, f"{where}.gear")
                for item in self.texts(gear, f"{where}.gear")
            ),
            effects=self.effects(row.get("effects"), origin, f"{where}.effects"),
            source=origin,
            note=self.text(row, "note", where) if "note" in row else "",
        )

    def id(self, row: Row, table: str) -> str:
        value = row.get("id")
        if not isinstance(value, str) or not ID.fullmatch(value):
            raise DataError(self.file, table, f"id is {value!r}; must be small-letters-and-hyphens")
        return value

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
        try:
            return source(key).key
        except DataError as error:
            problem = f"{key!r} is not in the bibliography"
            raise DataError(self.file, f"{where}.source", problem) from error

    def need(self, entry: object, where: str) -> Need | None:
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
            return Need(k=k, of=of)
        except ValueError as error:
            raise DataError(self.file, f"{where}.k", str(error)) from error

    def effects(self, value: object, origin: str, where: str) -> tuple[Effect, ...]:
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise DataError(self.file, where, "must be a list of tables")
        return tuple(self.effect(item, origin, f"{where}[{i}]") for i, item in enumerate(value))

    def effect(self, row: Row, origin: str, where: str) -> Effect:
        """One effect; its class says which further keys the row has, and of which type."""
        kind = EFFECTS.get(row.get("kind", ""))
        if kind is None:
            problem = f"is {row.get('kind')!r}; must be one of {', '.join(EFFECTS)}"
            raise DataError(self.file, f"{where}.kind", problem)
        names = [field.name for field in fields(kind) if field.name != "source"]
        self.keys(row, frozenset({"kind", "source", *names}), where=where)
        hints = get_type_hints(kind)
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
                raise DataError(self.file, f"{table}.{item.id}", "appears twice")
        return found

    def inputs_first(self, nodes: Mapping[str, Node]) -> dict[str, Node]:
        """The nodes in an order in which each comes after all that it draws on."""
        for node in nodes.values():
            for unknown in sorted(set(node.inputs) - set(nodes)):
                raise DataError(self.file, f"node.{node.id}", f"draws on unknown node {unknown!r}")
        sorter = TopologicalSorter({node.id: node.inputs for node in nodes.values()})
        try:
            return {id_: nodes[id_] for id_ in sorter.static_order()}
        except CycleError as error:
            problem = f"cycle: {' -> '.join(error.args[1])}"
            raise DataError(self.file, f"node.{error.args[1][0]}", problem) from error
