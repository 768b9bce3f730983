"""A rulebook: the figures, words and clauses of one set of operating rules, as cited data.

A row of data/rulebooks/*.toml is a value with its unit, the source key, the clause, how well the
project knows it (confidence) and how strongly it binds (force). A row without a value is either a
clause (duties in words) or a figure that this rulebook does not have: `number` then raises, so a
rule asks `number_or_none` where the rulebooks differ. Every rulebook has the same rows. A row that
is there to be read by people and by no rule says so (reference).
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Annotated, Final

from decision.case import Case
from decision.citations import DATA, Confidence, source
from decision.errors import DataError
from decision.fields import about
from decision.units import FT_PER_NM, PERCENT
from decision.weather.use import Reading

RULEBOOKS: Final = DATA / "rulebooks"
SUFFIX: Final = ".toml"
READING_ROW: Final = "forecast_reading"
ASSUMED_KEY: Final = "ASSUMED"
OPTIONAL: Final = frozenset({"value", "edition", "reference"})

Value = float | str | bool | None


class Unit(StrEnum):
    """Unit of a row as printed in the rule; the last three are not figures."""

    FT = "ft"
    M = "m"
    MIN = "min"
    H = "h"
    KG = "kg"
    PERCENT = "percent"
    FT_PER_NM = "ft/NM"
    RATIO = "ratio"
    COUNT = "count"
    DEGREES = "degrees"
    WORD = "word"
    FLAG = "flag"
    CLAUSE = "clause"


class Force(StrEnum):
    """How strongly a row binds."""

    RULE = "rule"
    GUIDANCE = "guidance"
    POLICY = "policy"


MOST: Final[Mapping[Unit, float]] = MappingProxyType(  # sanity of the data files, zero to this
    {
        Unit.FT: 45_000.0,
        Unit.M: 20_000.0,
        Unit.MIN: 600.0,
        Unit.H: 24.0,
        Unit.KG: 1_000_000.0,
        Unit.PERCENT: 100.0,
        Unit.FT_PER_NM: 1_000.0,
        Unit.RATIO: 10.0,
        Unit.COUNT: 1_000.0,
        Unit.DEGREES: 90.0,
    }
)
MARKS: Final[Mapping[Confidence, str]] = MappingProxyType(
    {
        Confidence.FOUND: "",
        Confidence.DERIVED: " (derived)",
        Confidence.QUOTED: " (as quoted)",
        Confidence.MEMORY: " (from memory, verify)",
        Confidence.ASSUMED: " (assumed)",
    }
)
BEST_FIRST: Final = (Confidence.FOUND, Confidence.QUOTED, Confidence.MEMORY)


@dataclass(frozen=True, slots=True, kw_only=True)
class RulebookRow:
    """One entry of a rulebook; `text` is a short paraphrase for people.

    `reference`: nothing reads the value; it is stated for people.
    """

    name: Annotated[str, about("What rules ask for it by.")]
    value: Annotated[Value, about("Its figure, word or flag; null: a clause, or there is none.")]
    unit: Annotated[Unit, about("What the value is in.")]
    cite: Annotated[str, about("Key of the source.")]
    clause: Annotated[str, about("Where in the source.")]
    edition: Annotated[str | None, about("Edition, where it is another than the source's.")]
    confidence: Annotated[Confidence, about("How well the project knows it.")]
    force: Annotated[Force, about("How strongly it binds.")]
    text: Annotated[str, about("Short paraphrase for people.")]
    reference: Annotated[bool, about("Whether it is for people alone: no rule reads it.")] = False

    @property
    def citation(self) -> str:
        """Source key and clause, marked where the text itself was not read."""
        return f"[{self.cite}] {self.clause}{MARKS[self.confidence]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rulebook:
    """The rows of one set of rules; equal and hashed by the digest of its file."""

    id: Annotated[str, about("Its name in requests and addresses.")]
    version: Annotated[str, about("Its version.")]
    title: Annotated[str, about("What it is, in words.")]
    digest: Annotated[str, about("SHA-256 of its file, in hexadecimal.")]
    rows: Annotated[Mapping[str, RulebookRow], about("Its rows by name.")] = field(
        compare=False, repr=False
    )

    def __hash__(self) -> int:
        return hash(self.digest)

    def row(self, name: str) -> RulebookRow:
        """The row of that name. Raises DataError when there is none."""
        try:
            return self.rows[name]
        except KeyError:
            raise DataError(self.id + SUFFIX, name, "no such row") from None

    @property
    def reading(self) -> Reading:
        """How the change groups of a forecast are read."""
        return Reading(self.word(READING_ROW))

    def number_or_none(self, name: str) -> float | None:
        """The figure of a row, or None where this rulebook has none. Raises DataError on a word."""
        row = self.row(name)
        if row.unit not in MOST:
            raise DataError(self.id + SUFFIX, name, f"is a {row.unit}, not a figure")
        return row.value if isinstance(row.value, float) else None

    def number(self, name: str) -> float:
        """The figure of a row. Raises DataError when this rulebook has none."""
        row = self.rows.get(name)
        if row is not None and type(row.value) is float and row.unit in MOST:
            return row.value  # all but always: rules ask for some four hundred in a decision
        value = self.number_or_none(name)
        if value is None:
            raise DataError(self.id + SUFFIX, name, "this rulebook has no figure for it")
        return value

    def word(self, name: str) -> str:
        """The word of a row. Raises DataError when it is not one."""
        value = self.row(name).value
        if not isinstance(value, str):
            raise DataError(self.id + SUFFIX, name, "is not a word")
        return value

    def flag(self, name: str) -> bool:
        """The yes or no of a row. Raises DataError when it is not one."""
        value = self.row(name).value
        if not isinstance(value, bool):
            raise DataError(self.id + SUFFIX, name, "is not a flag")
        return value

    def gradient_percent(self, name: str) -> float:
        """A gradient in percent, whether the rule prints percent or feet per nautical mile."""
        value, unit = self.number(name), self.row(name).unit
        return value / FT_PER_NM * PERCENT if unit is Unit.FT_PER_NM else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A case under a rulebook: what a rule may look at besides the thing it judges."""

    case: Case
    rulebook: Rulebook


