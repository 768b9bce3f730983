"""A sweep in a folder: each part a file that is whole or not there, so that it can be resumed.

The last line of a part has the digest of what is before it and of what was asked. Whatever is cut
off or of another sweep is not taken, and is worked on again.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import msgspec
from tqdm import tqdm

from decision.version import ENGINE_VERSION
from service.many import RefusedLine
from service.sweeps.engines import Engine
from service.sweeps.flights import FlightsSwept, lines_of
from service.sweeps.part import SweepPart, SweptPart
from service.whole import whole_file

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
        _write(self._file(part), (done.lines, json.dumps(end).encode(), b"\n"))

    def fill(self, parts: Sequence[SweepPart], engine: Engine) -> None:
        """Have done what is not, with a bar of parts, their rate and the time that is left.

        Raises: OSError; what is done by then is kept.
        """
        left = [part for part in parts if self.kept(part) is None]
        had = len(parts) - len(left)
        with tqdm(total=len(parts), initial=had, unit="part", file=sys.stderr) as bar:
            for part, done in engine(left):
                self.keep(part, done)
                bar.update()

    def close(self, parts: Iterable[SweepPart]) -> FlightsSwept:
        """Put the rows of all parts together, in their order, and the summaries beside them.

        Raises: OSError; FileNotFoundError where a part is not done.
        """
        flights = FlightsSwept()
        with whole_file(self.path / ROWS) as rows:
            for part in parts:
                done = self.kept(part)
                if done is None:
                    raise FileNotFoundError(f"part {part.number} is not done")
                rows.write(done.lines)
                flights.take(part, done)
        _write(self.path / SUMMARY, lines_of(flights.summaries()))
        _write(self.path / REFUSED, _refusals(flights.refused))
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


def _write(file: Path, lines: Iterable[bytes]) -> None:
    with whole_file(file) as opened:
        opened.writelines(lines)


__all__: Final = ["PARTS", "REFUSED", "ROWS", "SUMMARY", "SweepFolder"]
