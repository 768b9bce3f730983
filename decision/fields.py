"""Ranges, units and meanings: the one way to describe a value that is read or published.

A member of a published or read type is `Annotated[type, about(...)]`, or `sized(...)` for a text
or a list; limits belong to the value itself, the meaning may stand around it, as in
`Annotated[KG | None, about("...")]`. The same words make the check of a request, the JSON Schema
of the API document and the reference of the docs.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Final

from msgspec import Meta

UNIT: Final = "x-unit"
"""The member of a JSON Schema that holds the unit."""

WORDS: Final = "enum"
"""The member of a JSON Schema that holds the words of a closed set."""

SUPPLIED: Final = "supplied"
"""Marks a member that a body may leave out: who reads it knows the value from elsewhere."""

Instant = Annotated[datetime, Meta(tz=True)]
"""A moment in UTC, RFC 3339 when written."""


def about(
    meaning: str,
    *,
    unit: str | None = None,
    low: float | None = None,
    high: float | None = None,
    examples: Sequence[object] = (),
) -> Meta:
    """What a value means, its unit, and the range of a number; both ends are included."""
    return Meta(
        description=meaning,
        ge=low,
        le=high,
        examples=list(examples) or None,
        extra_json_schema=None if unit is None else {UNIT: unit},
    )


def sized(
    meaning: str,
    *,
    shortest: int | None = None,
    longest: int | None = None,
    pattern: str | None = None,
    words: Sequence[str] = (),
    examples: Sequence[object] = (),
) -> Meta:
    """What a text or a list means and how many characters or members it has.

    `pattern`: a regular expression that a whole text matches. `words`: the only ones there are.
    """
    return Meta(
        description=meaning,
        min_length=shortest,
        max_length=longest,
        pattern=None if pattern is None else f"^(?:{pattern})$",
        examples=list(examples) or None,
        extra_json_schema={WORDS: list(words)} if words else None,
    )