@cache
def rulebook_ids() -> tuple[str, ...]:
    """Ids of the rulebooks that come with the product, sorted."""
    return tuple(sorted(path.stem for path in RULEBOOKS.glob(f"*{SUFFIX}")))


@cache
def load_rulebook(rulebook_id: str) -> Rulebook:
    """The rulebook of that id. Raises DataError when there is none or its file is wrong."""
    if rulebook_id not in rulebook_ids():
        known = ", ".join(rulebook_ids())
        raise DataError(rulebook_id + SUFFIX, "id", f"no such rulebook; known: {known}")
    return read_rulebook((RULEBOOKS / (rulebook_id + SUFFIX)).read_bytes(), rulebook_id=rulebook_id)


def read_rulebook(content: bytes, *, rulebook_id: str) -> Rulebook:
    """A rulebook from the bytes of its file. Raises DataError naming file, row and problem."""
    file = rulebook_id + SUFFIX
    try:
        table = tomllib.loads(content.decode())
        head = {key: str(table.pop(key)) for key in ("id", "version", "title")}
        rows = table.pop("rows")
    except (KeyError, ValueError) as error:
        raise DataError(file, "file", f"cannot be read: {error}") from error
    if head["id"] != rulebook_id or table:
        raise DataError(file, "file", f"id {head['id']!r}, unknown tables {sorted(table)}")
    read = MappingProxyType({name: _row(name, cells, file) for name, cells in rows.items()})
    digest = hashlib.sha256(content).hexdigest()
    return Rulebook(**head, digest=digest, rows=read)


def _row(name: str, cells: Mapping[str, object], file: str) -> RulebookRow:
    needed = {"unit", "cite", "clause", "confidence", "force", "text"}
    if needed - cells.keys() or cells.keys() - needed - OPTIONAL:
        raise DataError(file, name, f"needs {sorted(needed)}, has {sorted(cells)}")
    try:
        unit, force = Unit(str(cells["unit"])), Force(str(cells["force"]))
        confidence = Confidence(str(cells["confidence"]))
    except ValueError as error:
        raise DataError(file, name, str(error)) from error
    return RulebookRow(
        name=name,
        value=_value(cells.get("value"), unit, name, file),
        unit=unit,
        cite=_cite(str(cells["cite"]), confidence, name, file),
        clause=str(cells["clause"]),
        edition=str(cells["edition"]) if "edition" in cells else None,
        confidence=confidence,
        force=force,
        text=str(cells["text"]),
        reference=_flag(cells.get("reference", False), name, file),
    )


def _flag(value: object, name: str, file: str) -> bool:
    if isinstance(value, bool):
        return value
    raise DataError(file, name, f"reference {value!r} is not yes or no")


def _value(value: object, unit: Unit, name: str, file: str) -> Value:
    if unit in MOST:
        if value is None:
            return None
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if number and 0.0 <= float(str(value)) <= MOST[unit]:
            return float(str(value))
        raise DataError(file, name, f"{value!r} is not a figure from 0 to {MOST[unit]:g} {unit}")
    if unit is Unit.CLAUSE and value is None:
        return None
    if (unit is Unit.WORD and isinstance(value, str)) or (
        unit is Unit.FLAG and isinstance(value, bool)
    ):
        return value
    raise DataError(file, name, f"{value!r} does not go with the unit {unit}")


def _cite(key: str, confidence: Confidence, name: str, file: str) -> str:
    """The key, once it exists and the row does not claim to know more than its source does."""
    known = source(key).confidence
    if (confidence is Confidence.ASSUMED) != (key == ASSUMED_KEY):
        raise DataError(file, name, f"{confidence} cannot go with [{key}]")
    if confidence in BEST_FIRST and BEST_FIRST.index(confidence) < BEST_FIRST.index(known):
        raise DataError(file, name, f"{confidence}, but [{key}] is {known}")
    return key
