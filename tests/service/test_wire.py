"""What an answer is on the wire: packed, tagged, linked, traced."""

from __future__ import annotations

import gzip
import json
import zlib
from typing import Any

import brotli
import pytest
from flask import Flask, request
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.fetching.deadline import FetchDeadline
from service.fetching.transport import Transport
from service.resources import VIEWS
from service.tracing import PRESENT, Trace, trace_of
from service.wire import SHORTEST, WHOLE
from tests.case.builders import demo
from tests.service.builders import body, counting_entropy, listening

UNPACK = {"gzip": gzip.decompress, "br": brotli.decompress}
BIG = "/openapi.json"
SMALL = "/v1/rulebooks"


def packed(client: FlaskClient, path: str, accept: str) -> TestResponse:
    return client.get(path, headers={"Accept-Encoding": accept})


@pytest.mark.parametrize("coding", UNPACK)
def test_an_answer_is_packed_for_who_takes_it_and_is_the_same_unpacked(
    client: FlaskClient, coding: str
) -> None:
    plain, sent = client.get(BIG), packed(client, BIG, coding)
    assert plain.headers.get("Content-Encoding") is None
    assert sent.headers["Content-Encoding"] == coding
    assert UNPACK[coding](sent.data) == plain.data
    assert len(sent.data) < len(plain.data) / 4
    assert int(sent.headers["Content-Length"]) == len(sent.data)
    assert {plain.headers["Vary"], sent.headers["Vary"]} == {"Accept-Encoding"}


@pytest.mark.parametrize(
    ("accept", "coding"),
    [
        ("", None),
        ("identity", None),
        ("deflate, zstd", None),
        ("gzip;q=0", None),
        ("gzip;q=0.5, identity;q=0.9", None),
        ("gzip, br", "br"),
        ("gzip, br;q=0.5", "gzip"),
        ("*", "br"),
        ("*;q=0.5, br;q=0", "gzip"),
        ("GZIP", "gzip"),
    ],
)
def test_the_coding_is_the_one_that_the_caller_takes_best(
    client: FlaskClient, accept: str, coding: str | None
) -> None:
    assert packed(client, BIG, accept).headers.get("Content-Encoding") == coding


def test_what_is_short_is_sent_as_it_is(client: FlaskClient) -> None:
    sent = packed(client, "/healthz", "gzip")
    assert len(sent.data) < SHORTEST
    assert "Content-Encoding" not in sent.headers
    assert "Vary" not in sent.headers


def test_each_coding_has_an_etag_of_its_own_and_only_that_is_known(client: FlaskClient) -> None:
    tags = {"": client.get(BIG).headers["ETag"]}
    tags |= {coding: packed(client, BIG, coding).headers["ETag"] for coding in WHOLE}
    assert len(set(tags.values())) == 1 + len(WHOLE)
    assert tags["gzip"] == tags[""][:-1] + '-gzip"'
    for coding, tag in tags.items():
        for asked in tags:
            headers = {"If-None-Match": tag, "Accept-Encoding": asked}
            answer = client.get(BIG, headers=headers)
            assert answer.status_code == (304 if asked == coding else 200)
            if answer.status_code == 304:
                assert answer.data == b""
                assert answer.headers["ETag"] == tag
                assert "Content-Encoding" not in answer.headers


def test_every_get_that_can_be_had_again_is_declared_and_tagged(client: FlaskClient) -> None:
    seen = 0
    for view in VIEWS:
        address = view.address
        if address.method != "GET" or "<" in address.path:
            continue
        answer = client.get(address.path)
        if answer.status_code != 200:
            continue
        seen += 1
        assert ("ETag" in answer.headers) is address.is_had_again, address.path
        cached = answer.headers["Cache-Control"]
        assert cached == ("private, no-cache" if address.is_had_again else "no-store")
        if address.is_had_again:
            again = client.get(address.path, headers={"If-None-Match": answer.headers["ETag"]})
            assert again.status_code == 304
    assert seen > 8


def test_a_recorded_decision_is_tagged_by_its_bytes_in_any_coding(client: FlaskClient) -> None:
    made = client.post("/v1/decisions", json=body(), headers={"Accept-Encoding": "gzip"})
    path = made.headers["Location"]
    plain = client.get(path)
    assert made.headers["ETag"] == plain.headers["ETag"]  # a short answer, not packed
    assert client.get(path, headers={"If-None-Match": plain.headers["ETag"]}).status_code == 304


