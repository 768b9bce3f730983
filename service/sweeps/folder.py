"""A sweep in a folder: each part a file that is whole or not there, so that it can be resumed.

A part is written beside its place, brought to the disk, and then named; its last line has the
digest of what is before it and of what was asked. Whatever is cut off, full or of another sweep is
not taken, and is worked on again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

import msgspec

from decision.version import ENGINE_VERSION
from service.many import RefusedLine
from service.sweeps.flights import FlightsSwept, lines_of
from service.sweeps.part import SweepPart, SweptPart

PARTS, ROWS, SUMMARY, REFUSED = "parts", "rows.ndjson", "summary.ndjson", "refused.ndjson"


class SweepFolder:
    """Where the parts of one sweep are kept, and what they come to."""

    def __init__(self, path: Path) -> None:
        self.path = path
        (path / PARTS).mkdir(parents=True, exist_ok=True)

    def kept(self, part: SweepPart) -> SweptPart | None:
        """A part as it was done before by this engine; None where it is to be done."""
        try:
            content = self._file(part).read_bytes()
        except FileNotFoundError:
            return None
        lines, _, last = content.removesuffix(b"\n").rpartition(b"\n")
        lines = lines + b"\n" if lines else b""
        try:
            end: dict[str, Any] = json.loads(last)
        except ValueError:
            return None
        if end != {**end, **_end(part, lines)}:
            return None
        refused = end.get("refused")
        return SweptPart(
            lines=lines,
            count=lines.count(b"\n"),
            refused=None if refused is None else msgspec.convert(refused, RefusedLine),
        )

    def keep(self, part: SweepPart, done: SweptPart) -> None:
        """Write a part. Raises: OSError, and then nothing of it is left."""
        end: dict[str, Any] = _end(part, done.lines)
        if done.refused is not None:
            end["refused"] = msgspec.to_builtins(done.refused)
        _write(self._file(part), done.lines + json.dumps(end).encode() + b"\n")

    def close(self, parts: Iterable[SweepPart]) -> FlightsSwept:
        """Put the rows of all parts together, in their order, and the summaries beside them.

        Raises: OSError; FileNotFoundError where a part is not done.
        """
        flights, refused = FlightsSwept(), []
        rows = self.path / f"{ROWS}.new"
        with rows.open("wb") as file:
            for part in parts:
                done = self.kept(part)
                if done is None:
                    raise FileNotFoundError(f"part {part.number} is not done")
                file.write(done.lines)
                flights.take(part, done)
                if done.refused is not None:
                    refused.append((part.flight, done.refused))
            file.flush()
            os.fsync(file.fileno())
        rows.replace(self.path / ROWS)
        _write(self.path / SUMMARY, b"".join(lines_of(flights.summaries())))
        _write(self.path / REFUSED, b"".join(_refusals(refused)))
        return flights

    def _file(self, part: SweepPart) -> Path:
        return self.path / PARTS / f"{part.number:06}.ndjson"


def _end(part: SweepPart, lines: bytes) -> dict[str, str | int]:
    """What the last line of a part says: what was asked, by which engine, and what it answered."""
    return {
        "part": part.number,
        "asked": part.digest,
        "engine_version": ENGINE_VERSION,
        "sha256": hashlib.sha256(lines).hexdigest(),
    }


def _refusals(refused: Iterable[tuple[int, RefusedLine]]) -> Iterator[bytes]:
    for flight, each in refused:
        told = {"flight": flight, **msgspec.to_builtins(each)}
        yield json.dumps(told).encode() + b"\n"


def _write(file: Path, content: bytes) -> None:
    """Whole, or not at all. Raises: OSError."""
    beside = file.with_suffix(f".{os.getpid()}.new")
    try:
        with beside.open("wb") as opened:
            opened.write(content)
            opened.flush()
            os.fsync(opened.fileno())
        beside.replace(file)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


__all__: Final = ["PARTS", "REFUSED", "ROWS", "SUMMARY", "SweepFolder"]
