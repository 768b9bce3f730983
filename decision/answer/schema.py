"""JSON Schemas of everything that is published, made from its types.

Objects are closed, and every member is always there: a default only spares the code that builds.
"""

from __future__ import annotations

from typing import Any, Final

from msgspec.json import schema_components

from decision.answer.calculators import (
    ClimbTold,
    ConditionsOverWindow,
    DecodedReports,
    DiversionTold,
    Expansion,
    HoldingFlight,
    LandingWithFactor,
)
from decision.answer.differences import Changed
from decision.answer.types import Answer

Schema = dict[str, Any]

PUBLISHED: Final = (
    Answer,
    Changed,
    DecodedReports,
    ConditionsOverWindow,
    Expansion,
    DiversionTold,
    LandingWithFactor,
    ClimbTold,
    HoldingFlight,
)
REFERENCES: Final = "#/components/schemas/{name}"
TOLD: Final = "Told"  # marks a published type where what it tells of has the name without it


def schemas(*types: type) -> dict[str, Schema]:
    """The schema of each of the types, and of what they are made of, by name."""
    _, components = schema_components(types or PUBLISHED, ref_template=REFERENCES)
    made = {name.removesuffix(TOLD): _closed(components[name]) for name in components}
    return dict(sorted(made.items()))


def published_name(kind: type) -> str:
    """By what the document calls a published type."""
    return kind.__name__.removesuffix(TOLD)


def _plain(value: Any) -> Any:  # noqa: ANN401  # a part of a schema
    """Without titles and defaults, and without `items: false`, which not every reader takes."""
    if isinstance(value, list):
        return [_plain(each) for each in value]
    if not isinstance(value, dict):
        return value
    return {
        name: each.removesuffix(TOLD) if name == "$ref" else _plain(each)
        for name, each in value.items()
        if name not in ("title", "default") and (name, each) != ("items", False)
    }


def _closed(schema: Schema) -> Schema:
    first_paragraph, _, _ = schema["description"].partition("\n\n")
    made = {**_plain(schema), "description": " ".join(first_paragraph.split())}
    if "enum" in schema:
        made["type"] = "string"
    if "properties" in schema:
        made["properties"] = {name: _plain(each) for name, each in schema["properties"].items()}
        made |= {"required": [*made["properties"]], "additionalProperties": False}
    return made
