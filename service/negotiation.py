"""Which of the offered representations a request accepts (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from flask import request
from werkzeug.datastructures import MIMEAccept
from werkzeug.http import parse_accept_header

from decision.errors import Fault
from service.problems import MEDIA, NOT_ACCEPTABLE, Problem

JSON: Final = "application/json"
TEXT: Final = "text/plain"
HTML: Final = "text/html"
FORM: Final = "application/x-www-form-urlencoded"
SVG: Final = "image/svg+xml"
SCRIPT: Final = "text/javascript"
EVENT_STREAM: Final = "text/event-stream"
JSON_LINES: Final = ("application/x-ndjson", "application/jsonl")
IDENTITY: Final = "identity"
ANY: Final = "*/*"
FORMS_OF_A_BRIEF: Final = (JSON, TEXT, HTML)  # the first is for whoever takes anything


def require_media(accepted: Sequence[str]) -> None:
    """Refuse a body of another media type, or with a content coding. Raises: Problem (415)."""
    faults: list[Fault] = []
    said = " or ".join(accepted)
    if request.mimetype not in accepted:
        told = f"is {request.mimetype}" if request.mimetype else "is missing"
        faults.append(_fault("Content-Type:", "media_type", told, said))
    if request.headers.get("Content-Encoding", IDENTITY) != IDENTITY:
        faults.append(_fault("Content-Encoding:", "content_coding", "is not taken", "no coding"))
    if faults:
        detail = f"Send the body with Content-Type: {said}, without a content coding."
        raise Problem(MEDIA, detail, faults=faults, headers={"Accept": ", ".join(accepted)})


def acceptable(offers: Sequence[str]) -> str:
    """The best offer; the first one when the request does not care. Raises: Problem (406)."""
    given = _as_rfc_9110_has_it(request.headers.get("Accept", ""))
    if not given:  # no header: anything goes
        return offers[0]
    best = given.best_match(offers)
    if best is None:
        fault = _fault("Accept:", "not_acceptable", "excludes every offer", ", ".join(offers))
        raise Problem(NOT_ACCEPTABLE, NOT_ACCEPTABLE.meaning, faults=(fault,))
    return best


def _as_rfc_9110_has_it(header: str) -> MIMEAccept:
    """The ranges of a header; some clients write any as * and a weight without its zero."""
    ranges = parse_accept_header(header.replace("q=.", "q=0."), MIMEAccept)
    return MIMEAccept((ANY if kind == "*" else kind, weight) for kind, weight in ranges)


def _fault(pointer: str, code: str, message: str, accepted: str) -> Fault:
    return Fault(pointer=pointer, code=code, message=message, accepted=accepted)
