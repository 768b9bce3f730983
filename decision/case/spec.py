"""A small vocabulary for describing the shape of a request as data; each shape checks a value.

One description serves three readers: `case_from_mapping` (the command line needs no HTTP), the
service's schemas, and the API document. Checking collects every fault, each with its JSON Pointer
and what would be accepted; it converts nothing, so "60000" is never taken for 60000.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final, Protocol

from decision.errors import Fault

# Years so far from the ends of the calendar that no arithmetic with days runs over them [ASSUMED].
RFC3339_UTC: Final = re.compile(
    r"(19|20|21)\d{2}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?(Z|\+00:00)"
)
SHOWN_LENGTH: Final = 60


class Spec(Protocol):
    """The shape of one value."""

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""

    def admits(self, value: object) -> bool:
        """Whether the value has the JSON type of this shape."""

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Every fault of a value; an empty tuple means it fits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """A finite number from low to high, both included."""

    low: float
    high: float
    unit: str = ""
    whole: bool = False

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        kind = "a whole number" if self.whole else "a number"
        return f"{kind} from {self.low:g} to {self.high:g}{' ' + self.unit if self.unit else ''}"

    def admits(self, value: object) -> bool:
        """Whether the value is a finite number; a boolean is not."""
        if isinstance(value, float):
            return math.isfinite(value)
        return isinstance(value, int) and not isinstance(value, bool)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Type, wholeness and range; 5.0 is whole, as JSON Schema has it."""
        if not self.admits(value) or (self.whole and value != int(value)):  # type: ignore[call-overload]
            return (_fault(self, value, pointer, "type"),)
        within = self.low <= value <= self.high  # type: ignore[operator]
        return () if within else (_fault(self, value, pointer, "range"),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A string of limited length, matching the whole pattern when there is one."""

    max_length: int
    min_length: int = 1
    pattern: str | None = None
    means: str = "text"

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        if self.min_length == self.max_length:
            return f"{self.means}, {self.max_length} characters"
        return f"{self.means}, {self.min_length} to {self.max_length} characters"

    def admits(self, value: object) -> bool:
        """Whether the value is a string."""
        return isinstance(value, str)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Type, length and pattern."""
        if not isinstance(value, str):
            return (_fault(self, value, pointer, "type"),)
        if not self.min_length <= len(value) <= self.max_length:
            return (_fault(self, value, pointer, "length"),)
        if self.pattern is not None and re.fullmatch(self.pattern, value) is None:
            return (_fault(self, value, pointer, "pattern"),)
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of a closed set of words."""

    values: tuple[str, ...]

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        return "one of " + ", ".join(f'"{value}"' for value in self.values)

    def admits(self, value: object) -> bool:
        """Whether the value is a string."""
        return isinstance(value, str)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Membership."""
        good = isinstance(value, str) and value in self.values
        return () if good else (_fault(self, value, pointer, "choice"),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """true or false, nothing that merely looks like it."""

    accepted: str = "true or false"

    def admits(self, value: object) -> bool:
        """Whether the value is a boolean."""
        return isinstance(value, bool)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Type."""
        return () if isinstance(value, bool) else (_fault(self, value, pointer, "type"),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Instant:
    """A moment in RFC 3339, in UTC."""

    accepted: str = "an RFC 3339 instant in UTC, 1900 to 2199, such as 2026-01-31T06:00:00Z"

    def admits(self, value: object) -> bool:
        """Whether the value is a string."""
        return isinstance(value, str)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Form and existence of the moment."""
        good = isinstance(value, str) and read_instant(value) is not None
        return () if good else (_fault(self, value, pointer, "instant"),)


@dataclass(frozen=True, slots=True, kw_only=True)
class ListOf:
    """A list of items of one shape."""

    item: Spec
    min_items: int = 0
    max_items: int

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        return f"a list of {self.min_items} to {self.max_items} items"

    def admits(self, value: object) -> bool:
        """Whether the value is a list."""
        return isinstance(value, list | tuple)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Type, length, then every item."""
        if not isinstance(value, list | tuple):
            return (_fault(self, value, pointer, "type"),)
        if not self.min_items <= len(value) <= self.max_items:
            return (_fault(self, value, pointer, "length"),)
        return tuple(
            fault
            for index, item in enumerate(value)
            for fault in self.item.faults(item, f"{pointer}/{index}")
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One member of a record; `default` is what is assumed, and listed, when it is absent."""

    name: str
    spec: Spec
    doc: str
    required: bool = False
    default: object = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """An object with known members; any other member is a fault."""

    name: str
    fields: tuple[Field, ...]
    accepted: str = "an object"
    by_name: Mapping[str, Field] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "by_name", {member.name: member for member in self.fields})

    def admits(self, value: object) -> bool:
        """Whether the value is an object."""
        return isinstance(value, Mapping)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Unknown members, then missing ones and the faults of each that is present."""
        if not isinstance(value, Mapping):
            return (_fault(self, value, pointer, "type"),)
        unknown = tuple(
            self._unknown(str(name), pointer) for name in value if name not in self.by_name
        )
        return unknown + tuple(
            fault for member in self.fields for fault in self._member(member, value, pointer)
        )

    def _unknown(self, name: str, pointer: str) -> Fault:
        return Fault(
            pointer=f"{pointer}/{escape(name)}",
            code="unknown_field",
            message=f"{self.name} has no field {name[:SHOWN_LENGTH]!r}",
            accepted=", ".join(self.by_name),
        )

    @staticmethod
    def _member(member: Field, value: Mapping[str, object], pointer: str) -> tuple[Fault, ...]:
        given = value.get(member.name)
        where = f"{pointer}/{member.name}"
        if given is not None:
            return member.spec.faults(given, where)
        if not member.required:
            return ()  # null says the same as leaving the member out
        return (
            Fault(
                pointer=where,
                code="required",
                message=f"{member.name} is required",
                accepted=member.spec.accepted,
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AnyOf:
    """A value of one of several JSON types; the type decides which shape applies."""

    choices: tuple[Spec, ...]

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""
        return " or ".join(choice.accepted for choice in self.choices)

    def admits(self, value: object) -> bool:
        """Whether any of the shapes has the value's type."""
        return any(choice.admits(value) for choice in self.choices)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """The faults under the shape that the value's type selects."""
        for choice in self.choices:
            if choice.admits(value):
                return choice.faults(value, pointer)
        return (_fault(self, value, pointer, "type"),)


def read_instant(text: str) -> datetime | None:
    """An RFC 3339 instant in UTC of the years 1900 to 2199, or None when it is not one."""
    if RFC3339_UTC.fullmatch(text) is None:
        return None
    try:
        at = datetime.fromisoformat(text)
    except ValueError:  # well formed but no such day or hour
        return None
    return at if at.utcoffset() == timedelta(0) else None


def escape(token: str) -> str:
    """One token of a JSON Pointer, escaped as RFC 6901 says."""
    return token.replace("~", "~0").replace("/", "~1")


def _fault(spec: Spec, value: object, pointer: str, code: str) -> Fault:
    return Fault(
        pointer=pointer,
        code=code,
        message=f"{shown(value)} is not accepted",
        accepted=spec.accepted,
    )


def shown(value: object) -> str:
    """A value in a form short enough for a message; containers by kind only."""
    match value:
        case Mapping():
            return "an object"
        case list() | tuple():
            return f"a list of {len(value)} items"
        case None | True | False:
            return {None: "null", True: "true", False: "false"}[value]
        case _:
            text = repr(value)
            return text if len(text) <= SHOWN_LENGTH else text[:SHOWN_LENGTH] + "..."
