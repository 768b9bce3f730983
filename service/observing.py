"""What every request leaves behind: an id, one log line, and headers that keep browsers honest."""

from __future__ import annotations

import json
import logging
import re
import sys
import time
from datetime import UTC, datetime
from typing import Final, TextIO

from flask import Flask, Response, g, request

from decision.legible import visible
from service.clock import Entropy
from service.spans import begin_request
from service.tracing import HEADER, PRESENT, trace_of

REQUEST_ID_HEADER: Final = "X-Request-ID"
REQUEST_ID_BYTES: Final = 16
# A caller's id goes into the log: only these characters, so that it cannot forge a line.
REQUEST_ID_PATTERN: Final = re.compile(r"[A-Za-z0-9._-]{1,64}")
MS_PER_S: Final = 1_000
SECURITY_HEADERS: Final = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "Cache-Control": "no-store",
}
LOG: Final = logging.getLogger("service.request")


def observe_requests(app: Flask, *, entropy: Entropy) -> None:
    """Give each request an id, and log one line when it ends. Register before anything else."""

    @app.before_request
    def begin() -> None:
        g.started_s = time.perf_counter()
        given = request.headers.get(REQUEST_ID_HEADER, "")
        known = REQUEST_ID_PATTERN.fullmatch(given) is not None
        g.request_id = given if known else entropy(REQUEST_ID_BYTES).hex()
        g.trace = trace_of(request.headers.get(HEADER), entropy=entropy)
        g.span = begin_request(g.trace, method=request.method)
        if g.span is not None:
            g.trace = g.span.trace
        PRESENT.set(g.trace)
        g.noted = {}

    @app.after_request
    def end(response: Response) -> Response:
        response.headers.setdefault(REQUEST_ID_HEADER, g.request_id)
        for name, value in SECURITY_HEADERS.items():
            response.headers.setdefault(name, value)
        LOG.info("request", extra={"fields": _fields(response)})
        _end_span(response)
        return response


def note(**fields: object) -> None:
    """Add fields to the log line of the present request."""
    g.noted.update(fields)


def _end_span(response: Response) -> None:
    """End the span of the present request, once."""
    span, rule = g.pop("span", None), request.url_rule
    if span is not None:
        route = None if rule is None else rule.rule
        span.end(method=request.method, route=route, status=response.status_code)


def _fields(response: Response) -> dict[str, object]:
    rule = request.url_rule
    return {
        "request_id": g.request_id,
        "trace_id": g.trace.trace_id,
        "span_id": g.trace.span_id,
        "method": request.method,
        "route": rule.rule if rule is not None else None,  # never the raw path: it may be anything
        "status": response.status_code,
        "ms": round((time.perf_counter() - g.started_s) * MS_PER_S, 1),
        "bytes": _length(response),
        **g.noted,
    }


def _length(response: Response) -> int | None:
    """Bytes of the body; None of one that is made while it is sent: asking would make it whole."""
    return response.calculate_content_length() if response.is_sequence else None


class JsonLines(logging.Formatter):
    """One JSON object per line: time, level, logger, event, the event's fields, a traceback.

    In ASCII, with every control character written out, so that a line can be looked at.
    """

    def format(self, record: logging.LogRecord) -> str:
        """The line of a record."""
        line: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "event": record.getMessage(),
            **getattr(record, "fields", {}),
        }
        if record.exc_info:
            line["traceback"] = self.formatException(record.exc_info)
        return visible(json.dumps(line, default=str))  # JSON lets DEL through


def log_to(stream: TextIO = sys.stdout, *, level: str) -> None:
    """Send every log line of the process, warnings too, to a stream as JSON."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    logging.basicConfig(handlers=[handler], level=level, force=True)
    logging.captureWarnings(capture=True)
