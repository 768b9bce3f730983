"""JSON Schemas of the data files that are handed out as they are."""

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


def ref(name: str) -> Schema:
    """The schema of that name."""
    return {"$ref": f"#/components/schemas/{name}"}


def many(schema: Schema) -> Schema:
    """A list of the schema."""
    return {"type": "array", "items": schema}


def one_of(*words: str) -> Schema:
    """A closed set of words."""
    return {"type": "string", "enum": list(words)}


def thing(**members: Schema) -> Schema:
    """An object of which every named member is always there."""
    return {"type": "object", "properties": members, "required": list(members)}


ANSWERS: Final = MappingProxyType(
    {
        "LoadedAerodrome": thing(icao=TEXT, name=TEXT, elevation_ft=NUMBER),
        "Document": {"type": "object"},
    }
)
