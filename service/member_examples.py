"""Examples of single members in the API document, taken from its examples of whole values.

A member gets the first value that is seen of it, where its words or its type do not say as much:
no null, truth value or word of a closed set, and no long text.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain
from typing import Any, Final

Schema = dict[str, Any]

LONGEST_TEXT: Final = 240
LONGEST_LIST: Final = 3
KINDS: Final = {
    "null": (type(None),),
    "boolean": (bool,),
    "string": (str,),
    "integer": (int,),
    "number": (int, float),
    "array": (list,),
    "object": (dict,),
}


def tell_members(schemas: Mapping[str, Schema], schema: Schema, value: object) -> None:
    """Give every member of the named schemas that a value of the schema has its example."""
    found = _resolved(schemas, schema, value)
    match value:
        case list():
            for each in value:
                tell_members(schemas, found.get("items", {}), each)
        case dict():
            known, other = found.get("properties", {}), found.get("additionalProperties")
            for name, each in value.items():
                if name in known:
                    _tell(schemas, known[name], each)
                inner = known.get(name, other)
                if isinstance(inner, dict):
                    tell_members(schemas, inner, each)


def _tell(schemas: Mapping[str, Schema], member: Schema, value: object) -> None:
    closed = any("enum" in each or "const" in each for each in _arms(schemas, member))
    if not closed and _shown(value):
        member.setdefault("examples", [value])


def _shown(value: object) -> bool:
    match value:
        case None | bool():
            return False
        case str():
            return 0 < len(value) <= LONGEST_TEXT
        case list():
            return 0 < len(value) <= LONGEST_LIST and all(
                isinstance(each, str | int | float) and _shown(each) for each in value
            )
        case _:
            return isinstance(value, int | float)


def _resolved(schemas: Mapping[str, Schema], schema: Schema, value: object) -> Schema:
    """The schema itself, or of what it may be the first that has the form of the value."""
    fitting = (each for each in _arms(schemas, schema) if _fits(each, value))
    return next(fitting, {})


def _arms(schemas: Mapping[str, Schema], schema: Schema) -> Iterator[Schema]:
    """What a value may be, each by itself and by no other name."""
    if "$ref" in schema:
        return _arms(schemas, schemas[schema["$ref"].rpartition("/")[2]])
    if "anyOf" in schema:
        return chain.from_iterable(_arms(schemas, each) for each in schema["anyOf"])
    return iter((schema,))


def _fits(schema: Schema, value: object) -> bool:
    """Whether a value is of the kind; an object, whether it has what must be there and no other."""
    kinds = schema.get("type", [])
    named = [kinds] if isinstance(kinds, str) else kinds
    if named and type(value) not in chain.from_iterable(KINDS[each] for each in named):
        return False
    if not isinstance(value, dict):
        return True
    required, known = schema.get("required", ()), schema.get("properties", {})
    closed = schema.get("additionalProperties") is False
    return value.keys() >= set(required) and not (closed and value.keys() - known.keys())
