"""Rows of the CSV tables under data/tables: header and provenance are checked on every load.

Every row names a source of the bibliography and how well its figures are known, so that no cell of
a table stands without either. An empty cell is never a default: it raises or is None, as asked.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Final, TypeVar

from decision.citations import DATA, Confidence, source
from decision.errors import DataError

TABLES: Final = DATA / "tables"

Kind = TypeVar("Kind", bound=StrEnum)


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table; cells are read by column name and complain with file and line."""

    where: str
    cells: dict[str, str]

    def text(self, column: str) -> str:
        """The cell as it stands. Raises DataError if it is empty."""
        cell = self.cells[column]
        if not cell:
            raise DataError(self.where, column, "must not be empty")
        return cell

    def number(self, column: str) -> float:
        """The cell as a number. Raises DataError on anything else, an empty cell included."""
        cell = self.text(column)
        try:
            return float(cell)
        except ValueError:
            raise DataError(self.where, column, f"not a number: {cell!r}") from None

    def number_or_none(self, column: str) -> float | None:
        """The cell as a number, None if it is empty."""
        return self.number(column) if self.cells[column] else None

    def whole(self, column: str, *, low: int, high: int) -> int:
        """The cell as a whole number. Raises DataError on anything else or out of range."""
        cell = self.text(column)
        if not cell.isdecimal() or not low <= int(cell) <= high:
            raise DataError(self.where, column, f"must be a whole number from {low} to {high}")
        return int(cell)

    def kind(self, column: str, kinds: type[Kind]) -> Kind:
        """The cell as a member of an enumeration. Raises DataError on any other word."""
        try:
            return kinds(self.text(column))
        except ValueError:
            accepted = ", ".join(kinds)
            raise DataError(self.where, column, f"must be one of {accepted}") from None


def rows(name: str, *, columns: frozenset[str], folder: Path = TABLES) -> Iterator[Row]:
    """The rows of a table. Raises DataError on other columns, ragged rows or unknown provenance."""
    with (folder / name).open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        found = frozenset(reader.fieldnames or ())
        missing = (columns | {"source", "confidence"}) - found
        if missing:
            raise DataError(name, "header", f"lacks {', '.join(sorted(missing))}")
        for cells in reader:
            row = Row(f"{name} line {reader.line_num}", cells)
            if len(cells) != len(found) or None in cells.values():
                raise DataError(row.where, "row", "does not have as many cells as the header")
            _require_provenance(row)
            yield row


def _require_provenance(row: Row) -> None:
    key = row.text("source")
    try:
        source(key)
    except DataError:
        raise DataError(row.where, "source", f"{key!r} is not in the bibliography") from None
    row.kind("confidence", Confidence)
