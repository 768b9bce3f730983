"""The API document, OpenAPI 3.1, made from the views and the types they answer with.

`python -m service.openapi` writes it to `openapi/openapi.json`, the tables of addresses into their
pages and the page of reference; the service hands out that file, and a test fails when it is not
what this module makes. The examples are the demo cases.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from itertools import groupby
from pathlib import Path
from typing import Any, Final, Protocol

import orjson
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from decision.answer.schema import schemas
from decision.case.demos import installed_demos
from decision.case.spec import (
    RFC3339_UTC,
    AnyOf,
    Choice,
    Flag,
    Instant,
    ListOf,
    Number,
    Record,
    Spec,
    Text,
)
from service import reference_page, routes_table
from service.address import Answer, Parameter, View
from service.negotiation import JSON, JSON_LINES
from service.problems import MEDIA_TYPE, ProblemDocument, ProblemType
from service.resources import VIEWS
from service.resources.operation import API_DOCUMENT
from service.schemas import Shaped, ShapedRecords, schema_of
from service.version import VERSION

COMPONENTS: Final = "#/components/schemas/"
UTC_PATTERN: Final = f"^{RFC3339_UTC.pattern}$"
DESCRIPTION: Final = (
    "Go/no-go decisions for approaches of degraded airliners. The service advises; the operator's"
    " approved manuals, local rules and the licensed crew decide. Units are in the names of the"
    " fields. Unknown fields and out-of-range values are errors; every error is a problem document"
    " (RFC 9457) whose `errors` point into the request."
)


class Converter(Protocol):
    """The part of apispec's converter that is used here."""

    def resolve_nested_schema(self, schema: type[Schema]) -> dict[str, Any]:
        """A reference to a schema, which is added to the document when it is new."""


def document(examples: Mapping[str, object]) -> dict[str, Any]:
    """The API document with named example requests for `POST /v1/decisions`."""
    plugin = MarshmallowPlugin(schema_name_resolver=_schema_name)
    spec = APISpec(
        title="Approach decisions",
        version=VERSION,
        openapi_version="3.1.0",
        info={"description": DESCRIPTION},
        plugins=[plugin],
    )
    converter: Any = plugin.converter  # made by APISpec; its methods carry no types
    converter.map_to_openapi_type(Shaped, None, None)
    converter.add_attribute_function(shape_to_property)
    for name, schema in published().items():
        spec.components.schema(name, component=schema)
    for name, record in _records().items():
        spec.components.schema(name, schema=schema_of(record))
    for view in VIEWS:
        operation = {view.address.method.lower(): _operation(view, examples)}
        spec.path(view.address.template, operations=operation)
    return spec.to_dict()


def _records() -> dict[str, Record]:
    """By name the shapes of bodies, and of answers that are shaped as a body or a part of one."""
    told = (
        each for view in VIEWS for each in (view.address.body, view.address.line, *view.answers)
    )
    return {each.name: each for each in told if isinstance(each, Record)}


def published() -> dict[str, Any]:
    """The JSON Schema of every published type, closed: an answer has all members and no other."""
    told = (answer for view in VIEWS for answer in view.answers)
    types = [ProblemDocument, *(answer for answer in told if isinstance(answer, type))]
    return schemas(*types)


def demo_cases() -> dict[str, object]:
    """The demo cases by name."""
    return {each.name: each.request() for each in installed_demos()}


def rendered() -> bytes:
    """The document as the bytes of its file."""
    made = orjson.dumps(document(demo_cases()), option=orjson.OPT_INDENT_2)
    return made + b"\n"


def shape_to_property(
    self: Converter, field: fields.Field[Any], **_kwargs: object
) -> dict[str, Any]:
    """The JSON Schema of a field that was made from a shape."""
    match field:
        case ShapedRecords(spec=ListOf() as spec):
            return {"minItems": spec.min_items, "maxItems": spec.max_items}
        case Shaped(spec=spec):
            made = _json_schema(spec, self)
            return _or_null(made) if field.allow_none else made
        case _:
            return {}


def _schema_name(schema: type[Schema] | Schema) -> str:
    return schema.__name__ if isinstance(schema, type) else type(schema).__name__


def _json_schema(spec: Spec, converter: Converter) -> dict[str, Any]:
    match spec:
        case Number():
            kind = "integer" if spec.whole else "number"
            return {"type": kind, "minimum": spec.low, "maximum": spec.high}
        case Text():
            return _text(spec)
        case Choice():
            return {"type": "string", "enum": list(spec.values)}
        case Flag():
            return {"type": "boolean"}
        case Instant():
            return {"type": "string", "format": "date-time", "pattern": UTC_PATTERN}
        case _:
            return _compound(spec, converter)


