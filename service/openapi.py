"""The API document, OpenAPI 3.1, made from the views and the types they answer with.

`python -m service.openapi` writes it to `openapi/openapi.json`, the tables of addresses into their
pages and the page of reference; the service hands out that file, and a test fails when it is not
what this module makes. Examples of requests are the demo cases, those of answers are what the
application answers (`service.examples`); each stands once, in the components.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from http import HTTPStatus
from itertools import groupby
from pathlib import Path
from typing import Any, Final, Protocol

import orjson
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from decision.answer import Answer as Published
from decision.answer.schema import published_name, schemas
from decision.case.spec import (
    RFC3339_UTC,
    AnyObject,
    AnyOf,
    Choice,
    Instant,
    ListOf,
    Number,
    RecordSpec,
    Spec,
    Text,
    TrueOrFalse,
)
from service import reference_page, routes_table
from service.address import Answer, Parameter, View
from service.door.callers import COOKIE
from service.examples import Example, Examples, examples, request_examples
from service.keytext import WORD
from service.member_examples import tell_members
from service.negotiation import FORM, HTML, JSON, JSON_LINES
from service.problems import MEDIA_TYPE, NO_KEY, ProblemDocument, ProblemType
from service.resources import VIEWS
from service.resources.operation import API_DOCUMENT
from service.schemas import Shaped, ShapedRecords, schema_of
from service.scopes import Scope
from service.version import VERSION

COMPONENTS: Final = "#/components/schemas/"
EXAMPLES: Final = "#/components/examples/"
UTC_PATTERN: Final = f"^{RFC3339_UTC.pattern}$"
DESCRIPTION: Final = (
    "Go/no-go decisions for approaches of degraded airliners. The service advises; the operator's"
    " approved manuals, local rules and the licensed crew decide. Units are in the names of the"
    " fields. Unknown fields and out-of-range values are errors; every error is a problem document"
    " (RFC 9457) whose `errors` point into the request. On loopback, without a proxy in front,"
    " nobody is asked for a key; elsewhere each address needs one with its scope."
)
SCHEMES: Final[Mapping[str, Mapping[str, str]]] = {
    "key": {
        "type": "http",
        "scheme": "bearer",
        "bearerFormat": f"{WORD}_IDENTIFIER_SECRET",
        "description": "A key: `python -m service.keys create`. Its scopes are among `decide`,"
        " `read` and `admin`; none includes another.",
    },
    "session": {
        "type": "apiKey",
        "in": "cookie",
        "name": COOKIE,
        "description": "The session of a browser: `POST /v1/session`.",
    },
}


class Converter(Protocol):
    """The part of apispec's converter that is used here."""

    def resolve_nested_schema(self, schema: type[Schema]) -> dict[str, Any]:
        """A reference to a schema, which is added to the document when it is new."""


def document(cases: Mapping[str, Example], told: Examples) -> dict[str, Any]:
    """The API document; `cases`: the examples of what is asked of `POST /v1/decisions`."""
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
    for name, scheme in SCHEMES.items():
        spec.components.security_scheme(name, dict(scheme))
    for view in VIEWS:
        operation = {view.address.method.lower(): _operation(view, cases, told)}
        spec.path(view.address.template, operations=operation)
    shown = (*cases.values(), *told.answers.values(), *told.problems.values(), _two(cases))
    for name, example in {each.name: each for each in shown}.items():
        spec.components.example(name, {"summary": example.summary, "value": example.value})
    made = spec.to_dict()
    for schema, value in _values(cases, told):
        tell_members(made["components"]["schemas"], schema, value)
    return made


def _values(cases: Mapping[str, Example], told: Examples) -> Iterator[tuple[dict[str, Any], Any]]:
    """Everything that is shown, uncut, each with its schema."""
    for view in VIEWS:
        for (name, _, form), example in told.answers.items():
            if name == view.id and form in (JSON, *JSON_LINES):
                whole = [example.whole] if form == JSON else example.whole.splitlines()
                read = whole if form == JSON else map(orjson.loads, whole)
                yield from ((schema_of_any(view.answers), each) for each in read)
        body, example_body = view.address.body, view.address.example
        if body is not None and example_body is not None:
            yield schema_of_any((body,)), example_body
        elif body is not None:
            yield from ((schema_of_any((body,)), case.whole) for case in cases.values())
    yield from ((schema_of_any((Published,)), each) for each in told.decisions)
    for problem in told.problems.values():
        yield schema_of_any((ProblemDocument,)), problem.whole


def _records() -> dict[str, RecordSpec]:
    """By name the shapes of bodies, and of answers that are shaped as a body or a part of one."""
    addresses = ((view.address, view.answers) for view in VIEWS)
    told = (
        each
        for address, answers in addresses
        for each in (address.body, address.line, address.filled_in, *answers)
    )
    return {each.name: each for each in told if isinstance(each, RecordSpec)}


def published() -> dict[str, Any]:
    """The JSON Schema of every published type, closed: an answer has all members and no other."""
    told = (answer for view in VIEWS for answer in view.answers)
    types = [ProblemDocument, *(answer for answer in told if isinstance(answer, type))]
    return schemas(*types)


