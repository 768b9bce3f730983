"""Reading a request strictly: media type, JSON, shape, query, headers."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Annotated, Final

import msgspec
from flask import request
from werkzeug.exceptions import RequestEntityTooLarge

from decision.case.spec import RecordSpec
from decision.errors import Fault, meant
from decision.fields import sized
from service.address import Parameter
from service.jsontext import read_sent
from service.negotiation import FORM, JSON, require_media
from service.problems import invalid, require_whole, well_formed
from service.schemas import faults_of

KEY_HEADER: Final = "Idempotency-Key"
KEY_PATTERN: Final = re.compile(r"[!#-\[\]-~]{1,255}")  # printable, no space " or \
KEY: Final = Parameter(
    name=KEY_HEADER,
    where="header",
    kind=Annotated[
        str,
        sized(
            "A recorded decision is made once per key: the same body again gets the same bytes.",
            pattern=KEY_PATTERN.pattern,
        ),
    ],
    required=False,
)
SHOWN_LENGTH: Final = 60
FLAGS: Final = {"true": True, "false": False}


def json_body(shape: RecordSpec) -> dict[str, object]:
    """The request body, known to have a shape. Raises: Problem naming everything wrong."""
    body = _parsed()
    faults = faults_of(shape, body)
    if faults or not isinstance(body, dict):
        raise invalid(faults)
    return body


def form_body(shape: RecordSpec) -> dict[str, object]:
    """What was filled into the form of a page. Raises: Problem naming everything wrong."""
    require_media((FORM,))
    with well_formed():
        body: dict[str, object] = dict(request.form.items())
    faults = faults_of(shape, body)
    if faults:
        raise invalid(faults)
    return body


def query_of(known: Mapping[str, Parameter]) -> dict[str, object]:
    """The query, every parameter by its name or at its default. Raises: Problem with every fault.

    Parameters that the address does not have are refused, as unknown fields are.
    """
    faults: list[Fault] = [_unknown(name, known) for name in sorted({*request.args} - {*known})]
    values = {name: parameter.default for name, parameter in known.items()}
    for name in known.keys() & request.args.keys():
        try:
            values[name] = _value(known[name], request.args.getlist(name))
        except ValueError as error:
            faults.append(_query_fault(name, "value", str(error), accepted_by(known[name].schema)))
    if faults:
        raise invalid(faults)
    return values


def accepted_by(schema: Mapping[str, object]) -> str:
    """What a parameter of that schema may be, in words."""
    match schema:
        case {"type": "boolean"}:
            return "true or false, once"
        case {"type": "integer", "minimum": low, "maximum": high}:
            return f"a whole number from {low} to {high}, once"
        case {"format": "date-time"}:
            return "an RFC 3339 instant such as 2026-01-31T06:00:00Z, once"
        case {"type": "array", "description": meaning}:
            return f"{meaning} Once or several times, or with commas between."
        case {"enum": [*words]}:
            return f"one of {', '.join(map(str, words))}, once"
        case _:
            return f"{schema['description']} Once."


def _value(parameter: Parameter, texts: Sequence[str]) -> object:
    """Raises: ValueError if it is given twice, and may not be, or is not of its type."""
    kind = parameter.schema.get("type")
    if len(texts) > 1 and kind != "array":
        raise ValueError("is given more than once")
    text = texts[0]
    match kind:
        case "boolean":
            value: object = FLAGS.get(text)
        case "integer":
            value = int(text) if text.isascii() and text.isdigit() else None
        case "array":
            value = [each for text in texts for each in text.split(",")]
        case _:
            value = text
    if value is None:
        raise ValueError("is not a value of this parameter")
    try:
        return msgspec.convert(value, parameter.kind)
    except msgspec.ValidationError:
        raise ValueError("is not a value of this parameter") from None


def _unknown(name: str, known: Collection[str]) -> Fault:
    message, accepted = f"no such parameter{meant(name, known)}", ", ".join(sorted(known)) or "none"
    return _query_fault(name[:SHOWN_LENGTH], "unknown_parameter", message, accepted)


def idempotency_key() -> str | None:
    """The Idempotency-Key, bare or as the quoted string of the draft standard; None if absent."""
    given = request.headers.get(KEY_HEADER)
    if given is None:
        return None
    key = given[1:-1] if len(given) > 1 and given[0] == given[-1] == '"' else given
    if KEY_PATTERN.fullmatch(key) is None:
        fault = Fault(
            pointer=f"{KEY_HEADER}:",
            code="pattern",
            message="is not a key",
            accepted="1 to 255 printable ASCII characters without spaces, quotes and backslashes",
        )
        raise invalid((fault,))
    return key


def _parsed() -> object:
    require_media((JSON,))
    with well_formed():
        content = request.get_data()
    require_whole(len(content))
    limit = request.max_content_length
    if request.content_length is None and limit is not None and len(content) >= limit:
        raise RequestEntityTooLarge  # in chunks: the framework reads up to the limit, then stops
    return read_sent(content)


def _query_fault(name: str, code: str, message: str, accepted: str) -> Fault:
    return Fault(pointer=f"?{name}", code=code, message=message, accepted=accepted)
