"""Spans go to whoever the standard's variables name, and without them nothing is loaded or made."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import ExportTraceServiceRequest

from service import spans
from service.settings import ROOT
from service.spans import ENDPOINTS, begin_spans, installed, span, wanted
from tests.faults.callers import CASE
from tests.faults.running import running

TRACE, PARENT = "0af7651916cd43dd8448eb211c80319c", "b7ad6b7169203331"
SOON_S = 15.0


@dataclass(kw_only=True)
class Receiver:
    """What takes spans by OTLP: where it listens, and what has come."""

    address: str
    spans: list[Any] = field(default_factory=list)
    resources: list[dict[str, str]] = field(default_factory=list)

    def of_trace(self, trace_id: str, count: int) -> dict[str, Any]:
        """The spans of a trace by name, once so many have come."""
        until_s = time.monotonic() + SOON_S
        while time.monotonic() < until_s:
            found = {each.name: each for each in self.spans if each.trace_id.hex() == trace_id}
            if len(found) >= count:
                return found
            time.sleep(0.02)
        return {}


@contextmanager
def receiving() -> Iterator[Receiver]:
    class Handler(BaseHTTPRequestHandler):
        def log_message(self, *_: Any) -> None:
            pass

        def do_POST(self) -> None:
            content = self.rfile.read(int(self.headers["Content-Length"]))
            for part in ExportTraceServiceRequest.FromString(content).resource_spans:
                named = {each.key: each.value.string_value for each in part.resource.attributes}
                receiver.resources.append(named)
                receiver.spans += [each for scope in part.scope_spans for each in scope.spans]
            self.send_response(200)
            self.end_headers()

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    receiver = Receiver(address=f"http://127.0.0.1:{server.server_port}")
    thread = threading.Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)


def attributes(of: Any) -> dict[str, Any]:
    return {each.key: each.value.int_value or each.value.string_value for each in of.attributes}


def test_a_request_is_told_with_its_parts_in_the_trace_of_the_caller(tmp_path: Path) -> None:
    with receiving() as receiver:
        given = {
            "OTEL_EXPORTER_OTLP_ENDPOINT": receiver.address,
            "OTEL_BSP_SCHEDULE_DELAY": "50",
            "APPROACH_WORKERS": "1",
        }
        with running(tmp_path, **given) as service:
            headers = {"traceparent": f"00-{TRACE}-{PARENT}-01"}
            assert service.ask("/v1/decisions", CASE, headers=headers).status == 201
            told = receiver.of_trace(TRACE, 3)
            lost = service.ask("/v1/decisions/none", headers={"X-Request-ID": "lost"})
            assert lost.status == 404
            service.stop()
            lines = [json.loads(each) for each in service.log.read_text().splitlines()]
    request = told["POST /v1/decisions"]
    assert request.parent_span_id.hex() == PARENT
    assert attributes(request) == {
        "http.request.method": "POST",
        "http.route": "/v1/decisions",
        "http.response.status_code": 201,
    }
    for name in ("decide", "store write"):
        assert told[name].parent_span_id == request.span_id
        assert request.start_time_unix_nano <= told[name].start_time_unix_nano
        assert told[name].end_time_unix_nano <= request.end_time_unix_nano
    assert {each["service.name"] for each in receiver.resources} == {"approach-decisions"}
    logged = next(each for each in lines if each.get("trace_id") == TRACE)
    assert logged["span_id"] == request.span_id.hex()
    of_lost = next(each for each in lines if each.get("request_id") == "lost")
    last = [each for each in receiver.spans if each.trace_id.hex() == of_lost["trace_id"]]
    assert "GET /v1/decisions/<id>" in {each.name for each in last}, "sent before the end"


@pytest.mark.parametrize(
    ("environment", "expected"),
    [
        ({}, False),
        ({ENDPOINTS[0]: "http://a"}, True),
        ({ENDPOINTS[1]: "http://a"}, True),
        ({ENDPOINTS[0]: ""}, False),
        ({ENDPOINTS[0]: "http://a", "OTEL_SDK_DISABLED": "TRUE"}, False),
        ({ENDPOINTS[0]: "http://a", "OTEL_TRACES_EXPORTER": "none"}, False),
        ({"OTEL_SERVICE_NAME": "a"}, False),
    ],
)
def test_the_variables_of_the_standard_say_whether_spans_are_wanted(
    environment: dict[str, str], expected: bool
) -> None:
    assert wanted(environment) is expected


@pytest.fixture
def restored() -> Iterator[None]:
    yield
    begin_spans({})


@pytest.mark.usefixtures("restored")
def test_without_the_extra_that_is_said_and_nothing_is_made(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(spans, "installed", lambda: False)
    with caplog.at_level(logging.WARNING):
        begin_spans({ENDPOINTS[0]: "http://127.0.0.1:1"})
    assert "the extra `otel` is not installed" in caplog.text
    assert span("decide") is spans.NOTHING


def test_a_library_that_is_not_there_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    assert installed()
    monkeypatch.setattr(spans, "LIBRARIES", ("nowhere.sdk",))
    assert not installed()


@pytest.mark.usefixtures("restored")
def test_a_part_without_a_request_is_no_span_and_an_error_goes_on() -> None:
    begin_spans({ENDPOINTS[0]: "http://127.0.0.1:1"})
    with pytest.raises(KeyError), span("decide"):
        raise KeyError
    assert spans._IN_FORCE[0].tracers == {}, "nothing was made for it"


def test_unasked_the_library_is_not_loaded() -> None:
    code = (
        "import sys, service.wsgi; from service.spans import begin_spans, span, NOTHING;"
        "begin_spans({}); assert span('decide') is NOTHING;"
        "assert not [each for each in sys.modules if each.startswith('opentelemetry')]"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
