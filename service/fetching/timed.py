"""Answers over HTTP whose every read knows the deadline, and how much may be read at all.

A time-out of a socket starts anew with every byte, so a server that drips is never cut off by it.
Here each read of a connection, the header's too, gets what is left of the deadline and no more.
"""

from __future__ import annotations

import http.client
import io
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from service.fetching.deadline import FetchDeadline
from service.fetching.failure import FetchFailed

_DEADLINE: ContextVar[FetchDeadline] = ContextVar("deadline")


class AnswerTooLong(OSError):
    """More came than may be read."""


@contextmanager
def within(deadline: FetchDeadline) -> Iterator[None]:
    """Connections that are opened in here read by this deadline."""
    token = _DEADLINE.set(deadline)
    try:
        yield
    finally:
        _DEADLINE.reset(token)


class TimedStream(io.RawIOBase):
    """The bytes of a socket; each read may take what is left of the deadline.

    `most_bytes`: how many there may be; None: whoever reads counts.
    """

    def __init__(self, sock: socket.socket, *, most_bytes: int | None = None) -> None:
        self._sock, self._raw = sock, sock.makefile("rb", buffering=0)
        self._deadline, self._left = _DEADLINE.get(), most_bytes

    def readable(self) -> bool:
        """It is."""
        return True

    def readinto(self, buffer: Any) -> int | None:  # noqa: ANN401  # any writable buffer
        """Read once. Raises: TimeoutError at the deadline, AnswerTooLong."""
        try:
            self._sock.settimeout(self._deadline.require_s())
        except FetchFailed:
            raise TimeoutError from None
        came = self._raw.readinto(buffer)
        if self._left is not None:
            self._left -= came or 0
            if self._left < 0:
                raise AnswerTooLong
        return came

    def close(self) -> None:
        """Let go of the socket."""
        self._raw.close()
        super().close()


class TimedResponse(http.client.HTTPResponse):
    """A response that reads through such a stream from its first byte."""

    most_bytes: int | None = None

    def __init__(self, sock: socket.socket, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        super().__init__(sock, *args, **kwargs)
        self.fp.close()
        self.fp = io.BufferedReader(TimedStream(sock, most_bytes=self.most_bytes))