def test_lines_are_packed_one_by_one(real_client: FlaskClient) -> None:
    """Each piece that comes can be unpacked at once, up to the end of its line."""
    line = json.dumps(demo("gear-stuck")).encode()
    lines = b"\n".join([line] * 3)
    ask: dict[str, Any] = {"data": lines, "content_type": "application/x-ndjson"}
    plain = real_client.post("/v1/decisions/batch", **ask).data
    answer = real_client.post(
        "/v1/decisions/batch", **ask, headers={"Accept-Encoding": "gzip"}, buffered=False
    )
    assert answer.headers["Content-Encoding"] == "gzip"
    unpacker = zlib.decompressobj(31)
    came = [unpacker.decompress(piece) for piece in answer.iter_encoded()]
    assert b"".join(came) == plain
    told = [each for each in came if each]
    assert len(told) == 4
    assert all(each.endswith(b"\n") for each in told)


def links_from(client: FlaskClient, path: str) -> list[Any]:
    """Each page, followed by its link alone."""
    pages: list[Any] = []
    following: str | None = path
    while following is not None:
        answer = client.get(following)
        assert answer.status_code == 200
        pages.append(answer.get_json())
        link = answer.headers.get("Link")
        following = None
        if link is not None:
            target, _, relation = link.partition("; ")
            assert relation == 'rel="next"'
            following = target.strip("<>")
    return pages


def test_pages_of_a_history_and_of_findings_are_linked(real_client: FlaskClient) -> None:
    case = demo("gear-stuck") | {"flight_id": "A 1/+"}
    ids = [real_client.post("/v1/decisions", json=case).get_json()["id"] for _ in range(5)]
    pages = links_from(real_client, "/v1/flights/A 1/+/decisions?limit=2")
    assert [each["id"] for page in pages for each in page["decisions"]] == ids[::-1]
    assert pages[-1]["next_before"] is None
    path = f"/v1/decisions/{ids[0]}/findings?outcome=FAIL,PASS"
    whole = real_client.get(path).get_json()["findings"]
    parts = links_from(real_client, f"{path}&limit=30")
    assert len(parts) > 2
    assert [each for part in parts for each in part["findings"]] == whole


# --- traces ---

GIVEN = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"


@pytest.mark.parametrize(
    ("given", "taken"),
    [
        # W3C Trace Context, 2021-11-23, 3.2.2: the example, a later version, what is invalid
        (GIVEN, True),
        ("cc" + GIVEN[2:] + "-what-the-future-will-be-like", True),
        ("ff" + GIVEN[2:], False),
        (GIVEN.upper(), False),
        (GIVEN[:3] + "0" * 32 + GIVEN[35:], False),
        (GIVEN[:36] + "0" * 16 + GIVEN[52:], False),
        (GIVEN[:-1], False),
        (GIVEN + "\r\nx: y", False),
        (None, False),
    ],
)
def test_a_trace_is_taken_up_where_it_is_one(given: str | None, taken: bool) -> None:
    trace = trace_of(given, entropy=counting_entropy())
    assert (trace.trace_id == "4bf92f3577b34da6a3ce929d0e0e4736") is taken
    assert trace.span_id != "00f067aa0ba902b7"
    assert trace.header.startswith(f"00-{trace.trace_id}-{trace.span_id}-")
    assert trace.header.endswith("01" if taken else "00")


def test_a_trace_stands_in_the_log_line(
    client: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level("INFO", logger="service.request"):
        client.get("/healthz", headers={"traceparent": GIVEN})
    fields: dict[str, Any] = caplog.records[-1].__dict__["fields"]
    assert fields["trace_id"] == "4bf92f3577b34da6a3ce929d0e0e4736"
    assert len(fields["span_id"]) == 16


def test_a_trace_is_passed_on_to_the_source_of_reports() -> None:
    seen: list[str | None] = []
    app = Flask("source")

    @app.get("/")
    def source() -> str:
        seen.append(request.headers.get("traceparent"))
        return "METAR"

    trace = Trace(trace_id="a" * 32, span_id="b" * 16, flags="01")
    transport = Transport(hosts=["127.0.0.1"])
    with listening(app) as address:
        for each in (None, trace):
            token = PRESENT.set(each)
            try:
                transport.get(f"{address}/", deadline=FetchDeadline(total_s=5.0))
            finally:
                PRESENT.reset(token)
    transport.close()
    assert seen == [None, trace.header]
