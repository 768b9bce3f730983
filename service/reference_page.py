"""The reference, written from the API document whenever that is: `python -m service.openapi`.

Every member of what is asked and answered, with its type, unit, range and meaning; the types and
their words are those of the document, so that nothing is described a second time.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from decision.fields import UNIT
from service.documents import FOLDER, anchor
from service.negotiation import JSON
from service.resources.operation import API_DOCUMENT

Schema = Mapping[str, Any]

PAGE: Final = FOLDER / "reference.md"
HEAD: Final = """# Reference

Every member of what can be asked and of what is answered. Units are in the names where a name has
one. In a question, a member marked * must be given; another may be left out, and `null` says the
same as leaving it out. An answer has every member that stands here and no other; `null` means
that there is nothing to tell or that it is not known, as its meaning says. What each address
does is in the [API document](/openapi.json).

| address | asks with | answers with |
| --- | --- | --- |"""
COLUMNS: Final = "| member | type | unit | range | meaning |\n| --- | --- | --- | --- | --- |"
NAMES: Final = {
    "string": "text",
    "number": "number",
    "integer": "whole number",
    "boolean": "true or false",
    "null": "null",
    "object": "object",
    "array": "list",
}


def page(document: Schema) -> str:
    """The whole page as Markdown."""
    schemas: Schema = document["components"]["schemas"]
    addresses = list(_addresses(document))
    asked = reached(schemas, [asks for _, asks, _ in addresses])
    answered = [
        name for name in reached(schemas, [a for _, _, a in addresses]) if name not in asked
    ]
    rows = [
        f"| `{address}` | {_link(asks)} | {_link(answers)} |"
        for address, asks, answers in addresses
    ]
    lines = [HEAD, *rows, ""]
    for heading, names in (("What is asked", asked), ("What is answered", answered)):
        lines += [f"## {heading}", ""]
        lines += [line for name in names for line in _section(name, schemas[name])]
    return "\n".join(lines).rstrip() + "\n"


def reached(schemas: Schema, names: Sequence[str]) -> list[str]:
    """The named types and all that they are made of, each before what it holds."""
    found: dict[str, None] = {}
    waiting = [name for name in names if name]
    while waiting:
        name = waiting.pop(0)
        if name not in found:
            found[name] = None
            waiting += _references(schemas[name])
    return list(found)


def _references(part: object) -> Iterator[str]:
    match part:
        case {"$ref": str(reference)}:
            yield _name(reference)
        case Mapping():
            for each in part.values():
                yield from _references(each)
        case list():
            for each in part:
                yield from _references(each)


def _name(reference: str) -> str:
    return reference.rpartition("/")[2]


def _addresses(document: Schema) -> Iterator[tuple[str, str, str]]:
    """Each address that answers with a type, with what it asks and what it answers."""
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            asks = _only(operation.get("requestBody", {}))
            told = [each for status, each in operation["responses"].items() if status[0] == "2"]
            answers = next((name for name in map(_only, told) if name), "")
            if asks or answers:
                yield f"{method.upper()} {path}", asks, answers


def _only(body: Schema) -> str:
    schema = body.get("content", {}).get(JSON, {}).get("schema", {})
    return _name(schema.get("$ref", ""))


def _link(name: str) -> str:
    return f"[{name}](#{anchor(name)})" if name else ""


def _section(name: str, schema: Schema) -> Iterator[str]:
    yield f"### {name}"
    yield ""
    if "description" in schema:
        yield f"{_cell(schema['description'])}\n"
    if "enum" in schema:
        yield f"One of {_words(schema['enum'])}.\n"
    elif "properties" in schema:
        yield COLUMNS
        yield from _rows(schema, "")
        yield ""
    elif "anyOf" in schema:
        yield f"{_type(schema)}.\n"


def _rows(schema: Schema, prefix: str) -> Iterator[str]:
    asked = schema.get("required", ())
    every = len(asked) == len(schema["properties"])  # of an answer, which has them all
    for name, member in schema["properties"].items():
        star = " *" if name in asked and not every else ""
        cells = (_type(member), _unit(member), _range(member), _meaning(member))
        yield f"| `{prefix}{name}`{star} | {' | '.join(cells)} |"
        for inner, mark in ((member, "."), (member.get("items", {}), "[].")):
            if "properties" in inner:
                yield from _rows(inner, f"{prefix}{name}{mark}")


def _choices(schema: Schema) -> Sequence[Schema]:
    """What a value may be, each by itself: alternatives and a list of types are one thing."""
    if "anyOf" in schema:
        return [each for choice in schema["anyOf"] for each in _choices(choice)]
    kinds = schema.get("type")
    return [{**schema, "type": kind} for kind in kinds] if isinstance(kinds, list) else [schema]


def _type(schema: Schema) -> str:
    named = dict.fromkeys(_named(choice) for choice in _choices(schema))
    return " or ".join(
        [*(each for each in named if each != "null"), *(["null"] if "null" in named else [])]
    )


def _named(schema: Schema) -> str:
    match schema:
        case {"$ref": str(reference)}:
            named = _link(_name(reference))
        case {"enum": list(values)}:
            named = _words(value for value in values if value is not None)
        case {"const": value}:
            named = _words([value])
        case {"type": "array", "items": items}:
            named = f"list of {_type(items)}"
        case {"format": "date-time"}:
            named = "instant in UTC"
        case _:
            named = NAMES.get(schema.get("type", ""), "anything")
    return named


def _unit(schema: Schema) -> str:
    return next((str(each[UNIT]) for each in (schema, *_choices(schema)) if UNIT in each), "")


def _range(schema: Schema) -> str:
    told = dict.fromkeys(each for choice in _choices(schema) for each in _limits(choice))
    return _cell("; ".join(told))


def _limits(schema: Schema) -> Iterator[str]:
    if schema.get("type") == "null" or "enum" in schema:
        return
    for low, high, of in (
        ("minimum", "maximum", ""),
        ("minLength", "maxLength", " characters"),
        ("minItems", "maxItems", " members"),
    ):
        span = _span(schema.get(low), schema.get(high))
        if span:
            yield f"{span}{of}"
    if "pattern" in schema and schema.get("format") != "date-time":
        yield f"`{schema['pattern']}`"
    if schema.get("type") == "array":
        yield from (
            f"each {each}"
            for choice in _choices(schema.get("items", {}))
            for each in _limits(choice)
        )


def _span(low: float | None, high: float | None) -> str:
    if low == high and low is not None:
        return f"{low:g}"
    match low, high:
        case None, None:
            return ""
        case None, _:
            return f"up to {high:g}"
        case _, None:
            return f"{low:g} or more"
    return f"{low:.10g} to {high:.10g}"


def _meaning(schema: Schema) -> str:
    told = _cell(schema.get("description", ""))
    default = schema.get("default")
    return told if default is None else f"{told} Default: `{json.dumps(default)}`."


def _words(values: Iterator[object] | Sequence[object]) -> str:
    return _cell(", ".join(f"`{value}`" if value != "" else "empty" for value in values))


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def write() -> None:
    """Write the page anew from the document as it is now."""
    made = page(json.loads(API_DOCUMENT.read_bytes()))
    if made != PAGE.read_text(encoding="utf-8"):  # whoever reads it meanwhile finds it whole
        PAGE.write_text(made, encoding="utf-8")
