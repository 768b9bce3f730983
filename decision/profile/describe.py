"""What a profile file has to say, read off the dataclasses of `types`: tables, keys, units, ranges.

The loader checks with it, the page of the format is written from it, so the three cannot differ.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, is_dataclass
from enum import StrEnum
from types import NoneType, UnionType
from typing import Any, Final, Union, get_args, get_origin, get_type_hints

from decision.profile.meanings import MEANING
from decision.profile.types import Profile, Range

HEADER: Final = "profile"  # the table that names the file itself: id, version, title
HEADER_FIELDS: Final = ("id", "version", "title")
FIELDS_FROM_ELSEWHERE: Final = (*HEADER_FIELDS, "digest", "systems", "tables", "sources")


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: its meaning, what its value may be, and its unit (none for words and flags)."""

    name: str
    unit: str
    accepted: str
    optional: bool
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table, or with `rows` an array of tables, and what it is for."""

    name: str
    meaning: str
    rows: bool
    keys: tuple[Key, ...]


def tables() -> tuple[Table, ...]:
    """Every table of the format, in the order of a profile."""
    return tuple(_tables(Profile, prefix=""))


def _tables(kind: type[Any], *, prefix: str) -> Iterator[Table]:
    """The tables inside a dataclass, each followed by those inside itself."""
    for name, hint in get_type_hints(kind, include_extras=True).items():
        inner = table_kind(hint)
        if inner is None or name in FIELDS_FROM_ELSEWHERE:
            continue
        where = prefix + name
        yield Table(
            name=where,
            meaning=inspect.getdoc(inner) or "",
            rows=get_origin(hint) is tuple,
            keys=tuple(_keys(inner, table=where)),
        )
        yield from _tables(inner, prefix=f"{where}.")


def _keys(kind: type[Any], *, table: str) -> Iterator[Key]:
    hints = get_type_hints(kind, include_extras=True)
    for field in fields(kind):
        hint = hints[field.name]
        if table_kind(hint) is None:
            limits = range_of(hint)
            yield Key(
                name=field.name,
                unit=limits.unit if limits else "",
                accepted=f"{limits.low:g} to {limits.high:g}" if limits else _words(kind_of(hint)),
                optional=field.default is not MISSING,
                meaning=MEANING[f"{table}.{field.name}"],
            )


def _words(kind: type[Any]) -> str:
    """What a value without a unit may be."""
    if issubclass(kind, StrEnum):
        return ", ".join(member.value for member in kind)
    return "true or false" if kind is bool else "text"


def table_kind(hint: object) -> type[Any] | None:
    """The dataclass behind a table or an array of tables; None for a plain value."""
    inner = get_args(hint)[0] if get_origin(hint) is tuple else hint
    return inner if isinstance(inner, type) and is_dataclass(inner) else None


def range_of(hint: object) -> Range | None:
    """The `Range` in `Annotated[float, Range]` or `Annotated[float, Range] | None`."""
    metadata = getattr(_present(hint), "__metadata__", ())
    return next((each for each in metadata if isinstance(each, Range)), None)


def kind_of(hint: object) -> type[Any]:
    """The bare type behind an annotation."""
    arm = _present(hint)
    kind = getattr(arm, "__origin__", arm)
    return kind if isinstance(kind, type) else object


def _present(hint: object) -> object:
    """The arm of an optional annotation that is not None."""
    if get_origin(hint) in (Union, UnionType):
        return next(arm for arm in get_args(hint) if arm is not NoneType)
    return hint
