"""From a heap of reports in any order to what is in force at one aerodrome at one instant.

The newest report governs; at the same time of issue a correction or amendment goes before a plain
report. Two reports of one time that differ, neither of them a correction, are both in force: what
they say is judged at its worse, element by element. Whatever is not used is set aside with a reason
in plain words. Reports of other stations are none of this station's business and are not listed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Annotated, Final

from decision.errors import UnreadableReport
from decision.fields import about
from decision.weather.decode import decode
from decision.weather.report import Report, ReportKind

TEXTS_KEPT: Final = 1024  # read lately; a flight asks again and again with the same ones
AHEAD_MAX: Final = timedelta(minutes=15)  # clocks differ; further ahead is a wrong date [ASSUMED]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """A report that is not used, and why."""

    raw: Annotated[str, about("The report.")]
    reason: Annotated[str, about("Why it is not used.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class StationWeather:
    """What is in force at a station.

    `preceding` is the forecast before `forecast`, for the time until that one begins: a newer
    forecast replaces an older one only from the start of its own validity [WMO-306]. `beside`:
    reports that differ from one of these, of the same kind and time, and are as much in force.
    `earlier`: the observations in force before, which tell since when something has been so.
    """

    station: str
    observation: Report | None = None
    forecast: Report | None = None
    preceding: Report | None = None
    beside: tuple[Report, ...] = ()
    earlier: tuple[Report, ...] = ()
    set_aside: tuple[SetAside, ...] = ()

    def __hash__(self) -> int:
        """By the texts in force, which is far cheaper than by everything read in them."""
        used = (self.observation, self.forecast, self.preceding, *self.beside, *self.earlier)
        return hash((self.station, *(report and report.raw for report in used)))

    @property
    def observations(self) -> tuple[Report, ...]:
        """The observation in force, and those that stand beside it."""
        return self._with_its_like(self.observation)

    @property
    def forecasts(self) -> tuple[Report, ...]:
        """The newest forecast in force, and those that stand beside it."""
        return self._with_its_like(self.forecast)

    @property
    def precedings(self) -> tuple[Report, ...]:
        """The forecast before it, and those that stand beside that one."""
        return self._with_its_like(self.preceding)

    @property
    def in_force(self) -> tuple[Report, ...]:
        """Every report that speaks."""
        return (*self.observations, *self.precedings, *self.forecasts)

    @property
    def differing(self) -> tuple[tuple[Report, ...], ...]:
        """Each set of reports of one kind and time that differ, two or more."""
        sets = (self.observations, self.precedings, self.forecasts)
        return tuple(each for each in sets if len(each) > 1)

    def _with_its_like(self, report: Report | None) -> tuple[Report, ...]:
        if report is None:
            return ()
        like = [each for each in self.beside if _time_and_kind(each) == _time_and_kind(report)]
        return (report, *like)


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
    observed, old_observations = _select(observations, unusable)
    forecast, old_forecasts = _select(forecasts, unusable)
    preceding = _preceding(forecasts, forecast, unusable, as_of=as_of)
    kept = {each.raw for each in preceding}
    return StationWeather(
        station=station,
        observation=next(iter(observed), None),
        forecast=next(iter(forecast), None),
        preceding=next(iter(preceding), None),
        beside=(*observed[1:], *forecast[1:], *preceding[1:]),
        earlier=_before(observations, observed, unusable),
        set_aside=tuple(
            each for each in (*old_observations, *old_forecasts) if each.raw not in kept
        ),
    )


def _rank(report: Report) -> tuple[datetime, int, str, bool, str]:
    """Order of force, weakest first; the text itself makes the order total."""
    return (*_force(report), report.raw)


def _force(report: Report) -> tuple[datetime, int, str, bool]:
    """What a report outranks others by; of equal force, those that differ stand together."""
    return (
        report.issued_at,
        report.corrected + report.amended,
        _correction(report),
        report.kind is ReportKind.SPECI,
    )


def _correction(report: Report) -> str:
    """The letter of a numbered correction, CCA before CCB; empty for any other report."""
    found = _NUMBERED.search(report.raw.upper())
    return found[1] if report.corrected and found else ""


_NUMBERED: Final = re.compile(r"^(?:\S+ ){0,4}?CC([A-Z]) ")  # in the header alone


def _time_and_kind(report: Report) -> tuple[datetime, ReportKind]:
    return report.issued_at, report.kind


def _select(
    reports: Sequence[Report], unusable: Mapping[str, str | None]
) -> tuple[tuple[Report, ...], tuple[SetAside, ...]]:
    """The strongest usable reports of a ranked sequence, and the others with their reasons."""
    best: list[Report] = []
    others: list[SetAside] = []
    for report in reversed(reports):
        reason = unusable[report.raw] or _superseded(report, best)
        if reason is None:
            best.append(report)
        else:
            others.append(SetAside(raw=report.raw, reason=reason))
    return tuple(best), tuple(others)


def _superseded(report: Report, better: Sequence[Report]) -> str | None:
    """Why a report does not stand beside stronger ones, or None."""
    if not better:
        return None
    if report.issued_at != better[0].issued_at:
        return f"superseded by the report of {stamp(better[0].issued_at)}"
    if _force(report) != _force(better[0]):
        return "another report of the same time goes before it"
    if any(replace(report, raw="") == replace(each, raw="") for each in better):
        return "says the same as another report of the same time"
    return None


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


def _before(
    observations: Sequence[Report],
    newest: Sequence[Report],
    unusable: Mapping[str, str | None],
) -> tuple[Report, ...]:
    """The observations that were in force until the newest one was issued."""
    older = [each for each in observations if newest and each.issued_at < newest[0].issued_at]
    return _select(older, unusable)[0]


def _preceding(
    forecasts: Sequence[Report],
    newest: Sequence[Report],
    unusable: Mapping[str, str | None],
    *,
    as_of: datetime,
) -> tuple[Report, ...]:
    """The forecasts that still run until the newest one begins, if there is such a time."""
    begins = [each.valid.start_at for each in newest if each.valid is not None]
    if not begins or max(begins) <= as_of:
        return ()
    older, _ = _select(
        [each for each in forecasts if each.issued_at < newest[0].issued_at], unusable
    )
    return older
