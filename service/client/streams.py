"""Answers that come bit by bit: lines of a batch, and server-sent events (WHATWG HTML, 9.2)."""

from __future__ import annotations

import json
import re
from collections.abc import Generator, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final

import requests
from urllib3.exceptions import HTTPError

from service.client.calls import Call, Calls, CutOff, NoAnswer, backoff_s

EVENTS: Final = "/v1/events"
EVENT_STREAM: Final = "text/event-stream"
HEARTBEAT_S: Final = 15.0  # of the service
SILENCE_S: Final = 3.0 * HEARTBEAT_S  # then nobody is there any more
PIECE_BYTES: Final = 65_536
LONGEST_LINE: Final = 16_000_000  # [ASSUMED] longer than any answer
MS_PER_S: Final = 1_000.0
ENDS: Final = re.compile(rb"\r\n|\r|\n")
COMMENT: Final = b":"
BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamedEvent:
    """One event: what to come back with, what kind it is, and its data read as JSON."""

    event_id: str | None
    kind: str
    data: Any


def pieces(answer: requests.Response) -> Iterator[bytes]:
    """What has come of an answer, as it comes. Raises: CutOff."""
    try:
        while piece := answer.raw.read1(PIECE_BYTES, decode_content=True):
            yield piece
    except (HTTPError, OSError) as error:
        raise CutOff(f"{answer.url}: {error}") from error


def lines_of(answer: requests.Response) -> Iterator[bytes]:
    """The lines of an answer, without what is not ended. Raises: CutOff."""
    begun = b""
    for piece in pieces(answer):
        *whole, begun = (begun + piece).split(b"\n")
        if len(begun) > LONGEST_LINE:
            raise CutOff(f"{answer.url}: a line does not end")
        yield from (line for line in whole if line.strip())


class EventReader:
    """Events from bytes, as the standard has it: also of a block without data the id counts."""

    def __init__(self, last_event_id: str | None) -> None:
        self.last_event_id = last_event_id
        self.retry_s: float | None = None
        self._rest, self._first, self._after_cr = b"", True, False
        self._id, self._kind, self._data = last_event_id, "", list[str]()

    def feed(self, piece: bytes) -> Iterator[StreamedEvent]:
        """The events that end with a piece, which is not empty."""
        for line in self._lines(piece):
            if not line:
                yield from self._ended()
            elif not line.startswith(COMMENT):
                self._take(line.decode("utf-8", "replace"))

    def _lines(self, piece: bytes) -> list[bytes]:
        if self._after_cr and piece.startswith(b"\n"):  # both are one end of a line
            piece = piece[1:]
        self._rest += piece
        if self._first and len(self._rest) >= len(BYTE_ORDER_MARK):
            self._rest, self._first = self._rest.removeprefix(BYTE_ORDER_MARK), False
        self._after_cr = self._rest.endswith(b"\r")
        *lines, self._rest = ENDS.split(self._rest)
        if len(self._rest) > LONGEST_LINE:
            raise CutOff("a line of events does not end")
        return lines

    def _take(self, line: str) -> None:
        name, _, value = line.partition(":")
        value = value.removeprefix(" ")
        match name:
            case "data":
                self._data.append(value)
            case "event":
                self._kind = value
            case "id" if "\0" not in value:
                self._id = value
            case "retry" if value.isascii() and value.isdigit():
                self.retry_s = int(value) / MS_PER_S

    def _ended(self) -> Iterator[StreamedEvent]:
        """The event that a blank line ends, if there is one."""
        kind, data = self._kind or "message", self._data
        self.last_event_id, self._kind, self._data = self._id, "", []
        if not data:
            return
        try:
            read = json.loads("\n".join(data))
        except ValueError as error:
            raise NoAnswer(f"an event is not JSON: {error}") from error
        yield StreamedEvent(event_id=self.last_event_id, kind=kind, data=read)


def told_over(
    calls: Calls, *, query: Mapping[str, str], last_event_id: str | None
) -> Generator[StreamedEvent, None, None]:
    """Events over one connection after another, for as long as somebody wants them.

    Raises: RequestRefused, NoAnswer when no connection comes about within the calls' patience.
    """
    failed = 0
    while True:
        known = {} if last_event_id is None else {"Last-Event-ID": last_event_id}
        call = Call(
            method="GET",
            path=EVENTS,
            accept=EVENT_STREAM,
            query=query,
            headers={"Accept-Encoding": "identity", **known},
            streamed=True,
            silence_s=SILENCE_S,
        )
        reader = EventReader(last_event_id)
        with calls.answer(call) as answer, suppress(CutOff):  # it goes on with the next connection
            for piece in pieces(answer):
                failed = 0
                yield from reader.feed(piece)
        last_event_id, failed = reader.last_event_id, failed + 1
        calls.wait(backoff_s(failed) if reader.retry_s is None else reader.retry_s)
