"""What the parts of a sweep come to: the rows as they come, then each flight's summary."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import msgspec

from decision.sweep import FlightSummary, SweepRow, summary_of
from decision.sweep.asked import LONGEST_MIN
from service.sweeps.part import SweepPart, SweptPart

NEVER: Final = LONGEST_MIN + 1  # after every minute that is looked at
ROW: Final = msgspec.json.Decoder(SweepRow)


class FlightsSwept:
    """Takes the parts in, in whatever order they are done, and tells of each flight at the end."""

    def __init__(self) -> None:
        self._rows: dict[int, dict[int, list[SweepRow]]] = {}

    def take(self, part: SweepPart, done: SweptPart) -> None:
        """The rows of a part; of one that is taken again nothing is doubled."""
        if done.refused is None:
            rows = list(map(ROW.decode, done.lines.splitlines()))
            self._rows.setdefault(part.flight, {})[part.start] = rows

    def summaries(self) -> list[FlightSummary]:
        """Of each flight that is a case, those first that would be without a diversion soonest."""
        found = (
            summary_of([row for start in sorted(parts) for row in parts[start]])
            for _, parts in sorted(self._rows.items())
        )
        return sorted(found, key=_soonest)


def _soonest(summary: FlightSummary) -> tuple[int, int]:
    """By the minute; of those at the same one, whose failures are most."""
    minute = NEVER if summary.first_minute is None else summary.first_minute
    return minute, -len(summary.leave_none)


def lines_of(summaries: Iterable[FlightSummary]) -> Iterator[bytes]:
    """A line for each."""
    return (msgspec.json.encode(each) + b"\n" for each in summaries)
