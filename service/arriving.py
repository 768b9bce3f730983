"""A request as it arrives, byte by byte: whether it is whole, and how long it may take.

No thread waits for a slow caller: whoever collects the bytes asks here whether they are a whole
request yet, and hands it over then. What the bytes mean is for the server's own parser to say; only
where a request ends is read here (RFC 9112, sections 2 and 6), and where that is not clear it is
handed over at once, to be refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import StrEnum
from functools import partial
from tempfile import SpooledTemporaryFile
from typing import IO, Final

HEAD_S: Final = 10.0  # [ASSUMED] from the first byte to the end of the head
BODY_S: Final = 15.0  # [ASSUMED] head start of a body before the least rate is asked of it
LEAST_BYTES_PER_S: Final = 20_000  # [ASSUMED] of a body; a slow mobile link has ten times as much
LONGEST_HEAD: Final = 128_000  # more than the server's own limits on lines and fields allow
IN_MEMORY: Final = 64_000
LONGEST_CHUNK_LINE: Final = 1_000

END_OF_HEAD: Final = b"\r\n\r\n"
BREAK: Final = b"\r\n"
LENGTH: Final = re.compile(rb"(?im)^content-length:[ \t]*([^\r\n]*?)[ \t]*\r?$")
CODING: Final = re.compile(rb"(?im)^transfer-encoding:[ \t]*([^\r\n]*?)[ \t]*\r?$")
EXPECT: Final = re.compile(rb"(?im)^expect:[ \t]*100-continue[ \t]*\r\n")
CONTINUE: Final = b"HTTP/1.1 100 Continue\r\n\r\n"


class Progress(StrEnum):
    """How far a request has come."""

    SILENT = "silent"
    HEAD = "head"
    BODY = "body"
    WHOLE = "whole"


class ChunkedBody:
    """Where a body in chunks ends (RFC 9112, section 7.1)."""

    def __init__(self) -> None:
        self._line = bytearray()
        self._left = 0  # bytes of the present chunk, its line break included
        self._trailer = False
        self.unclear = False

    def ends_at(self, data: bytes) -> int | None:
        """How many of these bytes belong to the body if it ends in them, else None."""
        at = 0
        while at < len(data) and not self.unclear:
            if self._left:
                step = min(self._left, len(data) - at)
                self._left -= step
                at += step
                continue
            end = data.find(b"\n", at)
            stop = len(data) if end < 0 else end + 1
            self._line += data[at:stop]
            at = stop
            if end < 0:
                self.unclear = len(self._line) > LONGEST_CHUNK_LINE
            elif self._is_last(bytes(self._line).rstrip(b"\r\n")):
                return at
        return None

    def _is_last(self, line: bytes) -> bool:
        """Take in a line between chunks; whether it is the end of the body."""
        self._line.clear()
        if self._trailer:
            return not line
        size = line.partition(b";")[0].strip()
        if re.fullmatch(rb"[0-9a-fA-F]{1,15}", size) is None:
            self.unclear = True
            return False
        length = int(size, 16)
        self._trailer = length == 0
        self._left = length + len(BREAK) if length else 0
        return False


class Arriving:
    """One request on its way, and what came of the next one behind it.

    Of a body at most `most_bytes` are collected. Times are of a clock that only goes forward.
    """

    def __init__(self, *, most_bytes: int, now_s: float) -> None:
        self._most_bytes = most_bytes
        self._since_s = now_s  # of the first byte, then of the end of the head
        self._head = bytearray()
        self._body: IO[bytes] | None = None
        self._came = 0  # bytes of the body
        self._length: int | None = None
        self._chunks: ChunkedBody | None = None
        self.stage = Progress.SILENT
        self.behind = b""
        self.is_framed = True  # where it ends is known; else no other request can follow it
        self.wants_continue = False

    @property
    def size(self) -> int:
        """Bytes that are kept."""
        return len(self._head) + self._came

    @property
    def is_health(self) -> bool:
        """Whether only a sign of life is asked for."""
        return self._head.startswith((b"GET /healthz ", b"HEAD /healthz "))

    def feed(self, data: bytes, *, now_s: float) -> None:
        """Take in what came."""
        if self.stage is Progress.SILENT:
            self.stage, self._since_s = Progress.HEAD, now_s
        if self.stage is Progress.HEAD:
            begun = max(0, len(self._head) - len(END_OF_HEAD))
            self._head += data
            end = self._head.find(END_OF_HEAD, begun)
            if end < 0:
                if len(self._head) > LONGEST_HEAD:
                    self._hand_over_unclear()
                return
            data = bytes(self._head[end + len(END_OF_HEAD) :])
            del self._head[end + len(END_OF_HEAD) :]
            self.stage, self._since_s = Progress.BODY, now_s
            self._read_head()
        if self.stage is Progress.BODY:
            self._feed_body(data)
        elif self.is_framed:
            self.behind += data

    def is_late(self, *, now_s: float) -> bool:
        """Whether more of it should have come by now; of what has not begun nobody says so."""
        took_s = now_s - self._since_s
        match self.stage:
            case Progress.HEAD:
                return took_s > HEAD_S
            case Progress.BODY:
                return self._came < (took_s - BODY_S) * LEAST_BYTES_PER_S
            case _:
                return False

    def end(self) -> None:
        """The caller sends nothing more: it is as whole as it will be."""
        self.stage = Progress.WHOLE

    def pieces(self) -> Iterator[bytes]:
        """The bytes of the request, head first, once."""
        yield bytes(self._head)
        self._head.clear()
        if self._body is not None:
            self._body.seek(0)
            yield from iter(partial(self._body.read, IN_MEMORY), b"")

    def close(self) -> None:
        """Give up what is kept."""
        if self._body is not None:
            self._body.close()
            self._body = None

    def _read_head(self) -> None:
        """Where the body ends; whole at once where that is not clear, or where there is none."""
        head = bytes(self._head)
        lengths, codings = LENGTH.findall(head), CODING.findall(head)
        unclear = len(lengths) > 1 or (bool(lengths) and bool(codings))
        if not (lengths or codings):
            self.stage = Progress.WHOLE
        elif unclear:
            self._hand_over_unclear()
        elif [each.lower() for each in codings] == [b"chunked"]:
            self._chunks = ChunkedBody()
        elif lengths and lengths[0].isdigit() and int(lengths[0]) <= self._most_bytes:
            self._length = int(lengths[0])
        else:
            self._hand_over_unclear()
        if self.stage is Progress.BODY and EXPECT.search(head):
            self.wants_continue = True
            self._head[:] = EXPECT.sub(b"", head)

    def _hand_over_unclear(self) -> None:
        """To be refused: what comes after it may be its body, and is no request."""
        self.stage, self.is_framed = Progress.WHOLE, False

    def _feed_body(self, data: bytes) -> None:
        if self._length is not None:
            ends = self._length - self._came
            own, whole = data[:ends], len(data) >= ends
        else:
            assert self._chunks is not None  # noqa: S101 - one of the two is known
            at = self._chunks.ends_at(data)
            own, whole = data if at is None else data[:at], at is not None
            too_much = self._came + len(own) > self._most_bytes
            self.is_framed = not (self._chunks.unclear or (too_much and not whole))
            whole = whole or not self.is_framed
        if own:
            if self._body is None:
                self._body = SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - kept open
            self._body.write(own)
            self._came += len(own)
        if whole:
            self.stage = Progress.WHOLE
            self.behind = data[len(own) :]
