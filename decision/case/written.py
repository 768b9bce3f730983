"""A case with every place in full: it no longer needs the aerodromes that were loaded for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final

import msgspec

from decision.case.derive import record_of
from decision.case.types import Aerodrome, Case, Proposed
from decision.windows import instant_text

Body = Mapping[str, Any]

AERODROME: Final = record_of(Aerodrome)


def is_described(place: Body) -> bool:
    """Whether a body says more of an aerodrome than its name."""
    return any(name != "icao" for name in place if name in AERODROME.by_name)


def with_places(
    body: Body, case: Case, found: Proposed, taken: Sequence[Aerodrome]
) -> dict[str, Any]:
    """The body with its places described, the taken ones after its own, and what was found.

    `case`: what the body was read to.
    """
    own = [
        _leg(each, leg.aerodrome)
        for each, leg in zip(body["alternates"], case.alternates, strict=True)
    ]
    return {
        **body,
        "destination": _leg(body["destination"], case.destination.aerodrome),
        "alternates": [*own, *map(described, taken)],
        "proposed": as_body(found),
    }


def described(aerodrome: Aerodrome) -> dict[str, Any]:
    """An aerodrome as a body describes it."""
    made: dict[str, Any] = as_body(aerodrome)
    return made


def as_body(value: object) -> Any:  # noqa: ANN401  # any JSON value
    """A value as a body has it; a member that is not known stays away."""
    match value:
        case msgspec.Struct():
            members = ((each, getattr(value, each)) for each in value.__struct_fields__)
            return {name: as_body(each) for name, each in members if each is not None}
        case datetime():
            return instant_text(value)
        case tuple():
            return [as_body(each) for each in value]
        case _:
            return msgspec.to_builtins(value)


def _leg(given: str | Body, aerodrome: Aerodrome) -> Any:  # noqa: ANN401  # any JSON value
    named: Body = {"icao": given} if isinstance(given, str) else given
    return given if is_described(named) else {**described(aerodrome), **named}
