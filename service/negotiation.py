"""Which of the offered representations a request accepts (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from flask import request

from decision.errors import Fault
from service.problems import NOT_ACCEPTABLE, Problem

JSON: Final = "application/json"
TEXT: Final = "text/plain"
HTML: Final = "text/html"
SVG: Final = "image/svg+xml"
JSON_LINES: Final = ("application/x-ndjson", "application/jsonl")
FORMS_OF_A_BRIEF: Final = (JSON, TEXT, HTML)  # the first is for whoever takes anything


def acceptable(offers: Sequence[str]) -> str:
    """The best offer; the first one when the request does not care. Raises: Problem (406)."""
    if not request.accept_mimetypes:  # no header: anything goes
        return offers[0]
    best = request.accept_mimetypes.best_match(offers)
    if best is None:
        fault = Fault(
            pointer="Accept:",
            code="not_acceptable",
            message="excludes every offer",
            accepted=", ".join(offers),
        )
        raise Problem(NOT_ACCEPTABLE, NOT_ACCEPTABLE.meaning, faults=(fault,))
    return best
