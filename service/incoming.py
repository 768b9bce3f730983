"""Reading a request strictly: media type, JSON, shape, query, headers."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final

from flask import request
from werkzeug.exceptions import RequestEntityTooLarge

from decision.case.spec import Record
from decision.errors import Fault
from service.jsontext import read_json
from service.problems import MEDIA, NOT_JSON, Problem, invalid
from service.schemas import faults_of

JSON_TYPE: Final = "application/json"
KEY_HEADER: Final = "Idempotency-Key"
KEY_PATTERN: Final = re.compile(r"[\x21\x23-\x5b\x5d-\x7e]{1,255}")  # printable, no space " or \
FLAGS: Final = {"true": True, "false": False}


def json_body(shape: Record) -> dict[str, object]:
    """The request body, known to have a shape. Raises: Problem naming everything wrong."""
    body = _parsed()
    faults = faults_of(shape, body)
    if faults or not isinstance(body, dict):
        raise invalid(faults)
    return body


def query_flag(name: str, *, default: bool) -> bool:
    """A query parameter that is true or false; no other parameter may be there."""
    require_query({name})
    text = request.args.get(name)
    if text is None:
        return default
    if text not in FLAGS or len(request.args.getlist(name)) > 1:
        raise invalid((_query_fault(name, "flag", "is not a flag", "true or false, once"),))
    return FLAGS[text]


def require_query(known: Collection[str]) -> None:
    """Refuse query parameters that the address does not have, as unknown fields are refused."""
    accepted = ", ".join(sorted(known)) or "none"
    unknown = sorted(set(request.args) - set(known))
    if unknown:
        raise invalid(
            tuple(
                _query_fault(name[:60], "unknown_parameter", "no such parameter", accepted)
                for name in unknown
            )
        )


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
    if request.mimetype != JSON_TYPE or request.headers.get("Content-Encoding", "identity") != (
        "identity"
    ):
        raise Problem(MEDIA, MEDIA.meaning, headers={"Accept": JSON_TYPE})
    content = request.get_data()
    limit = request.max_content_length
    if request.content_length is None and limit is not None and len(content) >= limit:
        raise RequestEntityTooLarge  # in chunks: the framework reads up to the limit, then stops
    try:
        return read_json(content)
    except ValueError:
        raise Problem(NOT_JSON, NOT_JSON.meaning) from None


def _query_fault(name: str, code: str, message: str, accepted: str) -> Fault:
    return Fault(pointer=f"?{name}", code=code, message=message, accepted=accepted)
