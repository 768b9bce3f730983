"""Decoded reports as they are published; the elements are those of `decision.weather.report`."""

from __future__ import annotations

from typing import Annotated, Any, Final

from msgspec import Struct

from decision.fields import Instant, about
from decision.weather.report import (
    Ceiling,
    CloudLayer,
    Element,
    Elements,
    Period,
    PeriodKind,
    PressureUnit,
    Remark,
    Report,
    ReportKind,
    RunwayState,
    RunwayVisualRange,
    TemperatureExtreme,
    Visibility,
    WeatherGroup,
    Wind,
    WindShear,
)
from decision.windows import Window

AS_THEY_ARE: Final = (
    "wind",
    "visibility",
    "ceiling",
    "clouds",
    "rvr",
    "weather",
    "recent",
    "cavok",
    "runway_state",
    "wind_shear",
    "remarks",
    "set_aside",
)


class DecodedElements(Struct, frozen=True, kw_only=True, gc=False):
    """Elements of an observation; of a group, those that it names."""

    wind: Annotated[Wind | None, about("Surface wind; null: not named.")]
    visibility: Annotated[Visibility | None, about("Visibility; null: not named.")]
    ceiling: Annotated[
        Ceiling | None, about("Lowest BKN or OVC, or vertical visibility; null: not named.")
    ]
    clouds: Annotated[tuple[CloudLayer, ...] | None, about("Layers; null: not named.")]
    rvr: Annotated[tuple[RunwayVisualRange, ...], about("Runway visual ranges.")]
    weather: Annotated[tuple[WeatherGroup, ...] | None, about("Weather now; null: not named.")]
    recent: Annotated[tuple[WeatherGroup, ...], about("Weather since the last report.")]
    temperature_degc: Annotated[float | None, about("Temperature.", unit="degrees Celsius")]
    dewpoint_degc: Annotated[float | None, about("Dew point.", unit="degrees Celsius")]
    temperature_raw: Annotated[str | None, about("The group of both.")]
    qnh_hpa: Annotated[float | None, about("QNH; null: missing or not believable.", unit="hPa")]
    qnh_unit_reported: Annotated[PressureUnit | None, about("Unit of the report.")]
    qnh_raw: Annotated[str | None, about("The group of the pressure.")]
    cavok: Annotated[bool, about("Whether CAVOK is said.")]
    runway_state: Annotated[tuple[RunwayState, ...], about("Deposits on runways.")]
    wind_shear: Annotated[tuple[WindShear, ...], about("Low-level wind shear.")]
    remarks: Annotated[tuple[Remark, ...], about("Remarks that can matter.")]
    set_aside: Annotated[tuple[str, ...], about("Groups read but not used.")]
    unknown: Annotated[
        tuple[Element, ...], about("Elements that are missing or cannot be relied on.")
    ]


class DecodedPeriod(DecodedElements, frozen=True, kw_only=True, gc=False):
    """A group of a forecast or of a trend."""

    kind: Annotated[PeriodKind, about("What it does to the weather before it.")]
    probability: Annotated[int | None, about("As said; null: none.", unit="percent")]
    start: Annotated[Instant | None, about("From when; null: not readable.")]
    end: Annotated[Instant | None, about("Until when; null: not readable.")]
    unread: Annotated[tuple[str, ...], about("What of it could not be read.")]
    raw: Annotated[str, about("Its words.")]


class DecodedReport(Struct, frozen=True, kw_only=True, gc=False):
    """A decoded report; what only the other kinds have is null."""

    raw: Annotated[str, about("The report.")]
    kind: Annotated[ReportKind | None, about("Code form; null: nothing could be read.")]
    station: Annotated[str | None, about("Location indicator.")]
    issued_at: Annotated[Instant | None, about("Time of the report.")]
    auto: Annotated[bool, about("Made without an observer.")] = False
    corrected: Annotated[bool, about("A correction.")] = False
    amended: Annotated[bool, about("An amendment.")] = False
    nil: Annotated[bool, about("Said to be missing.")] = False
    cancelled: Annotated[bool, about("Withdrawn.")] = False
    valid: Annotated[Window | None, about("Validity of a forecast.")] = None
    unread: Annotated[tuple[str, ...], about("Groups that could not be read, in order.")]
    problems: Annotated[tuple[str, ...], about("What is wrong with it.")]
    elements: Annotated[DecodedElements | None, about("Of an observation.")] = None
    trend: Annotated[
        tuple[DecodedPeriod, ...] | None, about("Groups of the trend of an observation.")
    ] = None
    nosig: Annotated[bool | None, about("The trend says: no significant change.")] = None
    periods: Annotated[tuple[DecodedPeriod, ...] | None, about("Groups of a forecast.")] = None
    extremes: Annotated[
        tuple[TemperatureExtreme, ...] | None, about("Temperatures of a forecast.")
    ] = None
    amendments_not_scheduled: Annotated[
        bool | None, about("A forecast that will not be amended.")
    ] = None


def decoded(report: Report) -> DecodedReport:
    """A report as it is published: observations have `elements`, forecasts `periods`."""
    forecast = report.kind is ReportKind.TAF
    return DecodedReport(
        raw=report.raw,
        kind=report.kind,
        station=report.station,
        issued_at=report.issued_at,
        auto=report.auto,
        corrected=report.corrected,
        amended=report.amended,
        nil=report.nil,
        cancelled=report.cancelled,
        valid=report.valid,
        unread=report.unread,
        problems=report.problems,
        elements=None if report.elements is None else DecodedElements(**_elements(report.elements)),
        trend=None if forecast else tuple(map(_period, report.trend)),
        nosig=None if forecast else report.nosig,
        periods=tuple(map(_period, report.periods)) if forecast else None,
        extremes=report.extremes if forecast else None,
        amendments_not_scheduled=report.amendments_not_scheduled if forecast else None,
    )


def unreadable(raw: str, problem: str) -> DecodedReport:
    """A text of which nothing could be read."""
    return DecodedReport(
        raw=raw, kind=None, station=None, issued_at=None, unread=(raw,), problems=(problem,)
    )


def _period(period: Period) -> DecodedPeriod:
    return DecodedPeriod(
        kind=period.kind,
        probability=period.probability,
        start=period.start_at,
        end=period.end_at,
        unread=period.unread,
        raw=period.raw,
        **_elements(period.elements),
    )


def _elements(elements: Elements) -> dict[str, Any]:
    """Members by name; temperature and pressure are told flat."""
    temperature, pressure = elements.temperature, elements.pressure
    return {
        **{name: getattr(elements, name) for name in AS_THEY_ARE},
        "temperature_degc": temperature and temperature.temperature_degc,
        "dewpoint_degc": temperature and temperature.dewpoint_degc,
        "temperature_raw": temperature and temperature.raw,
        "qnh_hpa": pressure and pressure.qnh_hpa,
        "qnh_unit_reported": pressure and pressure.unit_reported,
        "qnh_raw": pressure and pressure.raw,
        "unknown": tuple(sorted(elements.unknown)),
    }
