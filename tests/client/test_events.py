"""Server-sent events as the standard has them, and coming back after an interruption."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.client import Client, NoAnswer, RequestRefused, StreamedEvent
from service.client.calls import Bounds
from service.client.streams import EventReader

STREAM = (
    '\ufeffretry: 1500\nid: 6\n\n: heartbeat\nid: 7\n\nid: 8\nevent: changed\r\ndata: {"a":\r'
    'data:  "é"}\n\ndata: 1\nid\n\nid: 9\0\ndata\ndata: 2\n\nevent: lost\n\ndata: 3'
).encode()
TOLD = [
    StreamedEvent(event_id="8", kind="changed", data={"a": "é"}),
    StreamedEvent(event_id="", kind="message", data=1),
    StreamedEvent(event_id="", kind="message", data=2),
]


def test_events_are_read_as_the_standard_has_them() -> None:
    reader = EventReader(None)
    assert list(reader.feed(STREAM)) == TOLD
    assert reader.retry_s == 1.5
    assert reader.last_event_id == ""


@given(st.lists(st.integers(0, len(STREAM)), max_size=12))
def test_wherever_the_bytes_are_cut_the_events_are_the_same(cuts: list[int]) -> None:
    reader = EventReader(None)
    ends = [0, *sorted(cuts), len(STREAM)]
    pieces = [STREAM[begin:end] for begin, end in pairwise(ends) if end > begin]
    assert [told for piece in pieces for told in reader.feed(piece)] == TOLD


def test_the_id_of_a_block_that_did_not_end_does_not_count() -> None:
    reader = EventReader("5")
    assert list(reader.feed(b"id: 6\ndata: 1\n")) == []
    assert reader.last_event_id == "5"
    assert list(reader.feed(b"\n")) == [StreamedEvent(event_id="6", kind="message", data=1)]
    assert reader.last_event_id == "6"


def test_an_event_that_is_no_json_is_no_event() -> None:
    with pytest.raises(NoAnswer):
        list(EventReader(None).feed(b"data: {\n\n"))


@contextmanager
def streaming(*parts: bytes | int) -> Iterator[tuple[str, list[str | None]]]:
    """Each connection gets the next part and is ended, or a status; what came as Last-Event-ID."""
    left, asked = list(parts), list[str | None]()

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def log_message(self, *_: Any) -> None:
            pass

        def do_GET(self) -> None:
            asked.append(self.headers.get("Last-Event-ID"))
            part = left.pop(0) if left else 404
            self.send_response(part if isinstance(part, int) else 200)
            self.send_header("Content-Type", "text/event-stream")
            self.send_header("Retry-After", "0")
            self.send_header("Connection", "close")
            self.end_headers()
            if isinstance(part, bytes):
                self.wfile.write(part)

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", asked
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)


def test_a_stream_that_breaks_goes_on_with_what_was_told_last() -> None:
    parts = (
        b'retry: 1\nid: 3\n\nid: 4\ndata: "a"\n\nid: 5\ndata: "cut o',
        503,
        b'id: 5\ndata: "cut off"\n\n: heartbeat\nid: 9\n\n',
        b'id: 10\ndata: "b"\n\n',
    )
    with streaming(*parts) as (address, asked), Client(address) as client:
        told = client.events(flights=["XA 1", "XA 2"])
        assert [next(told).data for _ in range(3)] == ["a", "cut off", "b"]
        with pytest.raises(RequestRefused):
            next(told)
    assert asked == [None, "4", "4", "9", "10"]


def test_a_stream_begins_where_the_caller_left_it() -> None:
    with streaming(b"id: 2\ndata: 2\n\n") as (address, asked), Client(address) as client:
        assert next(client.events(last_event_id="1")) == StreamedEvent(
            event_id="2", kind="message", data=2
        )
    assert asked == ["1"]


def test_a_stream_that_does_not_come_about_is_told() -> None:
    with streaming(*[503] * 5) as (address, asked):
        client = Client(address, bounds=Bounds(tries=3))
        with pytest.raises(RequestRefused):
            next(client.events())
    assert len(asked) == 3
    assert json.dumps(asked) == "[null, null, null]"
