"""JSON Schemas of the answers. Open to new fields: a client must ignore what it does not know."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

Schema = dict[str, Any]

TEXT: Final[Schema] = {"type": "string"}
NUMBER: Final[Schema] = {"type": "number"}
WHOLE: Final[Schema] = {"type": "integer"}
FLAG: Final[Schema] = {"type": "boolean"}
INSTANT: Final[Schema] = {"type": "string", "format": "date-time"}


def nullable(schema: Schema) -> Schema:
    """The schema or null."""
    if "type" in schema and isinstance(schema["type"], str) and "enum" not in schema:
        return {**schema, "type": [schema["type"], "null"]}
    return {"anyOf": [schema, {"type": "null"}]}


def many(schema: Schema) -> Schema:
    """A list of the schema."""
    return {"type": "array", "items": schema}


def one_of(*words: str) -> Schema:
    """A closed set of words."""
    return {"type": "string", "enum": list(words)}


def thing(**members: Schema) -> Schema:
    """An object of which every named member is always there."""
    return {"type": "object", "properties": members, "required": list(members)}


PROBLEM: Final = thing(
    type={"type": "string", "format": "uri-reference"},
    title=TEXT,
    status=WHOLE,
    detail=TEXT,
    instance=TEXT,
    request_id=nullable(TEXT),
    errors=many(
        thing(pointer=TEXT, code=TEXT, message=TEXT, accepted=TEXT),
    ),
)

DECISION: Final = thing(
    id=nullable({"type": "string", "format": "uuid"}),
    flight_id=TEXT,
    as_of=INSTANT,
    verdict=one_of("GO", "GO_WITH_CAUTION", "NO_GO", "INSUFFICIENT_DATA"),
    headline=TEXT,
    fuel_state=one_of("NORMAL", "MINIMUM_FUEL", "MAYDAY_FUEL"),
)

ANSWERS: Final = MappingProxyType(
    {
        "Problem": PROBLEM,
        "Decision": DECISION,
        "Alive": thing(status=TEXT),
        "Ready": thing(status=TEXT, store=TEXT, profiles=many(TEXT)),
        "Document": {"type": "object"},
    }
)
