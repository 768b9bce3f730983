"""Windows over archived reports: none breaks, and the worst of the text is never out of sight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import timedelta
from itertools import pairwise
from math import inf

import pytest

from decision.weather import Report
from decision.weather.collect import collect
from decision.weather.conditions import Outlook, outlook
from decision.weather.runway import runway_condition
from decision.weather.use import Reading
from decision.windows import Window
from tests.weather.builders import corpus, read_in_some_month

AGE = timedelta(minutes=10)
EDGES_MIN = (0, 5, 60, 180, 400, 900)


def seen_from(report: Report, reading: Reading) -> Outlook:
    as_of = report.issued_at + AGE
    weather = collect([report], station=report.station, as_of=as_of)
    return outlook(weather, as_of=as_of, reading=reading)


def lowest(figures: Iterable[float | None]) -> float:
    """The lowest figure that is given; infinite if none is."""
    return min((figure for figure in figures if figure is not None), default=inf)


def visibilities_m(report: Report) -> Iterator[float | None]:
    named = (period.elements.visibility for period in report.periods)
    return (each.worst_metres for each in named if each is not None)


def ceilings_ft(report: Report) -> Iterator[float | None]:
    named = (period.elements.ceiling for period in report.periods)
    return (each.feet for each in named if each is not None)


@pytest.mark.parametrize("name", ["taf.txt", "malformed.txt"])
def test_no_archived_report_breaks_a_window_or_a_runway(name: str) -> None:
    reports = [report for raw in corpus(name) if (report := read_in_some_month(raw)) is not None]
    assert reports
    for report in reports:
        seen = seen_from(report, Reading.PERSISTENT)
        instants = [seen.as_of + timedelta(minutes=each) for each in EDGES_MIN]
        for start_at, end_at in pairwise(instants):
            found = seen.meets(Window(start_at, end_at))
            surface = runway_condition(
                runway="09",
                weather=found,
                landing_at=start_at,
                observation=seen.weather.observation,
            )
            assert surface.code is None or surface.code <= surface.at_best
            assert found.visibility.metres is not None or found.visibility.possibly_worse
            assert bool(found.unknown) == bool(found.unknown_reasons)


def test_the_worst_figures_of_an_archived_forecast_are_those_of_its_whole_validity() -> None:
    compared = 0
    for raw in corpus("taf.txt"):
        report = read_in_some_month(raw)
        if report is None or report.valid is None or report.cancelled or report.unread:
            continue
        whole = seen_from(report, Reading.CONDITIONAL).over(report.valid)
        assert lowest([whole.visibility.metres]) == lowest(visibilities_m(report)), raw
        assert lowest([whole.ceiling.feet]) <= lowest(ceilings_ft(report)), raw
        compared += 1
    assert compared > 800