def rendered() -> bytes:
    """The document as the bytes of its file."""
    made = orjson.dumps(document(request_examples(), examples()), option=orjson.OPT_INDENT_2)
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
        case TrueOrFalse():
            return {"type": "boolean"}
        case Instant():
            return {"type": "string", "format": "date-time", "pattern": UTC_PATTERN}
        case _:
            return _compound(spec, converter)


def _compound(spec: Spec, converter: Converter) -> dict[str, Any]:
    match spec:
        case AnyObject():
            return {"type": "object"}
        case ListOf():
            return {
                "type": "array",
                "items": _json_schema(spec.item, converter),
                "minItems": spec.min_items,
                "maxItems": spec.max_items,
            }
        case AnyOf():
            return {"anyOf": [_json_schema(choice, converter) for choice in spec.choices]}
        case RecordSpec():
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


def _operation(view: View, cases: Mapping[str, Example], told: Examples) -> dict[str, Any]:
    address = view.address
    made: dict[str, Any] = {
        "operationId": view.id,
        "tags": [address.tag],
        "summary": address.summary,
        "security": _security(address.scope),
        "parameters": [_parameter(each) for each in view.parameters],
        "responses": _responses(view, told),
    }
    if address.description:
        made["description"] = address.description
    if address.body is not None:
        own = {"example": {"value": address.example}}
        named = _named(cases.values()) if address.example is None else own
        made["requestBody"] = _request_body(address.body, named)
    if address.filled_in is not None:
        ref = {"$ref": f"{COMPONENTS}{address.filled_in.name}"}
        made["requestBody"] = {"required": True, "content": {FORM: {"schema": ref}}}
    if address.line is not None:
        made["requestBody"] = _body_of_lines(address.line, _two(cases))
    return made


def _security(scope: Scope) -> list[dict[str, list[str]]]:
    """Either a key or a session that has the scope."""
    if scope is Scope.OPEN:
        return []
    return [{name: [scope.value]} for name in SCHEMES]


def _parameter(parameter: Parameter) -> dict[str, Any]:
    schema = parameter.schema
    return {
        "name": parameter.name,
        "in": parameter.where,
        "required": parameter.required,
        "description": schema.pop("description"),
        "schema": schema,
    }


def _named(shown: Iterable[Example]) -> dict[str, Any]:
    return {each.name: {"$ref": f"{EXAMPLES}{each.name}"} for each in shown}


def _request_body(shape: RecordSpec, named: Mapping[str, object]) -> dict[str, Any]:
    media = {"schema": {"$ref": f"{COMPONENTS}{shape.name}"}, "examples": named}
    return {"required": True, "content": {JSON: media}}


def _two(cases: Mapping[str, Example]) -> Example:
    """The first two cases, a line each."""
    text = "\n".join(orjson.dumps(cases[name].value).decode() for name in sorted(cases)[:2])
    return Example(name="two-cases", summary="Two cases, a line each", value=text, whole=text)


def _body_of_lines(line: RecordSpec, two: Example) -> dict[str, Any]:
    """A body with one value of that shape on each line."""
    media = {**_lines_of(line), "examples": _named((two,))}
    return {"required": True, "content": dict.fromkeys(JSON_LINES, media)}


def _lines_of(*types: Answer) -> dict[str, Any]:
    """Text of lines. OpenAPI 3.1 has no word for the schema of one, so an extension names it."""
    text = f"One JSON value a line, each a {' or '.join(map(name_of, types))}."
    return {
        "schema": {"type": "string", "description": text},
        "x-line-schema": schema_of_any(types),
    }


def _responses(view: View, told: Examples) -> dict[str, Any]:
    made = {str(status.value): _success(view, status, told) for status in view.address.successes}
    for status, group in groupby(sorted(view.address.problems, key=_status), key=_status):
        kinds = tuple(group)
        media = {
            "schema": schema_of_any((ProblemDocument,)),
            "examples": _named(told.problems[kind.slug] for kind in kinds),
        }
        made[str(status)] = {
            "description": "; ".join(kind.title for kind in kinds),
            "content": {MEDIA_TYPE: media, **_page_for(view, status)},
        }
    return made


def _page_for(view: View, status: int) -> dict[str, Any]:
    """A browser that asked for a page is shown where to sign in."""
    address = view.address
    asks = address.method == "GET" or address.filled_in is not None
    if status != NO_KEY.status or HTML not in address.forms or not asks:
        return {}
    return {HTML: {"schema": {"type": "string", "description": "A page to sign in with a key."}}}


def _status(kind: ProblemType) -> int:
    return kind.status


def _success(view: View, status: HTTPStatus, told: Examples) -> dict[str, Any]:
    made: dict[str, Any] = {"description": view.address.successes[status]}
    if status is HTTPStatus.NOT_MODIFIED:
        return made
    made["content"] = {form: _content(view.answers, form) for form in view.address.forms}
    for form, media in made["content"].items():
        shown = told.answers.get((view.id, status, form))
        if shown is not None:
            media["examples"] = _named((shown,))
    headers = view.address.sends.get(status, {})
    if headers:
        made["headers"] = {
            name: {"description": text, "schema": {"type": "string"}}
            for name, text in headers.items()
        }
    return made


def name_of(answer: Answer) -> str:
    """The name of an answer's schema."""
    return published_name(answer) if isinstance(answer, type) else answer.name


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
