"""An archive of reports: a moment and a report a line, the first first."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from msgspec import Struct

LOOKED_BACK: Final = timedelta(hours=9)  # a TAF is issued every six hours, and an observation holds
OBSERVATIONS: Final = 2
FORECAST: Final = "TAF"


class Archived(Struct, frozen=True, kw_only=True):
    """A report with the moment at which it was to be had (UTC)."""

    at: datetime
    report: str

    @property
    def place(self) -> str:
        """The location indicator in it."""
        words = self.report.split()
        return next((each for each in words[1:] if each not in ("AMD", "COR")), "")


def read_archive(file: Path) -> list[Archived]:
    """Lines of an RFC 3339 moment, a space, a report. Raises: ValueError with the line, OSError."""
    found = []
    for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), start=1):
        moment, _, report = line.strip().partition(" ")
        if not moment or moment.startswith("#"):
            continue
        try:
            at = datetime.fromisoformat(moment)
        except ValueError as error:
            raise ValueError(f"line {number}: {error}") from None
        if at.tzinfo is None or not report:
            raise ValueError(f"line {number}: a moment with its zone, a space and a report")
        found.append(Archived(at=at, report=report))
    return sorted(found, key=lambda each: each.at)


class Archive:
    """Reports by place, to be asked what was at hand at a moment."""

    def __init__(self, reports: Iterable[Archived]) -> None:
        self._of: dict[str, list[Archived]] = {}
        for each in reports:
            self._of.setdefault(each.place, []).append(each)

    def at_hand(self, places: Iterable[str], at: datetime) -> list[str]:
        """The last observations and the last forecast of each place that were to be had by then."""
        return [report for place in places for report in self._last(place, at)]

    def _last(self, place: str, at: datetime) -> Iterator[str]:
        reports = self._of.get(place, [])
        begin, end = (
            bisect_right(reports, moment, key=lambda each: each.at)
            for moment in (at - LOOKED_BACK, at)
        )
        recent = reports[begin:end]
        forecasts = [each for each in recent if each.report.startswith(FORECAST)]
        observed = [each for each in recent if not each.report.startswith(FORECAST)]
        yield from (each.report for each in observed[-OBSERVATIONS:])
        yield from (each.report for each in forecasts[-1:])
