"""Requests whose end can be read in two ways: refused, or read in the one way that the RFCs allow.

Behind each of them comes a request that must not be answered where it may be a part of the one
before it. RFC 9110 and 9112; all of it over raw sockets, to a real server.
"""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator, Mapping
from contextlib import suppress

import pytest

from tests.faults.running import Running, running

NEXT = b"GET /v1/profiles HTTP/1.1\r\nHost: x\r\n\r\n"
GET = b"GET /v1/profiles HTTP/1.1\r\n"
HOST = b"Host: x\r\n"
POST = b"POST /v1/weather/decode HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
CHUNKED = POST + b"Transfer-Encoding: chunked\r\n\r\n"
STATUS = re.compile(rb"HTTP/1\.[01] (\d{3}) ")
REFUSED = {"400", "501"}
LENGTH = b"%d" % len(NEXT)


def named(**sent: bytes) -> Mapping[str, bytes]:
    return {name.replace("_", " "): content for name, content in sent.items()}


def lengths(*values: bytes) -> Mapping[str, bytes]:
    return {
        f"length {value!r}": POST + b"Content-Length: " + value + b"\r\n\r\n{}" + NEXT
        for value in values
    }


def codings(*values: bytes) -> Mapping[str, bytes]:
    return {
        f"coding {value!r}": POST
        + b"Transfer-Encoding: "
        + value
        + b"\r\n\r\n2\r\n{}\r\n0\r\n\r\n"
        + NEXT
        for value in values
    }


def names(*values: bytes) -> Mapping[str, bytes]:
    """Names of fields that are nearly those that say where a body ends."""
    sent = {}
    for value in values:
        coding = value.replace(b"Content-Length", b"Transfer-Encoding")
        sent[f"name {value!r}"] = POST + value + b": 2\r\n\r\n{}" + NEXT
        chunks = b"2\r\n{}\r\n0\r\n\r\n"
        sent[f"name {coding!r}"] = POST + coding + b": chunked\r\n\r\n" + chunks + NEXT
    return sent


def sizes(*values: bytes) -> Mapping[str, bytes]:
    return {f"size {value!r}": CHUNKED + value + b"\r\n{}\r\n0\r\n\r\n" + NEXT for value in values}


def lines(*values: bytes) -> Mapping[str, bytes]:
    return {f"line {value!r}": value + b"\r\n" + HOST + b"\r\n" + NEXT for value in values}


def hosts(*values: bytes) -> Mapping[str, bytes]:
    return {f"host {value!r}": GET + value + b"\r\n" + NEXT for value in values}


