"""A report word by word: where each stands in the text, and what it says in plain words.

What a report says is read once, by `decision.weather`; here each of its words is matched to what
was read from it. A word that could not be read has no meaning, and a report that has one says what
is therefore not known.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from enum import StrEnum
from math import floor
from typing import Annotated, Final, NamedTuple

from msgspec import Struct

from decision.answer.reports import DecodedReport, decoded, unreadable
from decision.answer.words import clock_down, joined
from decision.fields import about
from decision.quantities import Bound
from decision.weather.groups import TEN_KM_M
from decision.weather.phenomena import Part, classes_of
from decision.weather.report import (
    Ceiling,
    CloudAmount,
    CloudLayer,
    Convective,
    Element,
    Elements,
    Intensity,
    Period,
    PeriodKind,
    Pressure,
    Report,
    ReportKind,
    RunwayState,
    RunwayVisualRange,
    Temperature,
    TemperatureExtreme,
    Tendency,
    Visibility,
    WeatherGroup,
    Wind,
    WindShear,
)

WORD: Final = re.compile(r"[^\s=]+")
TIME_STAMP: Final = re.compile(r"\d{6}Z?")
FLAG: Final = re.compile("AUTO|COR|AMD")
SPAN: Final = re.compile(r"\d{4}/\d{4}")
CLOCK: Final = re.compile(r"(FM|TL|AT)\d{4}(?:\d\d)?")
REMARKS: Final = frozenset({"RMK", "RMKS"})
NOT_USED: Final = "read, not used"
READ: Final = "read"
SPOKEN: Final = {
    "METAR": "observation",
    "SPECI": "special observation",
    "TAF": "forecast",
    "AUTO": "made without an observer",
    "COR": "corrected",
    "AMD": "amended",
    "NIL": "no report",
    "CNL": "withdrawn",
    "CAVOK": "10 km or more, no cloud that matters",
    "NSC": "no cloud that matters",
    "NCD": "no cloud found",
    "SKC": "no cloud",
    "CLR": "no cloud found",
    "NSW": "no weather that matters",
    "NOSIG": "no change in 2 h",
    "BECMG": "becoming",
    "TEMPO": "at times",
    "INTER": "at times, briefly",
    "PROB30": "30 % probable",
    "PROB40": "40 % probable",
    "RMK": "remarks",
    "RMKS": "remarks",
    "//": "weather not told",
    "RVRNO": "runway visual range not told",
}
"""Words that say the same in every report [WMO-306]."""
SAME_EVERYWHERE: Final = frozenset({(), ("CAVOK",), ("NSC",), ("NCD",), ("SKC",), ("CLR",)})
AMOUNTS: Final = {
    CloudAmount.FEW: "few",
    CloudAmount.SCT: "scattered",
    CloudAmount.BKN: "broken",
    CloudAmount.OVC: "overcast",
    CloudAmount.VV: "vertical visibility",
}
CONVECTIVE: Final = {Convective.CB: "cumulonimbus", Convective.TCU: "towering cumulus"}
BOUNDS: Final = {Bound.AT_LEAST: "at least ", Bound.ABOVE: "above ", Bound.BELOW: "below "}
TENDENCIES: Final = {
    Tendency.UP: ", rising",
    Tendency.DOWN: ", falling",
    Tendency.NO_CHANGE: ", steady",
}
INTENSITIES: Final = {Intensity.LIGHT: "light ", Intensity.HEAVY: "heavy "}
WHOLE_SPAN: Final = "the weather of that time"
NAMES: Final = {
    Element.RVR: "runway visual range",
    Element.RUNWAY_STATE: "state of the runways",
}
"""How an element is called where its own name is no word."""

Words = tuple[str, ...]
Said = Iterator[tuple[str, str]]
"""Raw words, and what they say."""


class ReportPart(StrEnum):
    """Which part of a report a word stands in."""

    HEADER = "header"
    BODY = "body"
    REMARKS = "remarks"


class ReportToken(Struct, frozen=True, kw_only=True, gc=False):
    """One group of a report: its words, where they stand, what they say."""

    text: Annotated[str, about("As written.")]
    start: Annotated[int, about("Where it begins in the text of the report, in characters.")]
    end: Annotated[int, about("Where it ends, not included.")]
    part: Annotated[ReportPart, about("The part of the report that it stands in.")]
    meaning: Annotated[str | None, about("What it says in words; null: it could not be read.")]


class TokenedReport(DecodedReport, frozen=True, kw_only=True, gc=False):
    """A decoded report with each of its groups, and what follows from those not read."""

    tokens: Annotated[tuple[ReportToken, ...], about("Its groups, in order.")]
    consequence: Annotated[
        str | None, about("What is not known because something could not be read; null: all was.")
    ]


class _Written(NamedTuple):
    word: str
    start: int
    end: int


def tokened(report: Report) -> TokenedReport:
    """A report as it is published, with its groups."""
    return _with(decoded(report), _tokens(report), _consequence(report))


def tokened_unreadable(raw: str, problem: str) -> TokenedReport:
    """A text of which nothing could be read."""
    tokens = tuple(_token(raw, [each], ReportPart.BODY, None) for each in _written(raw))
    return _with(unreadable(raw, problem), tokens, f"nothing of it is used: {problem}")


def _with(
    plain: DecodedReport, tokens: tuple[ReportToken, ...], consequence: str | None
) -> TokenedReport:
    members = {name: getattr(plain, name) for name in plain.__struct_fields__}
    return TokenedReport(**members, tokens=tokens, consequence=consequence)


def _written(raw: str) -> list[_Written]:
    return [_Written(each[0].upper(), each.start(), each.end()) for each in WORD.finditer(raw)]


def _token(
    raw: str, words: Sequence[_Written], part: ReportPart, meaning: str | None
) -> ReportToken:
    start, end = words[0].start, words[-1].end
    return ReportToken(text=raw[start:end], start=start, end=end, part=part, meaning=meaning)


def _tokens(report: Report) -> tuple[ReportToken, ...]:
    words = _written(report.raw)
    begins = _after_header(report, words)
    head = (
        _token(report.raw, [each], ReportPart.HEADER, _of_header(report, each.word))
        for each in words[:begins]
    )
    return (*head, *_behind(report, words[begins:]))


def _after_header(report: Report, words: Sequence[_Written]) -> int:
    """How many words are of the header: the station, the time, the validity of a forecast."""
    names = [each.word for each in words]
    count = names.index(report.station) + 1 if report.station in names else 0
    expected = [FLAG, TIME_STAMP, FLAG, FLAG]
    if report.valid is not None:
        expected.append(SPAN)
    for pattern in expected:
        if count < len(names) and pattern.fullmatch(names[count]):
            count += 1
    return count


def _of_header(report: Report, word: str) -> str:
    if word == report.station:
        return "aerodrome"
    if TIME_STAMP.fullmatch(word):
        return f"made {_clock(report.issued_at, None)}"
    if SPAN.fullmatch(word) and report.valid is not None:
        start, end = report.valid.start_at, report.valid.end_at
        return f"from {_clock(start, None)} to {_clock(end, start)}"
    return SPOKEN.get(word, "corrected")


def _behind(report: Report, words: Sequence[_Written]) -> Iterator[ReportToken]:
    """Each group behind the header: the longest run of words that was read as one."""
    unread = Counter(tuple(each.upper().split()) for each in report.unread)
    said = _said(report)
    longest = max(map(len, (*unread, *said)), default=1)
    part, at = ReportPart.BODY, 0
    while at < len(words):
        if words[at].word in REMARKS:
            part = ReportPart.REMARKS
        for length in range(min(longest, len(words) - at), 0, -1):
            run = words[at : at + length]
            phrase = tuple(each.word for each in run)
            if unread[phrase]:
                unread[phrase] -= 1
                yield _token(report.raw, run, part, None)
                break
            if phrase in said or length == 1:
                yield _token(report.raw, run, part, said.get(phrase) or _other(phrase[0], part))
                break
        at += length


def _other(word: str, part: ReportPart) -> str:
    return SPOKEN.get(word, READ if part is ReportPart.BODY else NOT_USED)


def _said(report: Report) -> dict[Words, str]:
    """What was read, by the words that it was read from; of groups apart by each word, too."""
    told: list[tuple[str, str]] = []
    for period in report.trend or report.periods:
        told += (*_of_period(period, report.issued_at), *_of_elements(period.elements))
    if report.elements is not None:
        told += _of_elements(report.elements)
    told += ((each.raw, _extreme(each)) for each in report.extremes)
    found = {tuple(raw.upper().split()): text for raw, text in told}
    apart = {(word,): text for words, text in found.items() for word in words}
    return {words: text for words, text in (apart | found).items() if words not in SAME_EVERYWHERE}


def _of_period(period: Period, issued_at: datetime) -> Said:
    """Its time group, where it has one that was read."""
    if period.start_at is None or period.end_at is None or period.kind is PeriodKind.BASE:
        return
    start, end = _clock(period.start_at, issued_at), _clock(period.end_at, issued_at)
    for word in period.raw.split():
        found = CLOCK.fullmatch(word)
        if SPAN.fullmatch(word):
            yield word, f"{start} to {end}"
        elif found is not None:
            yield word, {"FM": f"from {start}", "TL": f"until {end}", "AT": f"at {start}"}[found[1]]


def _of_elements(elements: Elements) -> Said:
    """Each group that was read; one of an element that is not relied on says so."""
    for element, raw, text in (*_of_air(elements), *_of_sky(elements)):
        yield raw, f"{_name(element)} not known" if element in elements.unknown else text
    for shear in elements.wind_shear:
        yield shear.raw, _shear(shear)
    for remark in elements.remarks:
        yield remark.raw, f"remark: {remark.kind.value.replace('_', ' ')}"
    for raw in elements.set_aside:
        yield raw, NOT_USED


def _of_air(elements: Elements) -> Iterator[tuple[Element, str, str]]:
    if elements.wind is not None:
        yield Element.WIND, elements.wind.raw, _wind(elements.wind)
    if elements.visibility is not None:
        yield Element.VISIBILITY, elements.visibility.raw, _visibility(elements.visibility)
    for rvr in elements.rvr:
        yield Element.RVR, rvr.raw, _rvr(rvr)
    if elements.temperature is not None:
        yield Element.TEMPERATURE, elements.temperature.raw, _temperature(elements.temperature)
    if elements.pressure is not None:
        yield Element.PRESSURE, elements.pressure.raw, _pressure(elements.pressure)


def _of_sky(elements: Elements) -> Iterator[tuple[Element, str, str]]:
    for weather in elements.weather or ():
        yield Element.WEATHER, weather.raw, weather_words(weather)
    for recent in elements.recent:
        yield Element.WEATHER, recent.raw, f"lately {weather_words(recent)}"
    for layer in elements.clouds or ():
        yield Element.CLOUD, layer.raw, _cloud(layer, elements.ceiling)
    for state in elements.runway_state:
        yield Element.RUNWAY_STATE, state.raw, _runway(state)


def _clock(at: datetime, beside: datetime | None) -> str:
    """Hour and minute, with the date where it is not that of the moment beside it."""
    date = "" if beside is not None and at.date() == beside.date() else f"{at.day} {at:%b} "
    return f"{date}{clock_down(at)}"


def _wind(wind: Wind) -> str:
    if wind.speed_kt is None:
        return "wind not told"
    if wind.speed_kt == 0.0 and wind.gust_kt is None:
        return "calm"
    way = "not told" if wind.from_true_deg is None else f"{wind.from_true_deg:.0f}°"
    way = "variable" if wind.variable else way
    gust = "" if wind.gust_kt is None else f", gusts {wind.gust_kt:.0f} kt"
    if wind.variation is None:
        return f"{way}, {BOUNDS.get(wind.speed_bound, '')}{wind.speed_kt:.0f} kt{gust}"
    low, high = wind.variation
    return f"{way}, {wind.speed_kt:.0f} kt{gust}, varying {low:.0f}° to {high:.0f}°"


def _visibility(visibility: Visibility) -> str:
    told = "visibility not told"
    if visibility.metres is not None:
        told = f"{BOUNDS.get(visibility.bound, '')}{_metres(visibility.metres)}"
    if visibility.minimum_metres is None:
        return told
    where = f" to {visibility.minimum_direction}" if visibility.minimum_direction else ""
    return f"{told}, lowest {_metres(visibility.minimum_metres)}{where}"


def _metres(metres: float) -> str:
    """Rounded down: a visibility is never told as more than it is."""
    return "10 km" if metres == TEN_KM_M else f"{floor(metres)} m"


def _rvr(rvr: RunwayVisualRange) -> str:
    if rvr.low_m is None:
        return f"RVR of runway {rvr.runway} missing"
    low = f"{BOUNDS.get(rvr.low_bound, '')}{floor(rvr.low_m)} m"
    high = "" if rvr.high_m is None else f" to {floor(rvr.high_m)} m"
    tendency = "" if rvr.tendency is None else TENDENCIES[rvr.tendency]
    return f"RVR of runway {rvr.runway} {low}{high}{tendency}"


def weather_words(weather: WeatherGroup) -> str:
    """A weather group in words [WMO-306] table 4678: `-SHRA` is light showers of rain."""
    classes = classes_of(weather)
    kinds = " and ".join(each.title for each in classes if each.part is Part.PHENOMENON)
    before = " ".join(each.title for each in classes if each.part is Part.DESCRIPTOR)
    told = (
        f"{before} {kinds}".strip() if kinds else before.removesuffix(" with").removesuffix(" of")
    )
    near = " in the vicinity" if weather.intensity is Intensity.VICINITY else ""
    return f"{INTENSITIES.get(weather.intensity, '')}{told}{near}"


def _cloud(layer: CloudLayer, ceiling: Ceiling | None) -> str:
    base = "at a height not told" if layer.base_ft is None else f"{layer.base_ft:.0f} ft"
    amount = "cloud" if layer.amount is None else AMOUNTS[layer.amount]
    if ceiling is not None and ceiling.raw == layer.raw and ceiling.feet is not None:
        amount = f"ceiling, {amount}"
    kind = f" {CONVECTIVE[layer.convective]}" if layer.convective is not None else ""
    return f"{amount}{kind} {base}"


def _temperature(temperature: Temperature) -> str:
    air, dew = temperature.temperature_degc, temperature.dewpoint_degc
    told = "temperature not told" if air is None else f"{air:.0f} °C"
    return told if dew is None else f"{told}, dew point {dew:.0f} °C"


def _pressure(pressure: Pressure) -> str:
    return "QNH not told" if pressure.qnh_hpa is None else f"QNH {floor(pressure.qnh_hpa)} hPa"


def _runway(state: RunwayState) -> str:
    where = "all runways" if state.runway is None else f"runway {state.runway}"
    told = [
        "closed" if state.closed else "",
        "cleared" if state.cleared else "",
        "" if state.deposit is None else state.deposit.value,
        "" if state.extent_percent is None else f"{state.extent_percent:.0f} %",
        "" if state.depth_mm is None else f"{state.depth_mm:g} mm",
        "" if state.braking_action is None else f"braking {state.braking_action.value}",
        "" if state.friction_coefficient is None else f"friction {state.friction_coefficient:g}",
    ]
    return f"{where}: {', '.join(filter(None, told)) or 'nothing told'}"


def _shear(shear: WindShear) -> str:
    if shear.height_ft is not None:
        return f"wind shear at {shear.height_ft:.0f} ft"
    return f"wind shear, {'all runways' if shear.runway is None else f'runway {shear.runway}'}"


def _extreme(extreme: TemperatureExtreme) -> str:
    name = {True: "highest", False: "lowest", None: "extreme"}[extreme.maximum]
    return f"{name} {extreme.temperature_degc:.0f} °C"


def _consequence(report: Report) -> str | None:
    """What is not known because of what could not be read; None: everything was."""
    if not report.unread:
        return None
    count = len(report.unread)
    told = "1 group not read" if count == 1 else f"{count} groups not read"
    names = [*_names(report)]
    return f"{told}, so {joined(names)} {'is' if len(names) == 1 else 'are'} not known"


def _name(element: Element) -> str:
    return NAMES.get(element, element.value)


def _names(report: Report) -> Iterable[str]:
    unknown = frozenset() if report.elements is None else report.elements.unknown
    yield from (_name(each) for each in Element if each in unknown)
    if report.kind is ReportKind.TAF or any(each.unread for each in report.trend):
        yield WHOLE_SPAN
    elif not unknown:
        yield "what it says"
