"""The API document, OpenAPI 3.1, made from the shapes and the table of operations.

`python -m service.openapi` writes it to `openapi/openapi.json`; the service hands out that file,
and a test fails when it is not what this module makes. The examples are the demo cases.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from http import HTTPStatus
from pathlib import Path
from typing import Any, Final, Protocol

import orjson
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

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
from service.answers import ANSWERS
from service.negotiation import JSON, JSON_LINES
from service.operations import OPERATIONS, Operation
from service.problems import MEDIA_TYPE, PROBLEM_TYPES
from service.resources.operation import API_DOCUMENT
from service.schemas import Shaped, ShapedRecords, schema_of
from service.settings import ROOT
from service.version import VERSION

CASES: Final = ROOT / "tests" / "cases"
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
    for name, schema in ANSWERS.items():
        spec.components.schema(name, component=schema)
    for operation in OPERATIONS:
        if operation.shape is not None:
            spec.components.schema(operation.shape.name, schema=schema_of(operation.shape))
    for operation in OPERATIONS:
        spec.path(operation.path, operations={operation.method: _operation(operation, examples)})
    return spec.to_dict()


def demo_cases() -> dict[str, object]:
    """The demo cases by name."""
    return {path.stem: json.loads(path.read_bytes()) for path in sorted(CASES.glob("*.json"))}


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
        made["pattern"] = f"^(?:{spec.pattern})$"
    return made


def _or_null(schema: dict[str, Any]) -> dict[str, Any]:
    if "anyOf" in schema:
        return {"anyOf": [*schema["anyOf"], {"type": "null"}]}
    nullable = {**schema, "type": [schema["type"], "null"]}
    if "enum" in schema:
        nullable["enum"] = [*schema["enum"], None]
    return nullable


def _operation(operation: Operation, examples: Mapping[str, object]) -> dict[str, Any]:
    made: dict[str, Any] = {
        "operationId": operation.id,
        "tags": [operation.tag],
        "summary": operation.summary,
        "parameters": [parameter.as_openapi() for parameter in operation.parameters],
        "responses": _responses(operation),
    }
    if operation.description:
        made["description"] = operation.description
    if operation.shape is not None:
        named = examples if operation.example is None else {"example": operation.example}
        made["requestBody"] = _request_body(operation.shape, named)
    if operation.line is not None:
        made["requestBody"] = _body_of_lines(operation.line, examples)
    return made


def _request_body(shape: Record, examples: Mapping[str, object]) -> dict[str, Any]:
    media = {
        "schema": {"$ref": f"#/components/schemas/{shape.name}"},
        "examples": {name: {"value": value} for name, value in examples.items()},
    }
    return {"required": True, "content": {JSON: media}}


def _body_of_lines(line: Record, examples: Mapping[str, object]) -> dict[str, Any]:
    """A body with one value of that shape on each line; two of the examples are its example."""
    two = [orjson.dumps(example).decode() for _, example in sorted(examples.items())[:2]]
    media = {
        **_lines_of(line.name),
        "examples": {"two cases": {"value": "\n".join(two)}},
    }
    return {"required": True, "content": dict.fromkeys(JSON_LINES, media)}


def _lines_of(name: str) -> dict[str, Any]:
    """Text of lines. OpenAPI 3.1 has no word for the schema of one, so an extension names it."""
    text = f"One JSON value a line, each a {name}."
    return {
        "schema": {"type": "string", "description": text},
        "x-line-schema": {"$ref": f"#/components/schemas/{name}"},
    }


def _responses(operation: Operation) -> dict[str, Any]:
    made = {str(status.value): _success(operation, status) for status in operation.successes}
    for status in sorted({kind.status for kind in PROBLEM_TYPES} & operation.failures):
        made[str(status.value)] = {
            "description": _titles(status),
            "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
    return made


def _titles(status: HTTPStatus) -> str:
    return "; ".join(kind.title for kind in PROBLEM_TYPES if kind.status == status)


def _success(operation: Operation, status: HTTPStatus) -> dict[str, Any]:
    made: dict[str, Any] = {"description": operation.successes[status]}
    if status is HTTPStatus.NOT_MODIFIED:
        return made
    texts = {
        form: _lines_of(operation.answer) if form in JSON_LINES else {"schema": {"type": "string"}}
        for form in operation.forms
        if form != JSON
    }
    if JSON in operation.forms:
        answer = {"$ref": f"#/components/schemas/{operation.answer}"}
        made["content"] = {JSON: {"schema": answer}, **texts}
    else:
        made["content"] = texts
    headers = operation.headers.get(status, {})
    if headers:
        made["headers"] = {
            name: {"description": text, "schema": {"type": "string"}}
            for name, text in headers.items()
        }
    return made


def main(target: Path = API_DOCUMENT) -> int:
    """Write the document; the exit code."""
    target.write_bytes(rendered())
    return 0


if __name__ == "__main__":
    sys.exit(main())