TWO_ENDS = {
    **named(
        length_and_chunks=POST
        + b"Content-Length: "
        + LENGTH
        + b"\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
        + NEXT,
        chunks_and_length=POST
        + b"Transfer-Encoding: chunked\r\nContent-Length: 3\r\n\r\n%x\r\n" % len(NEXT)
        + NEXT
        + b"\r\n0\r\n\r\n",
        one_length_twice=POST + b"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}" + NEXT,
        two_lengths=POST + b"Content-Length: 2\r\nContent-Length: " + LENGTH + b"\r\n\r\n{}" + NEXT,
        chunks_of_1_0=CHUNKED.replace(b"1.1", b"1.0") + b"2\r\n{}\r\n0\r\n\r\n" + NEXT,
    ),
    **lengths(b"+2", b"-2", b"0x2", b"2 2", b"2, 2", b"", b"2\x0b", b"\xef\xbc\x92", b"2;", b"1e1"),
    **codings(
        b"chunked, chunked",
        b"identity, chunked",
        b"chunked, identity",
        b"gzip, chunked",
        b"chunked;q=1",
        b"\x0bchunked",
        b"xchunked",
        b"identity",
        b"'chunked'",
        b"",
        b"chunked\r\nTransfer-Encoding: identity",
    ),
}
NEAR_NAMES = names(
    b"Content-Length ",
    b"Content-Length\t",
    b" Content-Length",
    b"Content-Length\x00",
    b"Content-Length\xa0",
)
BREAKS = named(
    folded=POST + b"X: a\r\n b\r\nContent-Length: 2\r\n\r\n{}" + NEXT,
    folded_length=POST + b"Content-Length:\r\n 2\r\n\r\n{}" + NEXT,
    length_folded_on=POST + b"Content-Length: 2\r\n 0\r\n\r\n{}" + NEXT,
    folded_coding=POST + b"Transfer-Encoding:\r\n chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n" + NEXT,
    bare_LF=POST + b"X: a\nContent-Length: 2\r\n\r\n{}" + NEXT,
    bare_LF_hides_a_coding=POST
    + b"Content-Length: 2\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
    + NEXT,
    bare_LF_ends_the_head=POST + b"Content-Length: 2\r\n\n{}\r\n\r\n" + NEXT,
    LF_alone=b"GET /v1/profiles HTTP/1.1\nHost: x\n\n" + NEXT,
    bare_CR=POST + b"X: a\rContent-Length: 2\r\n\r\n{}" + NEXT,
    bare_CR_hides_a_coding=POST + b"Content-Length: 2\rTransfer-Encoding: chunked\r\n\r\n{}" + NEXT,
    NUL=POST + b"X: a\0b\r\nContent-Length: 2\r\n\r\n{}" + NEXT,
)
CHUNKS = {
    **sizes(b"0x2", b"-2", b"+2", b"2 ", b" 2", b"g", b"2;a\rb", b"2" * 20, b"", b"2_0"),
    **named(
        LF_behind_a_size=CHUNKED + b"2\n{}\r\n0\r\n\r\n" + NEXT,
        LF_behind_a_chunk=CHUNKED + b"2\r\n{}\n0\r\n\r\n" + NEXT,
        LF_at_the_end=CHUNKED + b"2\r\n{}\r\n0\n\n" + NEXT,
        no_break_behind_a_chunk=CHUNKED + b"2\r\n{}0\r\n\r\n" + NEXT,
        chunk_longer_than_said=CHUNKED + b"2\r\n{} \r\n0\r\n\r\n" + NEXT,
        length_in_the_trailer=CHUNKED + b"2\r\n{}\r\n0\r\nContent-Length: 5\r\n\r\n" + NEXT,
        folded_trailer=CHUNKED + b"2\r\n{}\r\n0\r\nX: a\r\n b\r\n\r\n" + NEXT,
    ),
}
FIRST_LINES = {
    **lines(
        b"GET  /v1/profiles HTTP/1.1",
        b"GET /v1/profiles HTTP/1.1 x",
        b"GET\t/v1/profiles\tHTTP/1.1",
        b"get /v1/profiles HTTP/1.1",
        b"G(T /v1/profiles HTTP/1.1",
        b"GET /v1/profiles",
        b"GET /v1/profiles FTP/1.1",
        b"GET /v1/profiles HTTP/3.1",
        b"PRI * HTTP/2.0",
        b"CONNECT x:80 HTTP/1.1",
        b"GET v1/profiles HTTP/1.1",
        b"GET /v1/pro\rfiles HTTP/1.1",
        b"GET /v1/pro\0files HTTP/1.1",
        b"GET http://other/v1/profiles HTTP/1.1",
    ),
    **hosts(
        b"",
        b"Host: x\r\nHost: y\r\n",
        b"Host: x\r\nHost: x\r\n",
        b"Host: x, y\r\n",
        b"Host: x/../y\r\n",
        b"Host: a@x\r\n",
        b"Host: x:y\r\n",
        b"Host:\r\n",
    ),
}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with running(
        tmp_path_factory.mktemp("framing"), APPROACH_WORKERS="1", APPROACH_LOG_LEVEL="ERROR"
    ) as started:
        yield started


def statuses(service: Running, sent: bytes) -> list[str]:
    """Of everything that is answered to some bytes, until the connection is closed."""
    came = b""
    with service.connected() as caller:
        with suppress(OSError):  # it may be closed before all was sent
            caller.sendall(sent)
            caller.shutdown(socket.SHUT_WR)
        with suppress(OSError):  # and the end of its answer may be lost with it
            while piece := caller.recv(65_536):
                came += piece
    return [each.decode() for each in STATUS.findall(came)]


def refused_alone(service: Running, attacks: Mapping[str, bytes]) -> None:
    seen = {name: statuses(service, sent) for name, sent in attacks.items()}
    wrong = {name: got for name, got in seen.items() if len(got) != 1 or not {*got} <= REFUSED}
    assert seen
    assert wrong == {}
    assert statuses(service, NEXT) == ["200"]


@pytest.mark.fault(
    "bodies with two ends (length and chunks, lengths twice, wrong lengths and codings)",
    "refused, and what follows on the connection is not answered",
)
def test_a_body_with_two_ends_is_refused(service: Running) -> None:
    refused_alone(service, TWO_ENDS)


