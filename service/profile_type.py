"""The published type of an aircraft profile, made from the types and meanings of its file."""

from __future__ import annotations

import inspect
from types import NoneType
from typing import Annotated, Any, Final, get_args, get_origin, get_type_hints

from msgspec import Struct, defstruct

from decision.citations import Confidence
from decision.fields import about, sized
from decision.profile import Profile
from decision.profile.describe import kind_of, range_of, table_kind
from decision.profile.meanings import MEANING
from decision.profile.systems_model import FailureGroup
from decision.systems import FailureAlone


class ProfileSource(Struct, frozen=True, kw_only=True, gc=False):
    """A source of an operator's own figures."""

    key: Annotated[str, sized("What the figures cite it by.")]
    title: Annotated[str, sized("What it is.")]
    edition: Annotated[str, sized("Which edition of it.")]
    confidence: Annotated[Confidence, about("How well it is known.")]


class FailureHeading(FailureAlone, frozen=True, kw_only=True, gc=False):
    """A failure that can be reported, and what it does by itself."""

    id: Annotated[str, sized("What a case reports it by.")]
    title: Annotated[str, sized("What it is.")]
    group: Annotated[FailureGroup, about("The systems that it belongs to.")]
    needs_detent: Annotated[bool, about("Whether a report must name a flap detent.")]
    needs_position: Annotated[bool, about("Whether a report must name a slat position.")]
    takes_quantity: Annotated[bool, about("Whether a report may say how much fuel is trapped.")]


class Heading(Struct, frozen=True, kw_only=True, gc=False):
    """Which data it is."""

    id: Annotated[str, sized("Its name in requests and addresses.")]
    version: Annotated[str, sized("Its version.")]
    title: Annotated[str, sized("What it is, in words.")]
    digest: Annotated[str, sized("SHA-256 of its files, in hexadecimal.")]


APART: Final[dict[str, Any]] = {
    **get_type_hints(Heading, include_extras=True),
    "tables": Annotated[tuple[str, ...], sized("How far the operator's own tables reach.")],
    "sources": Annotated[tuple[ProfileSource, ...], sized("The operator's own sources.")],
    "failures": Annotated[tuple[FailureHeading, ...], sized("The failures that can be reported.")],
}


def profile_type() -> type[Struct]:
    """An object with every table of the file and, in place of the systems, their failures."""
    hints = get_type_hints(Profile, include_extras=True)
    names = [name for name in hints if name != "systems"]
    members = [(name, APART.get(name) or _described(hints[name], name)) for name in names]
    return _struct(Profile, "AircraftProfile", [*members, ("failures", APART["failures"])])


def _described(hint: object, where: str) -> Any:  # noqa: ANN401  # an annotation
    inner = table_kind(hint)
    if inner is not None:
        hints = get_type_hints(inner, include_extras=True)
        members = [(name, _described(each, f"{where}.{name}")) for name, each in hints.items()]
        table: Any = _struct(inner, f"Profile{inner.__name__.removesuffix('Data')}", members)
        kind = tuple[table, ...] if get_origin(hint) is tuple else table
        return Annotated[kind, about(_summary(inner))]
    return _value(hint, MEANING[where])


def _value(hint: object, meaning: str) -> Any:  # noqa: ANN401  # an annotation
    kind, limits = kind_of(hint), range_of(hint)
    inside: Any = kind
    if limits is not None:
        inside = Annotated[kind, about("", unit=limits.unit, low=limits.low, high=limits.high)]
    return Annotated[inside | None if NoneType in get_args(hint) else inside, about(meaning)]


def _struct(kind: type[Any], name: str, members: list[tuple[str, Any]]) -> type[Struct]:
    return defstruct(
        name, members, namespace={"__doc__": _summary(kind)}, frozen=True, kw_only=True
    )


def _summary(kind: type[Any]) -> str:
    """The first paragraph of what is said of a type, on one line."""
    return " ".join((inspect.getdoc(kind) or "").partition("\n\n")[0].split())
