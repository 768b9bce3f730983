"""Spans of OpenTelemetry, where somebody wants them: requests, deciding, store and fetching.

They are made when the extra `otel` is installed and a variable of the standard says where they go
(OTEL_EXPORTER_OTLP_ENDPOINT or OTEL_EXPORTER_OTLP_TRACES_ENDPOINT), and sent by OTLP over HTTP. All
else about them (sampling, headers, how many at once) is the standard's variables, too, which the
library reads by itself. Otherwise the library is not even loaded, and a span is nothing.

What a caller writes becomes no attribute: routes, methods, statuses and kinds of errors only.
"""

from __future__ import annotations

import importlib.util
import logging
import os
import threading
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from service.tracing import Trace
from service.version import VERSION

if TYPE_CHECKING:
    from opentelemetry.sdk.trace.export import SpanExporter
    from opentelemetry.trace import Span, Tracer

LOG: Final = logging.getLogger("service.spans")
ENDPOINTS: Final = ("OTEL_EXPORTER_OTLP_ENDPOINT", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT")
DISABLED, EXPORTER = "OTEL_SDK_DISABLED", "OTEL_TRACES_EXPORTER"
SERVICE_NAME, RESOURCE = "OTEL_SERVICE_NAME", "OTEL_RESOURCE_ATTRIBUTES"
NAME: Final = "approach-decisions"
LIBRARIES: Final = ("opentelemetry.sdk", "opentelemetry.exporter.otlp.proto.http")
NO_LIBRARY: Final = (
    "OTEL_* says where spans go, but the extra `otel` is not installed: none are made"
)
NOTHING: Final = nullcontext()
FAILED_FROM: Final = 500


@dataclass(kw_only=True)
class Spans:
    """Where the spans of this process go; made with the first of them, after any fork."""

    exporter: SpanExporter | None = None
    tracers: dict[int, Tracer] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def tracer(self) -> Tracer:
        """That of this process: a thread that sends does not live on in a child."""
        found = self.tracers.get(os.getpid())
        if found is None:
            with self.lock:
                found = self.tracers.get(os.getpid()) or _tracer(self.exporter)
                self.tracers[os.getpid()] = found
        return found


_IN_FORCE: list[Spans] = []  # one or none


def wanted(environment: Mapping[str, str]) -> bool:
    """Whether the environment says where spans go, and not that there shall be none."""
    off = environment.get(DISABLED, "").lower() == "true" or environment.get(EXPORTER) == "none"
    return not off and any(environment.get(each) for each in ENDPOINTS)


def installed() -> bool:
    """Whether the extra is there."""
    try:
        return all(importlib.util.find_spec(each) is not None for each in LIBRARIES)
    except ImportError:  # not even the package that they are in
        return False


def begin_spans(environment: Mapping[str, str]) -> None:
    """Have spans made from here on, where they are wanted; say so where they cannot be."""
    _IN_FORCE.clear()
    if not wanted(environment):
        return
    if installed():
        _IN_FORCE.append(Spans())
    else:
        LOG.warning(NO_LIBRARY)


def span(name: str) -> AbstractContextManager[None]:
    """A part of the present request; of what is done without one, nothing."""
    return _span(_IN_FORCE[0], name) if _IN_FORCE else NOTHING


@contextmanager
def _span(spans: Spans, name: str) -> Iterator[None]:
    from opentelemetry.trace import Status, StatusCode, get_current_span  # noqa: PLC0415 - extra

    if not get_current_span().get_span_context().is_valid:
        yield
        return
    with spans.tracer().start_as_current_span(
        name, record_exception=False, set_status_on_exception=False
    ) as made:
        try:
            yield
        except Exception as error:  # its words may be a caller's; its kind is not
            made.set_attribute("error.type", type(error).__name__)
            made.set_status(Status(StatusCode.ERROR))
            raise


@dataclass(frozen=True, slots=True, kw_only=True)
class RequestSpan:
    """That of a request under way."""

    span: Span
    token: Any
    trace: Trace

    def end(self, *, method: str, route: str | None, status: int) -> None:
        """End it with its answer's head."""
        from opentelemetry import context  # noqa: PLC0415
        from opentelemetry.trace import Status, StatusCode  # noqa: PLC0415

        self.span.update_name(method if route is None else f"{method} {route}")
        self.span.set_attribute("http.response.status_code", status)
        if route is not None:
            self.span.set_attribute("http.route", route)
        if status >= FAILED_FROM:
            self.span.set_status(Status(StatusCode.ERROR))
        self.span.end()
        context.detach(self.token)


def begin_request(trace: Trace, *, method: str) -> RequestSpan | None:
    """The span of a request that has begun, in its trace; None where there are no spans."""
    if not _IN_FORCE:
        return None
    from opentelemetry import context  # noqa: PLC0415
    from opentelemetry import trace as api  # noqa: PLC0415

    above = context.Context()
    if trace.parent_id is not None:
        given = api.SpanContext(
            trace_id=int(trace.trace_id, 16),
            span_id=int(trace.parent_id, 16),
            is_remote=True,
            trace_flags=api.TraceFlags(int(trace.flags, 16)),
        )
        above = api.set_span_in_context(api.NonRecordingSpan(given), above)
    made = (
        _IN_FORCE[0]
        .tracer()
        .start_span(
            method,
            context=above,
            kind=api.SpanKind.SERVER,
            attributes={"http.request.method": method},
        )
    )
    own = made.get_span_context()
    return RequestSpan(
        span=made,
        token=context.attach(api.set_span_in_context(made, above)),
        trace=Trace(
            trace_id=f"{own.trace_id:032x}",
            span_id=f"{own.span_id:016x}",
            flags=f"{int(own.trace_flags):02x}",
            parent_id=trace.parent_id,
        ),
    )


def _tracer(exporter: SpanExporter | None) -> Tracer:
    from opentelemetry.exporter.otlp.proto.http.trace_exporter import (  # noqa: PLC0415
        OTLPSpanExporter,
    )
    from opentelemetry.sdk.resources import Resource  # noqa: PLC0415
    from opentelemetry.sdk.trace import TracerProvider  # noqa: PLC0415
    from opentelemetry.sdk.trace.export import BatchSpanProcessor  # noqa: PLC0415

    own = {"service.version": VERSION}
    if not os.environ.get(SERVICE_NAME) and "service.name=" not in os.environ.get(RESOURCE, ""):
        own["service.name"] = NAME
    provider = TracerProvider(resource=Resource.create(own))
    provider.add_span_processor(BatchSpanProcessor(exporter or OTLPSpanExporter()))
    return provider.get_tracer("service", VERSION)
