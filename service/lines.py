"""A request body of many lines, read whole into a file before the first answer.

Answering while the body still comes would end in a deadlock with every client that sends all of it
before it reads: both sides would wait for the other's buffer. So the limits also still have a
status of their own. A small body stays in memory; of a large one only a line at a time is there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from tempfile import SpooledTemporaryFile
from typing import IO, Final

from flask import request

from service.negotiation import JSON_LINES, require_media
from service.problems import TOO_LARGE, Problem, require_whole, well_formed

PIECE_BYTES: Final = 65_536
IN_MEMORY_BYTES: Final = 1_000_000
NEWLINE: Final = b"\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLimits:
    """How much of a batch is taken."""

    body_bytes: int
    line_bytes: int
    lines: int
    seconds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyLine:
    """A line that is not empty, by its number in the body; None: longer than a line may be."""

    number: int
    content: bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """A whole body, at its beginning; whoever has it closes the file. `ends`: of lines in it."""

    file: IO[bytes]
    ends: int


def lines_of_body(limits: BatchLimits) -> Body:
    """The body of the present request.

    Raises: Problem when it is no text of lines, has too many or is cut off; the framework's 413
    when too large.
    """
    require_media(JSON_LINES)
    request.max_content_length = limits.body_bytes
    file: IO[bytes] = SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115  # handed on
    try:
        ends = _fill(file, limits)
    except BaseException:
        file.close()
        raise
    file.seek(0)
    return Body(file=file, ends=ends)


def _fill(file: IO[bytes], limits: BatchLimits) -> int:
    ends = came = 0
    while piece := _piece():
        came += len(piece)
        ends += piece.count(NEWLINE)
        if ends > limits.lines:
            raise Problem(TOO_LARGE, f"The limit is {limits.lines} lines.")
        file.write(piece)
    require_whole(came)
    return ends


def _piece() -> bytes:
    with well_formed():
        piece: bytes = request.stream.read(PIECE_BYTES)
    return piece


def read_lines(file: IO[bytes], *, longest: int) -> Iterator[BodyLine]:
    """The lines that are not empty."""
    number = 0
    while piece := file.readline(longest + len(NEWLINE)):
        number += 1
        if len(piece.rstrip(NEWLINE)) > longest:
            _skip(file)
            yield BodyLine(number=number, content=None)
        elif content := piece.strip():
            yield BodyLine(number=number, content=content)


def _skip(file: IO[bytes]) -> None:
    """Go on to the end of the line."""
    while (piece := file.readline(PIECE_BYTES)) and not piece.endswith(NEWLINE):
        pass
