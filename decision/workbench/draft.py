"""Write a draft profile: the text of another with some values replaced, comments and all kept.

Only the section of operator's tables is left out: they lie beside another file, and are what the
draft was fitted to or will be held against. Works on files in the style of those that come with the
product: one value a line. Read the draft back before trusting it; the command does.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from decision.profile.operator_tables_file import SECTION as OPERATOR_TABLES

SOURCE: Final = "FITTED"  # the key that a fitted value carries
DIGITS: Final = 5
_TABLE: Final = re.compile(r"^\[(?P<rows>\[?)(?P<name>[\w.]+)\]")
_KEY: Final = re.compile(r"^(?P<key>\w+) = ")
_UNIT: Final = re.compile(r'unit = "(?P<unit>[^"]*)"')
_ID: Final = re.compile(r'^id = "(?P<id>[^"]*)"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Replacement:
    """A new value, and a note that says how sure it is."""

    value: float
    note: str


def rounded(value: float) -> float:
    """A fitted value with the digits that it is written with."""
    return float(f"{value:.{DIGITS}g}")


def draft_text(
    start: str, *, profile_id: str, title: str, values: Mapping[str, Replacement]
) -> str:
    """The text with a new id and title, and new values by path: `polar.cd0`, `detents.12.cd0`."""
    return "\n".join(_lines(start, profile_id=profile_id, title=title, values=values)) + "\n"


def _lines(
    start: str, *, profile_id: str, title: str, values: Mapping[str, Replacement]
) -> Iterator[str]:
    header = {"profile.id": profile_id, "profile.version": "0.1.0", "profile.title": title}
    where, in_row = "", False
    for line in start.splitlines():
        if table := _TABLE.match(line):
            where, in_row = table["name"], bool(table["rows"])
        elif in_row and (row := _ID.match(line)):
            where = f"{where}.{row['id']}"
        if where == OPERATOR_TABLES:
            continue
        key = _KEY.match(line)
        path = f"{where}.{key['key']}" if key else ""
        if path in header:
            yield f"{path.partition('.')[2]} = {_text(header[path])}"
        elif path in values:
            yield from _replaced(line, path, values[path], in_row=in_row)
        else:
            yield line


def _replaced(line: str, path: str, new: Replacement, *, in_row: bool) -> Iterator[str]:
    """The line with its new value; a row has one source for all of it, so a comment says more."""
    name, value = path.rpartition(".")[2], f"{new.value:.{DIGITS}g}"
    if in_row:
        yield f"{name} = {value}  # [{SOURCE}] {' '.join(new.note.split())}"
        return
    unit = _UNIT.search(line)
    assert unit is not None, line  # noqa: S101 - a number of a checked profile has its unit
    yield (
        f'{name} = {{ value = {value}, unit = "{unit["unit"]}",'
        f' source = "{SOURCE}", note = {_text(new.note)} }}'
    )


def _text(words: str) -> str:
    """Words as a TOML string: JSON's escapes are among TOML's."""
    return json.dumps(words, ensure_ascii=False)
