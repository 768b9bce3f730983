"""Where a request ends, and how long it may take: whatever the pieces in which it comes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.arriving import (
    BODY_S,
    HEAD_S,
    LEAST_BYTES_PER_S,
    LONGEST_CHUNK_LINE,
    LONGEST_HEAD,
    Arriving,
    Progress,
)

MOST = 1_000
HEAD = b"POST /x HTTP/1.1\r\nHost: a\r\n"
CHUNKS = b"4;name=value\r\nabcd\r\nA\r\n0123456789\r\n0\r\nTrailer: 1\r\n\r\n"
REQUESTS = {
    "no body": b"GET /healthz HTTP/1.1\r\n\r\n",
    "empty body": HEAD + b"Content-Length: 0\r\n\r\n",
    "length": HEAD + b"content-length:  12 \r\n\r\nhello, world",
    "chunks": HEAD + b"Transfer-Encoding: Chunked\r\n\r\n" + CHUNKS,
    "no chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
}
NEXT = b"GET /next HTTP/1.1\r\n\r\n"


def arriving() -> Arriving:
    return Arriving(most_bytes=MOST, now_s=0.0)


def arrived(*pieces: bytes) -> Arriving:
    came = arriving()
    for piece in pieces:
        came.feed(piece, now_s=0.0)
    return came


def assert_whole(came: Arriving) -> None:
    assert came.stage is Progress.WHOLE
    came.close()


@pytest.mark.parametrize("request_", REQUESTS.values(), ids=REQUESTS.keys())
@given(cuts=st.lists(st.integers(0, 120), max_size=6))
def test_a_request_is_whole_with_its_last_byte_in_whatever_pieces(
    request_: bytes, cuts: list[int]
) -> None:
    ends = sorted({min(cut, len(request_) - 1) for cut in cuts})
    came, at = arriving(), 0
    for end in ends:
        if end > at:
            came.feed(request_[at:end], now_s=0.0)
            assert came.stage is not Progress.WHOLE
            at = end
    came.feed(request_[at:] + NEXT, now_s=0.0)
    assert came.behind == NEXT
    assert b"".join(came.pieces()) == request_
    assert_whole(came)


UNCLEAR = {
    "two lengths": b"Content-Length: 3\r\nContent-Length: 4\r\n",
    "length and coding": b"Content-Length: 3\r\nTransfer-Encoding: chunked\r\n",
    "no number": b"Content-Length: 3x\r\n",
    "negative": b"Content-Length: -3\r\n",
    "other coding": b"Transfer-Encoding: gzip\r\n",
    "two codings": b"Transfer-Encoding: gzip, chunked\r\n",
    "too long": b"Content-Length: 1001\r\n",
}


@pytest.mark.parametrize("fields", UNCLEAR.values(), ids=UNCLEAR.keys())
def test_what_is_not_clear_is_handed_over_to_be_refused(fields: bytes) -> None:
    came = arrived(HEAD + fields + b"\r\n" + NEXT, NEXT)
    assert came.stage is Progress.WHOLE
    assert not came.is_framed
    assert came.behind == b"", "what may be its body is no request"


@pytest.mark.parametrize("chunks", [b"zz\r\n", b"\r\n", b"-1\r\n", b"1" * (LONGEST_CHUNK_LINE + 1)])
def test_chunks_that_are_none_are_handed_over(chunks: bytes) -> None:
    came = arrived(HEAD + b"Transfer-Encoding: chunked\r\n\r\n", chunks)
    assert b"".join(came.pieces()).endswith(chunks)
    assert_whole(came)


def test_chunks_beyond_the_limit_are_handed_over_and_the_rest_is_left_to_the_reader() -> None:
    came = arrived(HEAD + b"Transfer-Encoding: chunked\r\n\r\nFFFF\r\n" + b"x" * MOST)
    assert came.stage is Progress.WHOLE
    assert came.size >= MOST
    came.close()


def test_a_head_that_does_not_end_is_handed_over_to_be_refused() -> None:
    came = arrived(b"GET /" + b"a" * LONGEST_HEAD)
    assert came.stage is Progress.WHOLE


@pytest.mark.parametrize("came", [b"G", HEAD, HEAD + b"Content-Length: 12\r\n\r\nhello"])
def test_a_caller_who_ends_early_has_sent_what_came(came: bytes) -> None:
    request = arrived(came)
    assert request.stage in {Progress.HEAD, Progress.BODY}
    request.end()
    assert b"".join(request.pieces()) == came
    assert_whole(request)


def test_a_head_has_its_time_from_the_first_byte() -> None:
    came = arriving()
    assert not came.is_late(now_s=1e6), "of what has not begun the connection knows"
    came.feed(b"GET", now_s=100.0)
    came.feed(b" /", now_s=109.0)
    assert not came.is_late(now_s=100.0 + HEAD_S)
    assert came.is_late(now_s=100.1 + HEAD_S)


def test_a_body_has_its_least_rate_after_a_head_start() -> None:
    came = Arriving(most_bytes=10**9, now_s=0.0)
    came.feed(HEAD + b"Content-Length: 100000000\r\n\r\n", now_s=0.0)
    assert not came.is_late(now_s=BODY_S)
    assert came.is_late(now_s=BODY_S + 0.1)
    came.feed(bytes(LEAST_BYTES_PER_S), now_s=BODY_S)
    assert not came.is_late(now_s=BODY_S + 1.0)
    assert came.is_late(now_s=BODY_S + 1.1)
    came.close()


@pytest.mark.parametrize("value", [b"100-continue", b" 100-Continue"])
def test_who_waits_for_leave_gets_it_once_and_the_field_is_not_read_again(value: bytes) -> None:
    came = arrived(HEAD + b"Expect:" + value + b"\r\nContent-Length: 2\r\n\r\n")
    assert came.wants_continue
    came.feed(b"{}", now_s=0.0)
    assert b"".join(came.pieces()) == HEAD + b"Content-Length: 2\r\n\r\n{}"
    assert_whole(came)


def test_other_expectations_are_left_to_be_refused() -> None:
    came = arrived(HEAD + b"Expect: much\r\nContent-Length: 2\r\n\r\n{}")
    assert not came.wants_continue
    assert b"Expect: much" in b"".join(came.pieces())
    assert_whole(came)


@pytest.mark.parametrize(
    ("line", "health"),
    [(b"GET /healthz ", True), (b"HEAD /healthz ", True), (b"GET /healthzz ", False)],
)
def test_a_sign_of_life_is_known_by_its_first_line(line: bytes, health: bool) -> None:
    assert arrived(line + b"HTTP/1.1\r\n\r\n").is_health is health
