"""A decoded report as JSON-ready data; field names are those of the HTTP contract."""

from __future__ import annotations

from dataclasses import fields
from datetime import datetime
from typing import Any

from decision.weather.report import Elements, Period, Report, ReportKind
from decision.windows import Window

Plain = dict[str, Any]


def report_to_mapping(report: Report) -> Plain:
    """A report as plain data: observations have `elements` and `trend`, forecasts `periods`."""
    mapping: Plain = {
        "raw": report.raw,
        "kind": report.kind.value,
        "station": report.station,
        "issued_at": _instant(report.issued_at),
        "auto": report.auto,
        "corrected": report.corrected,
        "amended": report.amended,
        "nil": report.nil,
        "cancelled": report.cancelled,
        "valid": _span(report.valid),
        "unread": list(report.unread),
        "problems": list(report.problems),
    }
    if report.kind is ReportKind.TAF:
        return mapping | {
            "periods": [_period(period) for period in report.periods],
            "extremes": [_fields(extreme) for extreme in report.extremes],
            "amendments_not_scheduled": report.amendments_not_scheduled,
        }
    return mapping | {
        "elements": None if report.elements is None else _elements(report.elements),
        "trend": [_period(period) for period in report.trend],
        "nosig": report.nosig,
    }


def _period(period: Period) -> Plain:
    return {
        "kind": period.kind.value,
        "probability": period.probability,
        "start": _instant(period.start_at),
        "end": _instant(period.end_at),
        **_elements(period.elements),
        "unread": list(period.unread),
        "raw": period.raw,
    }


def _elements(elements: Elements) -> Plain:
    temperature, pressure = elements.temperature, elements.pressure
    return {
        "wind": _plain(elements.wind),
        "visibility": _plain(elements.visibility),
        "ceiling": _plain(elements.ceiling),
        "clouds": _plain(elements.clouds),
        "rvr": _plain(elements.rvr),
        "weather": _plain(elements.weather),
        "recent": _plain(elements.recent),
        "temperature_degc": temperature and temperature.temperature_degc,
        "dewpoint_degc": temperature and temperature.dewpoint_degc,
        "temperature_raw": temperature and temperature.raw,
        "qnh_hpa": pressure and pressure.qnh_hpa,
        "qnh_unit_reported": pressure and pressure.unit_reported.value,
        "qnh_raw": pressure and pressure.raw,
        "cavok": elements.cavok,
        "runway_state": _plain(elements.runway_state),
        "wind_shear": _plain(elements.wind_shear),
        "remarks": _plain(elements.remarks),
        "set_aside": list(elements.set_aside),
        "unknown": sorted(elements.unknown),
    }


def _plain(value: object) -> Any:  # noqa: ANN401 - JSON
    """A value of `report` as plain data: dataclasses as objects, tuples as arrays."""
    match value:
        case None | bool() | int() | float():
            return value
        case str():
            return str(value)
        case datetime():
            return _instant(value)
        case tuple():
            return [_plain(item) for item in value]
        case _:
            return _fields(value)


def _fields(value: Any) -> Plain:  # noqa: ANN401 - any dataclass of report
    return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}


def _span(window: Window | None) -> Plain | None:
    if window is None:
        return None
    return {"start": _instant(window.start_at), "end": _instant(window.end_at)}


def _instant(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat().replace("+00:00", "Z")
