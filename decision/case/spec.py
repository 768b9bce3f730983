"""A small vocabulary for the shape of a request as data; each shape checks a value and reads it.

The shapes are made of the types (`derive`) and serve three readers: `case_from_mapping` (the
command line needs no HTTP), the service's schemas, and the API document. Checking collects every
fault, each with its JSON Pointer and what would be accepted; it converts nothing, so "60000" is
never taken for 60000. Reading takes a checked value, and writes down every default that was used.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import Enum
from typing import Any, Final, Protocol

from msgspec import Struct

from decision.case.types import Assumption
from decision.errors import MAX_FAULTS, Fault, meant

# Years so far from the ends of the calendar that no arithmetic with days runs over them [ASSUMED].
RFC3339_UTC: Final = re.compile(
    r"(19|20|21)\d{2}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?(Z|\+00:00)"
)
SHOWN_LENGTH: Final = 60
UNKNOWN: Final = "unknown_field"


@dataclass(slots=True, kw_only=True)
class BodyReading:
    """What reading a body needs beside it, and what it finds.

    `finders` give the value that is meant where a body has no more than its name, by type;
    `supplied`, by pointer, what a body left out and something else says. `named`: the places that
    were found by their names alone.
    """

    finders: Mapping[type, Finder] = field(default_factory=dict)
    supplied: dict[str, object] = field(default_factory=dict)
    assumed: dict[str, Assumption] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    named: list[str] = field(default_factory=list)

    def assume(self, pointer: str, value: object) -> None:
        """Write a default down, once."""
        if pointer not in self.assumed:
            text = f"{pointer} not given: {value} assumed"
            self.assumed[pointer] = Assumption(field=pointer, value=value, text=text)


Finder = Callable[[Any, str, BodyReading], object]
"""From what a body says, where it says it, to the value that is meant."""


class Spec(Protocol):
    """The shape of one value."""

    @property
    def accepted(self) -> str:
        """What would be accepted, in words."""

    def admits(self, value: object) -> bool:
        """Whether the value has the JSON type of this shape."""

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Every fault of a value; an empty tuple means it fits."""

    def read(self, value: Any, pointer: str, reading: BodyReading) -> object:  # noqa: ANN401
        """What a value without faults means."""


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

    def read(self, value: Any, _pointer: str, _reading: BodyReading) -> object:  # noqa: ANN401
        """The number."""
        return int(value) if self.whole else float(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A string of limited length, matching the whole pattern when there is one."""

    max_length: int
    min_length: int = 1
    pattern: str | None = None
    means: str = "text"
    kind: type = str

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

    def read(self, value: Any, pointer: str, reading: BodyReading) -> object:  # noqa: ANN401
        """The text, or what it names."""
        if self.kind is str:
            return value
        return reading.finders[self.kind](value, pointer, reading)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of a closed set of words."""

    values: tuple[str, ...]
    kind: type[Enum] | type[str] = str

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

    def read(self, value: Any, _pointer: str, _reading: BodyReading) -> object:  # noqa: ANN401
        """The word."""
        return self.kind(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueOrFalse:
    """true or false, nothing that merely looks like it."""

    accepted: str = "true or false"

    def admits(self, value: object) -> bool:
        """Whether the value is a boolean."""
        return isinstance(value, bool)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Type."""
        return () if isinstance(value, bool) else (_fault(self, value, pointer, "type"),)

    def read(self, value: Any, _pointer: str, _reading: BodyReading) -> object:  # noqa: ANN401
        """As it is."""
        return value


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

    def read(self, value: Any, _pointer: str, _reading: BodyReading) -> object:  # noqa: ANN401
        """The moment. Raises: ValueError for one that the check should have refused."""
        at = read_instant(value)
        if at is None:
            raise ValueError(f"the shape let a wrong instant through: {value}")
        return at


@dataclass(frozen=True, slots=True, kw_only=True)
class ListOf:
    """A list of items of one shape."""

    item: Spec
    min_items: int = 0
    max_items: int
    kind: Callable[[Iterable[object]], object] = tuple

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
        faults: list[Fault] = []
        for index, item in enumerate(value):
            faults += self.item.faults(item, f"{pointer}/{index}")
        return tuple(faults)

    def read(self, value: Any, pointer: str, reading: BodyReading) -> object:  # noqa: ANN401
        """The items. Of their defaults one line a kind is told, except where an item is a place."""
        return self.kind(
            self.item.read(item, f"{pointer}/{'*' if self.alike else index}", reading)
            for index, item in enumerate(value)
        )

    @property
    def alike(self) -> bool:
        """Whether the index of an item adds nothing for a reader: a runway's, not a place's."""
        return isinstance(self.item, RecordSpec)


@dataclass(frozen=True, slots=True, kw_only=True)
class AnyObject:
    """An object of whatever members: what it is for says what they may be."""

    accepted: str = "an object"

    def admits(self, value: object) -> bool:
        """Whether the value is an object."""
        return isinstance(value, Mapping)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Type."""
        return () if self.admits(value) else (_fault(self, value, pointer, "type"),)

    def read(self, value: Any, _pointer: str, _reading: BodyReading) -> object:  # noqa: ANN401
        """As it is."""
        return value


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One member of a record; `default` is what is assumed, and listed, when it is absent.

    `supplied`: something else than the body says what an absent one is.
    """

    name: str
    spec: Spec
    doc: str
    required: bool = False
    supplied: bool = False
    default: object = None

    def read(self, value: Mapping[str, Any], pointer: str, reading: BodyReading) -> object:
        """The member of an object, its listed default, or None."""
        given = value.get(self.name)
        if given is None and self.default is None and not self.supplied:
            return None
        where = f"{pointer}/{self.name}"
        if given is not None:
            return self.spec.read(given, where, reading)
        default = reading.supplied.get(where) if self.supplied else self.default
        if default is None:
            return None
        if default not in ({}, ()):
            reading.assume(where, default)
        return self.spec.read(default, where, reading)


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldBeside:
    """A value whose members stand among those of the object that has it."""

    name: str
    record: RecordSpec

    def read(self, value: Mapping[str, Any], pointer: str, reading: BodyReading) -> object:
        """The value, of its own members."""
        return self.record.read(value, pointer, reading)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordSpec:
    """The object that a value of a type is written as; any other member is a fault."""

    name: str
    kind: type[Struct]
    members: tuple[Field | FieldBeside, ...]
    accepted: str = "an object"
    fields: tuple[Field, ...] = field(init=False)
    by_name: Mapping[str, Field] = field(init=False)

    def __post_init__(self) -> None:
        flat = tuple(each for member in self.members for each in _flat(member))
        object.__setattr__(self, "fields", flat)
        object.__setattr__(self, "by_name", {member.name: member for member in flat})

    def read(self, value: Any, pointer: str, reading: BodyReading) -> object:  # noqa: ANN401
        """The value, found where it may be meant and not described."""
        finder = reading.finders.get(self.kind)
        return (
            self.made(value, pointer, reading)
            if finder is None
            else finder(value, pointer, reading)
        )

    def made(self, value: Mapping[str, Any], pointer: str, reading: BodyReading) -> Any:  # noqa: ANN401
        """The value, of its members; its type is `kind`."""
        return self.kind(**{each.name: each.read(value, pointer, reading) for each in self.members})

    def admits(self, value: object) -> bool:
        """Whether the value is an object."""
        return isinstance(value, Mapping)

    def faults(self, value: object, pointer: str = "") -> tuple[Fault, ...]:
        """Unknown members, then missing ones and the faults of each that is present."""
        if not isinstance(value, Mapping):
            return (_fault(self, value, pointer, "type"),)
        faults = [self._unknown(str(name), pointer) for name in value if name not in self.by_name]
        for name, member in self.by_name.items():
            given = value.get(name)
            if given is not None:
                faults += member.spec.faults(given, f"{pointer}/{name}")
            elif member.required:  # of others null says the same as leaving the member out
                faults.append(_lacking(member, pointer))
        return tuple(faults)

    def _unknown(self, name: str, pointer: str) -> Fault:
        return Fault(
            pointer=f"{pointer}/{escape(name)}",
            code=UNKNOWN,
            message=f"{self.name} has no field {name[:SHOWN_LENGTH]!r}",
            accepted=", ".join(self.by_name),
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

    def read(self, value: Any, pointer: str, reading: BodyReading) -> object:  # noqa: ANN401
        """The value of the shape that its type selects; a name alone stands for an object of it."""
        shape = next(choice for choice in self.choices if choice.admits(value))
        if self.named is not None and shape is not self.named:
            value, shape = {self.named.fields[0].name: value}, self.named
        return shape.read(value, pointer, reading)

    @property
    def named(self) -> RecordSpec | None:
        """The object that may be written by its name alone."""
        records = [choice for choice in self.choices if isinstance(choice, RecordSpec)]
        return records[0] if records else None


def _lacking(member: Field, pointer: str) -> Fault:
    return Fault(
        pointer=f"{pointer}/{member.name}",
        code="required",
        message=f"{member.name} is required",
        accepted=member.spec.accepted,
    )


def _flat(member: Field | FieldBeside) -> tuple[Field, ...]:
    return member.record.fields if isinstance(member, FieldBeside) else (member,)


def read_instant(text: str) -> datetime | None:
    """An RFC 3339 instant in UTC of the years 1900 to 2199, or None when it is not one."""
    if RFC3339_UTC.fullmatch(text) is None:
        return None
    try:
        at = datetime.fromisoformat(text)
    except ValueError:  # well formed but no such day or hour
        return None
    return at if at.utcoffset() == timedelta(0) else None


def hinted(faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """The faults, and in those of unknown names which known one may be meant.

    Only in as many as are told: of thousands of unknown names each takes a search.
    """
    first, rest = faults[:MAX_FAULTS], faults[MAX_FAULTS:]
    return (*(_hinted(fault) if fault.code == UNKNOWN else fault for fault in first), *rest)


def _hinted(fault: Fault) -> Fault:
    name = unescape(fault.pointer.rpartition("/")[2])
    return replace(fault, message=f"{fault.message}{meant(name, fault.accepted.split(', '))}")


def unescape(token: str) -> str:
    """The token that `escape` made."""
    return token.replace("~1", "/").replace("~0", "~")


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
