"""Archived reports of the whole world against expected values, a scanner, and broken strings.

The reports are not part of the project: their folder is named by WEATHER_CORPORA.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

import pytest

from decision import units
from decision.errors import UnreadableReport
from decision.quantities import Bound
from decision.weather import Element, Elements, Period, Report
from decision.weather.report import LengthUnit, RunwayVisualRange
from tests.weather.builders import (
    body_unread,
    corpus,
    digest,
    read,
    read_in_some_month,
    reviewed,
)
from tests.weather.scanner import scan, scan_observation
from tests.weather.test_generated_reports import is_never_better

Row = dict[str, Any]
EXCEPTIONS = "corpora_exceptions.csv"
WELL_FORMED = "corpora_well_formed.csv"
SAME_KT = 0.06  # expected values are rounded to 0.1 kt
SAME_M = 0.6  # expected values are whole metres
SAME_HPA = 0.06  # expected values are rounded to 0.1 hPa
METAR_READ_WHOLE = 0.99
TAF_READ_WHOLE = 0.96


def _expected(kind: str) -> list[Row]:
    rows = [json.loads(line) for line in corpus("decoded.jsonl")]
    return [row for row in rows if row["kind"] == kind]


# --- differences from the expected values ---


def _near(found: float | None, wanted: float | None, tolerance: float) -> bool:
    if found is None or wanted is None:
        return found is None and wanted is None
    return abs(found - wanted) <= tolerance


def _element_differences(elements: Elements, row: Row) -> Iterator[str]:
    yield from _wind_differences(elements, row)
    visibility, ceiling = elements.visibility, elements.ceiling
    metres = None if visibility is None else visibility.metres
    if not _near(metres, row.get("visibility_m"), SAME_M):
        yield "visibility"
    elif metres is not None and visibility and visibility.bound.value != row["visibility_op"]:
        yield "visibility bound"
    if (None if ceiling is None else ceiling.feet) != row.get("ceiling_ft"):
        yield "ceiling"
    weather = [group for group in row.get("weather") or () if group != "NSW"]
    if sorted(group.raw for group in elements.weather or ()) != sorted(weather):
        yield "weather"


def _wind_differences(elements: Elements, row: Row) -> Iterator[str]:
    """Rows of forecasts leave out figures that are zero and winds that are not given."""
    wind = elements.wind
    if wind is None or (wind.speed_kt == 0.0 and "wind_kt" not in row):
        if row.get("wind_kt") is not None:
            yield "wind"
        return
    if not _near(wind.speed_kt, row.get("wind_kt"), SAME_KT):
        yield "wind speed"
    if wind.from_true_deg != row.get("wind_dir_deg") and wind.from_true_deg != 0.0:
        yield "wind direction"
    if wind.variable != bool(row.get("wind_variable")):
        yield "variable wind"
    if not _near(wind.gust_kt, row.get("gust_kt"), SAME_KT):
        yield "gust"


_PREFIX = {Bound.EXACT: None, Bound.ABOVE: "P", Bound.BELOW: "M", Bound.UNKNOWN: None, None: None}


def _rvr(rvr: RunwayVisualRange) -> Row:
    feet = rvr.unit_reported is LengthUnit.FT

    def reported(metres: float | None) -> int | None:
        return None if metres is None else round(units.m_to_ft(metres) if feet else metres)

    return {
        "runway": rvr.runway,
        "low": reported(rvr.low_m),
        "low_op": _PREFIX[rvr.low_bound],
        "high": reported(rvr.high_m),
        "high_op": _PREFIX[rvr.high_bound],
        "unit": rvr.unit_reported.value.upper(),
        "trend": rvr.tendency,
    }


def _observation_differences(report: Report, row: Row) -> Iterator[str]:
    elements = report.elements
    if elements is None:
        yield "no elements"
        return
    yield from _element_differences(elements, row)
    visibility, temperature, pressure = (
        elements.visibility,
        elements.temperature,
        elements.pressure,
    )
    found = {
        "station": report.station,
        "auto": report.auto,
        "cavok": elements.cavok,
        "min_visibility_m": None if visibility is None else visibility.minimum_metres,
        "rvr": [_rvr(rvr) for rvr in elements.rvr],
        "temp_c": None if temperature is None else temperature.temperature_degc,
        "dewpoint_c": None if temperature is None else temperature.dewpoint_degc,
        "runway_state": [state.raw for state in elements.runway_state] or None,
    }
    yield from (name for name, value in found.items() if value != row[name])
    if not _near(None if pressure is None else pressure.qnh_hpa, row["qnh_hpa"], SAME_HPA):
        yield "qnh"
    recent = [group for group in row["recent"] or () if group != "RE//"]
    if [weather.raw for weather in elements.recent] != recent:
        yield "recent"


def _forecast_differences(report: Report | None, row: Row) -> Iterator[str]:
    if report is None:
        yield "unreadable"
        return
    periods = row["periods"]
    if [period.kind.value for period in report.periods] != [p["kind"] for p in periods]:
        yield "periods"
        return
    for period, wanted in zip(report.periods, periods, strict=True):
        yield from _period_differences(period, wanted)


def _period_differences(period: Period, row: Row) -> Iterator[str]:
    if period.probability != row.get("prob"):
        yield "probability"
    if period.kind != "BASE":  # the rows give the validity of the whole forecast there
        start, end = period.start_at, period.end_at
        if row["from"] not in _as_day_hours(start):
            yield "start"
        if row.get("to") is not None and row["to"] not in _as_day_hours(end):
            yield "end"
    yield from _element_differences(period.elements, row)


def _as_day_hours(at: datetime | None) -> tuple[str | None, ...]:
    """DDHH, and DD24 of the day before for midnight; None for no readable time."""
    if at is None:
        return (None,)
    same = at.strftime("%d%H")
    return (same,) if at.hour else (same, (at - timedelta(days=1)).strftime("%d24"))


def _unexplained(differences: dict[str, set[str]]) -> dict[str, set[str]]:
    """Differences that no reviewed exception names, with digests in place of texts."""
    known = reviewed(EXCEPTIONS)
    return {
        name: names
        for name, names in differences.items()
        if not names <= set(known.get(name, "").partition(",")[0].split("+"))
    }


def test_observations_decode_to_the_expected_values_but_for_reviewed_exceptions() -> None:
    rows = _expected("METAR")
    differences = {
        digest(row["raw"]): names
        for row in rows
        if (names := set(_observation_differences(read(row["raw"]), row)))
    }

    assert len(rows) == 2968
    assert _unexplained(differences) == {}


def test_forecasts_decode_to_the_expected_values_but_for_reviewed_exceptions() -> None:
    rows = _expected("TAF")
    differences = {
        digest(row["raw"]): names
        for row in rows
        if (names := set(_forecast_differences(read_in_some_month(row["raw"]), row)))
    }

    assert len(rows) == 884
    assert _unexplained(differences) == {}


def test_no_reviewed_exception_is_out_of_date() -> None:
    known = {digest(json.loads(line)["raw"]) for line in corpus("decoded.jsonl")}

    assert set(reviewed(EXCEPTIONS)) <= known


# --- read whole, and never better than the text ---


def test_observations_of_the_world_leave_hardly_a_group_unread() -> None:
    reports = [read(raw) for raw in corpus("metar.txt")]

    whole = sum(not body_unread(report) for report in reports)
    assert whole / len(reports) >= METAR_READ_WHOLE


def test_forecasts_of_the_world_are_read_whole() -> None:
    reports = [read_in_some_month(raw) for raw in corpus("taf.txt")]

    whole = sum(report is not None and not report.unread for report in reports)
    assert whole / len(reports) >= TAF_READ_WHOLE


def test_no_observation_is_better_than_its_text() -> None:
    better = [
        raw
        for raw in corpus("metar.txt")
        if (elements := read(raw).elements) is not None
        and not is_never_better(elements, scan_observation(raw))
    ]

    assert better == []


def test_no_forecast_group_is_better_than_its_text() -> None:
    better = [
        period.raw
        for raw in corpus("taf.txt")
        if (report := read_in_some_month(raw)) is not None
        for period in report.periods
        if not period.unread and not is_never_better(period.elements, scan(f" {period.raw} "))
    ]

    assert better == []


def test_the_two_readers_agree_on_every_observation() -> None:
    problems = Counter(
        problem.partition(" on ")[0]
        for raw in corpus("metar.txt")
        for problem in read(raw).problems
    )

    assert problems["two readers differ"] == 0
    assert problems["read by one reader only"] <= 3


# --- broken strings ---


def _outcome(raw: str) -> str:
    """What becomes of a broken string: refused, no data, doubted, or read."""
    try:
        report = read(raw)
    except UnreadableReport:
        return "refused"
    if report.nil or report.cancelled:
        return "no data"
    return "doubted" if report.unread or report.problems else "read"


def test_a_broken_string_is_never_read_as_good() -> None:
    well_formed = reviewed(WELL_FORMED)
    taken = [
        raw
        for raw in corpus("malformed.txt")
        if _outcome(raw) == "read" and digest(raw) not in well_formed
    ]

    assert taken == []


def test_a_broken_string_is_never_better_than_its_text() -> None:
    better = []
    for raw in corpus("malformed.txt"):
        try:
            report = read(raw)
        except UnreadableReport:
            continue
        elements, text = report.elements, raw
        if report.trend and report.trend[0].unread:  # a mistyped keyword: the trend begins there
            text = raw.partition(report.trend[0].unread[0])[0]
        if elements is not None and not is_never_better(elements, scan_observation(text)):
            better.append(raw)
    assert better == []


def test_a_doubted_string_says_what_is_unknown_or_unread() -> None:
    doubted = [raw for raw in corpus("malformed.txt") if _outcome(raw) == "doubted"]
    assert doubted
    for raw in doubted:
        report = read(raw)
        assert all(problem.strip() for problem in report.problems)
        assert all(group.strip() for group in report.unread)
        assert Element.WIND not in _unknown(report) or report.problems


def _unknown(report: Report) -> frozenset[Element]:
    return frozenset() if report.elements is None else report.elements.unknown


@pytest.mark.parametrize("name", ["metar.txt", "taf.txt", "malformed.txt"])
def test_nothing_but_the_own_error_leaves_the_decoder(name: str) -> None:
    assert corpus(name)
    for raw in corpus(name):
        for cut in (len(raw), len(raw) // 2, len(raw) // 3):
            with suppress(UnreadableReport):
                assert read(raw[:cut]).raw == raw[:cut]