@pytest.mark.fault(
    "names of fields that are nearly those of a body's end", "refused, nothing follows"
)
def test_a_name_that_is_nearly_one_that_ends_a_body_is_refused(service: Running) -> None:
    refused_alone(service, NEAR_NAMES)


@pytest.mark.fault("folded lines, bare CR, bare LF and NUL in a head", "refused, nothing follows")
def test_a_line_that_ends_in_another_way_is_refused(service: Running) -> None:
    refused_alone(service, BREAKS)


@pytest.mark.fault("chunks with wrong sizes, ends and trailers", "refused, nothing follows")
def test_a_chunk_that_is_none_is_refused(service: Running) -> None:
    refused_alone(service, CHUNKS)


@pytest.mark.fault(
    "first lines that are none, a target with another host, no Host, two, or none that is a name",
    "refused, nothing follows",
)
def test_a_request_without_one_target_and_one_name_is_refused(service: Running) -> None:
    refused_alone(service, FIRST_LINES)


@pytest.mark.fault(
    "a body larger than is taken, with a request in it", "413, and nothing in it is answered"
)
@pytest.mark.parametrize("length", [b"70000000", b"9" * 22])
def test_what_stands_in_a_body_that_is_not_taken_is_no_request(
    service: Running, length: bytes
) -> None:
    assert statuses(service, POST + b"Content-Length: " + length + b"\r\n\r\n" + NEXT) == ["413"]


@pytest.mark.parametrize(
    "sent",
    [
        CHUNKED.replace(b"decode", b"nothing") + b"%x\r\n" % len(NEXT) + NEXT,
        POST.replace(b"decode", b"nothing") + b"Content-Length: " + LENGTH + b"\r\n\r\n" + NEXT,
        GET + HOST + b"Content-Length: " + LENGTH + b"\r\n\r\n" + NEXT,
    ],
    ids=["unfinished chunk", "unknown address", "a body of a GET"],
)
def test_what_stands_in_a_body_that_nobody_reads_is_no_request(
    service: Running, sent: bytes
) -> None:
    _, *others = statuses(service, sent)
    assert others in ([], ["400"])


@pytest.mark.fault(
    "heads with lines and fields beyond the limits", "414 and 431; nothing is kept of them"
)
def test_a_head_beyond_the_limits_is_refused(service: Running) -> None:
    start = GET + HOST
    long_fields = b"".join(b"X%d: %s\r\n" % (number, b"a" * 8000) for number in range(60))
    assert statuses(service, start + b"X: " + b"a" * 9000 + b"\r\n\r\n" + NEXT) == ["431"]
    assert statuses(service, start + b"X: a\r\n" * 101 + b"\r\n" + NEXT) == ["431"]
    assert statuses(service, b"GET /" + b"a" * 5000 + b" HTTP/1.1\r\n" + HOST + b"\r\n") == ["414"]
    assert statuses(service, b"GET /" + b"a" * 200_000)[:1] in (["414"], [])
    assert len(statuses(service, start + long_fields + b"\r\n" + NEXT)) <= 1
    assert statuses(service, NEXT) == ["200"]


def test_what_has_one_reading_is_read_so(service: Running) -> None:
    whole = b"2\r\n{}\r\n0\r\n\r\n"
    accepted = {
        "lengths with zeros": POST + b"Content-Length: 02\r\n\r\n{}",
        "chunks": CHUNKED + whole,
        "a coding in capitals": POST + b"Transfer-Encoding: CHUNKED\r\n\r\n" + whole,
        "a chunk with an extension": CHUNKED + b"2;a=b\r\n{}\r\n0\r\n\r\n",
    }
    got = {name: statuses(service, sent + NEXT) for name, sent in accepted.items()}
    assert {*map(tuple, got.values())} == {("422", "200")}
    for absolute in (b"http://x/v1/profiles", b"http://X/v1/profiles"):
        line = b"GET " + absolute + b" HTTP/1.1\r\n"
        same = absolute[7:8]
        assert statuses(service, line + b"Host: " + same + b"\r\n\r\n" + NEXT) == ["200", "200"]
    assert statuses(service, b"\r\n" + NEXT + NEXT) == ["200", "200"]
    assert statuses(service, b"GET /v1/profiles HTTP/1.0\r\n\r\n" + NEXT) == ["200"]
