"""From a heap of reports in any order to what is in force at one aerodrome at one instant.

The newest report governs; at the same time of issue a correction or amendment goes before a plain
report. Whatever is not used is set aside with a reason in plain words. Reports of other stations
are none of this station's business and are not listed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Final

from decision.errors import UnreadableReport
from decision.weather.decode import decode
from decision.weather.report import Report, ReportKind

TEXTS_KEPT: Final = 1024  # read lately; a flight asks again and again with the same ones
AHEAD_MAX: Final = timedelta(minutes=15)  # clocks differ; further ahead is a wrong date [ASSUMED]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """A report that is not used, and why."""

    raw: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StationWeather:
    """What is in force at a station.

    `preceding` is the forecast before `forecast`, for the time until that one begins: a newer
    forecast replaces an older one only from the start of its own validity [WMO-306].
    """

    station: str
    observation: Report | None = None
    forecast: Report | None = None
    preceding: Report | None = None
    set_aside: tuple[SetAside, ...] = ()

    def __hash__(self) -> int:
        """By the texts in force, which is far cheaper than by everything read in them."""
        used = (self.observation, self.forecast, self.preceding)
        return hash((self.station, *(report and report.raw for report in used)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Heap:
    """Reports that can be read at all, and the texts that cannot, with the reason."""

    reports: tuple[Report, ...]
    unreadable: tuple[SetAside, ...]


_read = lru_cache(maxsize=TEXTS_KEPT)(decode)


def read_heap(texts: Iterable[str], *, received_at: datetime) -> Heap:
    """Read every text, received at an instant (aware UTC); none of them stops the others."""
    reports: list[Report] = []
    unreadable: list[SetAside] = []
    for raw in texts:
        try:
            reports.append(_read(raw, received_at=received_at))
        except UnreadableReport as error:
            unreadable.append(SetAside(raw=raw, reason=error.problem))
    return Heap(reports=tuple(reports), unreadable=tuple(unreadable))


def collect(reports: Sequence[Report], *, station: str, as_of: datetime) -> StationWeather:
    """The observation and forecast in force; the order of the reports does not matter."""
    own = sorted(
        {each.raw: each for each in reports if each.station == station}.values(), key=_rank
    )
    forecasts = [each for each in own if each.kind is ReportKind.TAF]
    cancelled_at = _cancelled_at(forecasts, as_of=as_of)
    unusable = {each.raw: _unusable(each, cancelled_at=cancelled_at, as_of=as_of) for each in own}
    observations = [each for each in own if each.kind is not ReportKind.TAF]
    observation, old_observations = _select(observations, unusable)
    forecast, old_forecasts = _select(forecasts, unusable)
    preceding = _preceding(forecasts, forecast, unusable, as_of=as_of)
    return StationWeather(
        station=station,
        observation=observation,
        forecast=forecast,
        preceding=preceding,
        set_aside=tuple(
            each
            for each in (*old_observations, *old_forecasts)
            if preceding is None or each.raw != preceding.raw
        ),
    )


def _rank(report: Report) -> tuple[datetime, int, bool, str]:
    """Order of force, weakest first; the text itself makes the order total."""
    return (
        report.issued_at,
        report.corrected + report.amended,
        report.kind is ReportKind.SPECI,
        report.raw,
    )


def _select(
    reports: Sequence[Report], unusable: Mapping[str, str | None]
) -> tuple[Report | None, tuple[SetAside, ...]]:
    """The strongest usable report of a ranked sequence, and the others with their reasons."""
    best: Report | None = None
    others: list[SetAside] = []
    for report in reversed(reports):
        reason = unusable[report.raw]
        if reason is None and best is not None:
            reason = _superseded(report, best)
        if reason is None:
            best = report
        else:
            others.append(SetAside(raw=report.raw, reason=reason))
    return best, tuple(others)


def _superseded(report: Report, better: Report) -> str:
    if better.issued_at == report.issued_at:
        return "another report of the same time goes before it"
    return f"superseded by the report of {stamp(better.issued_at)}"


def _unusable(report: Report, *, cancelled_at: datetime | None, as_of: datetime) -> str | None:
    """Why a report cannot be used at all, or None."""
    if report.issued_at > as_of + AHEAD_MAX:
        return f"stamped {stamp(report.issued_at)}, later than the present time {stamp(as_of)}"
    if report.cancelled:
        return "cancels the forecast: no data"
    if report.nil:
        return "NIL: the station sent no data"
    if report.kind is ReportKind.TAF:
        return _no_forecast(report, cancelled_at=cancelled_at, as_of=as_of)
    return None if report.elements else "no element could be read"


def _no_forecast(report: Report, *, cancelled_at: datetime | None, as_of: datetime) -> str | None:
    """Why a forecast is none any more, or None."""
    if report.valid is None:
        return "its validity could not be read"
    if report.valid.end_at <= as_of:
        return f"expired at {stamp(report.valid.end_at)}"
    if cancelled_at and report.issued_at <= cancelled_at:
        return f"cancelled by the report of {stamp(cancelled_at)}"
    return None


def stamp(at: datetime) -> str:
    """An instant as reports write it: day, hour, minute."""
    return f"{at:%d%H%M}Z"


def _cancelled_at(forecasts: Sequence[Report], *, as_of: datetime) -> datetime | None:
    """When the last cancellation was issued that counts at the present time."""
    return max(
        (
            each.issued_at
            for each in forecasts
            if each.cancelled and each.issued_at <= as_of + AHEAD_MAX
        ),
        default=None,
    )


def _preceding(
    forecasts: Sequence[Report],
    forecast: Report | None,
    unusable: Mapping[str, str | None],
    *,
    as_of: datetime,
) -> Report | None:
    """The forecast that still runs until the newest one begins, if there is such a time."""
    if forecast is None or forecast.valid is None or forecast.valid.start_at <= as_of:
        return None
    older, _ = _select(
        [each for each in forecasts if each.issued_at < forecast.issued_at], unusable
    )
    return older
