"""What the parts of a sweep come to: the rows as they come, then each flight's summary."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import msgspec

from decision.sweep import FlightSummary, SweepRow, summary_of
from decision.sweep.asked import LONGEST_MIN
from service.many import RefusedLine
from service.sweeps.part import SweepPart, SweptPart

NEVER: Final = LONGEST_MIN + 1  # after every minute that is looked at
ROW: Final = msgspec.json.Decoder(SweepRow)


class FlightsSwept:
    """Takes the parts in, in their order, and tells of each flight at the end.

    The rows of one flight are kept at a time. `refused`: flights without rows, and why.
    """

    def __init__(self) -> None:
        self.refused: list[tuple[int, RefusedLine]] = []
        self._rows: list[SweepRow] = []
        self._told: list[FlightSummary] = []

    def take(self, part: SweepPart, done: SweptPart) -> None:
        """The rows of the next part, or that there are none."""
        if done.refused is not None:
            self.refused.append((part.flight, done.refused))
        if self._rows and self._rows[0].flight != part.flight:
            self._end()
        self._rows += map(ROW.decode, done.lines.splitlines())

    def summaries(self) -> list[FlightSummary]:
        """Of each flight that has rows, those first that would be without a diversion soonest."""
        if self._rows:
            self._end()
        return sorted(self._told, key=_soonest)

    def _end(self) -> None:
        self._told.append(summary_of(self._rows))
        self._rows = []


def _soonest(summary: FlightSummary) -> tuple[int, int]:
    """By the minute; of those at the same one, whose failures are most."""
    minute = NEVER if summary.first_minute is None else summary.first_minute
    return minute, -len(summary.leave_none)


def lines_of(summaries: Iterable[FlightSummary]) -> Iterator[bytes]:
    """A line for each."""
    return (msgspec.json.encode(each) + b"\n" for each in summaries)