def _compound(spec: Spec, converter: Converter) -> dict[str, Any]:
    match spec:
        case ListOf():
            return {
                "type": "array",
                "items": _json_schema(spec.item, converter),
                "minItems": spec.min_items,
                "maxItems": spec.max_items,
            }
        case AnyOf():
            return {"anyOf": [_json_schema(choice, converter) for choice in spec.choices]}
        case Record():
            return converter.resolve_nested_schema(schema_of(spec))
        case _:
            raise TypeError(f"no JSON Schema for {type(spec).__name__}")


def _text(spec: Text) -> dict[str, Any]:
    made: dict[str, Any] = {
        "type": "string",
        "minLength": spec.min_length,
        "maxLength": spec.max_length,
    }
    if spec.pattern is not None:
        made["pattern"] = spec.pattern
    return made


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    if "anyOf" in schema:
        return {"anyOf": [*schema["anyOf"], {"type": "null"}]}
    nullable = {**schema, "type": [schema["type"], "null"]}
    if "enum" in schema:
        nullable["enum"] = [*schema["enum"], None]
    return nullable


def _operation(view: View, examples: Mapping[str, object]) -> dict[str, Any]:
    address = view.address
    made: dict[str, Any] = {
        "operationId": view.id,
        "tags": [address.tag],
        "summary": address.summary,
        "parameters": [_parameter(each) for each in view.parameters],
        "responses": _responses(view),
    }
    if address.description:
        made["description"] = address.description
    if address.body is not None:
        named = examples if address.example is None else {"example": address.example}
        made["requestBody"] = _request_body(address.body, named)
    if address.line is not None:
        made["requestBody"] = _body_of_lines(address.line, examples)
    return made


def _parameter(parameter: Parameter) -> dict[str, Any]:
    schema = parameter.schema
    return {
        "name": parameter.name,
        "in": parameter.where,
        "required": parameter.required,
        "description": schema.pop("description"),
        "schema": schema,
    }


def _request_body(shape: Record, examples: Mapping[str, object]) -> dict[str, Any]:
    media = {
        "schema": {"$ref": f"{COMPONENTS}{shape.name}"},
        "examples": {name: {"value": value} for name, value in examples.items()},
    }
    return {"required": True, "content": {JSON: media}}


def _body_of_lines(line: Record, examples: Mapping[str, object]) -> dict[str, Any]:
    """A body with one value of that shape on each line; two of the examples are its example."""
    two = [orjson.dumps(example).decode() for _, example in sorted(examples.items())[:2]]
    media = {
        **_lines_of(line),
        "examples": {"two cases": {"value": "\n".join(two)}},
    }
    return {"required": True, "content": dict.fromkeys(JSON_LINES, media)}


def _lines_of(*types: Answer) -> dict[str, Any]:
    """Text of lines. OpenAPI 3.1 has no word for the schema of one, so an extension names it."""
    text = f"One JSON value a line, each a {' or '.join(map(name_of, types))}."
    return {
        "schema": {"type": "string", "description": text},
        "x-line-schema": schema_of_any(types),
    }


def _responses(view: View) -> dict[str, Any]:
    made = {str(status.value): _success(view, status) for status in view.address.successes}
    for status, kinds in groupby(sorted(view.address.problems, key=_status), key=_status):
        made[str(status)] = {
            "description": "; ".join(kind.title for kind in kinds),
            "content": {MEDIA_TYPE: {"schema": {"$ref": f"{COMPONENTS}ProblemDocument"}}},
        }
    return made


def _status(kind: ProblemType) -> int:
    return kind.status


def _success(view: View, status: HTTPStatus) -> dict[str, Any]:
    made: dict[str, Any] = {"description": view.address.successes[status]}
    if status is HTTPStatus.NOT_MODIFIED:
        return made
    made["content"] = {form: _content(view.answers, form) for form in view.address.forms}
    headers = view.address.sends.get(status, {})
    if headers:
        made["headers"] = {
            name: {"description": text, "schema": {"type": "string"}}
            for name, text in headers.items()
        }
    return made


def name_of(answer: Answer) -> str:
    """The name of an answer's schema."""
    return answer.__name__ if isinstance(answer, type) else answer.name


def schema_of_any(types: Sequence[Answer]) -> dict[str, Any]:
    """A reference to the schema, or to each of those it may be; of none, any object."""
    if not types:
        return {"type": "object"}
    refs = [{"$ref": f"{COMPONENTS}{name_of(each)}"} for each in types]
    return refs[0] if len(refs) == 1 else {"anyOf": refs}


def _content(answers: Sequence[Answer], form: str) -> dict[str, Any]:
    if form == JSON:
        return {"schema": schema_of_any(answers)}
    return _lines_of(*answers) if form in JSON_LINES else {"schema": {"type": "string"}}


def main(target: Path = API_DOCUMENT) -> int:
    """Write the document; the exit code."""
    target.write_bytes(rendered())
    routes_table.write()
    reference_page.write()
    return 0


if __name__ == "__main__":
    sys.exit(main())
