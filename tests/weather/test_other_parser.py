"""Another author's parser on the same reports: every disagreement belongs to a known class.

The classes are known errors or conventions of the other parser; a disagreement outside them
fails. Only readings of an element that this decoder claims to know are compared.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

from hypothesis import given
from metar_taf_parser.commons.exception import ParseError
from metar_taf_parser.parser.parser import MetarParser, TAFParser

from decision import units
from decision.weather import Element, Elements, Report
from tests.weather.builders import corpus, read, read_in_some_month
from tests.weather.generated import Model, observations

TO_KT: dict[str, Callable[[float], float]] = {
    "KT": float,
    "MPS": units.mps_to_kt,
    "KM/H": units.kmh_to_kt,
}
M_PER = {"M": 1.0, "KM": 1000.0, "SM": units.M_PER_STATUTE_MILE}
SAME_KT = 0.06
SAME_FRACTION = 0.01

# Known errors of the other parser, each by what in the text sets it off.
KNOWN = {
    "runway state of eight figures taken for a wind": r" \d{8}(?!\S)",
    "wind or gust with P not read": r" \d{3}P\d\d|GP\d\d",
    "wind speed of three figures not read": r" (?:\d{3}|VRB)\d{3}(?:G\d+)?(?:KT|MPS)",
    "kilometres an hour taken for knots": r"KMH",
    "sixteenths of a mile not read": r"/16SM",
    "joined whole and fraction of miles not read": r" \d{2}/\dSM",
    "kilometres of visibility not read": r" \d{1,2}KM",
    "the second of two visibilities overwrites the first": r" \d{4} \d{4} ",
    "pressure without letter taken for a visibility": r"\d\d/\d\d \d{4}(?!\S)",
    "vertical visibility with a cloud type not read": r"VV\d{3}TCU",
    "Australian trend taken for the observation": r" Q\d{4} (?:INTER|FM\d{4}) ",
    "forecast behind a colour state taken for the observation": r" (?:BLU|YLO|GRN|WHT) \d{5}",
}


# --- what both say, under the same names ---


def other_figures(parsed: Any) -> dict[str, float | None]:
    """Wind, gust, visibility and ceiling of the other parser; None where it has none."""
    wind, visibility = parsed.wind, parsed.visibility
    to_kt = None if wind is None else TO_KT[wind.unit]
    ceilings = [
        cloud.height
        for cloud in parsed.clouds
        if cloud.quantity.value in ("BKN", "OVC") and cloud.height is not None
    ]
    if parsed.vertical_visibility is not None:
        ceilings.append(parsed.vertical_visibility)
    return {
        "speed": None if wind is None or to_kt is None else to_kt(wind.speed),
        "gust": None if wind is None or wind.gust is None or to_kt is None else to_kt(wind.gust),
        "visibility": None if visibility is None else _metres(visibility),
        "ceiling": min(ceilings, default=None),
    }


def _metres(visibility: Any) -> float | None:
    """Metres of a visibility as the other parser has it: `>10000` M, `1 1/2`, `P6` or `M1/4` SM."""
    found = re.fullmatch(r"[>PM]?(?:(\d+) )?(\d+)(?:/(\d+))?", str(visibility.distance))
    if found is None:
        return None
    whole, number, denominator = found.groups()
    value = int(whole or 0) + int(number) / int(denominator or 1)
    return value * M_PER[getattr(visibility.unit, "value", visibility.unit)]


def own_figures(elements: Elements) -> dict[str, float | None]:
    """The same of this decoder, leaving out what it calls unknown."""
    wind, visibility, ceiling = elements.wind, elements.visibility, elements.ceiling
    known = Element.WIND not in elements.unknown
    figures: dict[str, float | None] = {}
    if wind is not None and known:
        figures |= {"speed": wind.speed_kt, "gust": wind.gust_kt}
    if visibility is not None and Element.VISIBILITY not in elements.unknown:
        figures["visibility"] = visibility.metres
    if ceiling is not None and Element.CLOUD not in elements.unknown:
        figures["ceiling"] = ceiling.feet
    return figures


def _same(own: float | None, other: float | None) -> bool:
    if own is None or other is None:
        return own is None and other is None
    return abs(own - other) <= max(SAME_KT, SAME_FRACTION * own)


def differences(elements: Elements, parsed: Any) -> Iterator[str]:
    other = other_figures(parsed)
    yield from (
        name for name, value in own_figures(elements).items() if not _same(value, other[name])
    )


def parse_other(raw: str) -> Any | None:
    """The other parser's reading of an observation, or None where it raises."""
    try:
        return MetarParser().parse(raw.removeprefix("METAR ").removeprefix("SPECI "))
    except (ParseError, ValueError, AttributeError, TypeError, IndexError, KeyError):
        return None


def reason_for(raw: str) -> str | None:
    """The first known class that the text belongs to."""
    return next((name for name, sign in KNOWN.items() if re.search(sign, raw)), None)


@given(observations)
def test_both_parsers_read_generated_observations_alike(model: Model) -> None:
    raw = f"METAR XABC 251150Z {model.body}"
    report, parsed = read(raw), parse_other(raw)

    assert report.elements is not None
    if parsed is None:
        return
    found = set(differences(report.elements, parsed))
    assert not found or reason_for(raw) is not None, (raw, found)


# How often each class may explain a difference on the archived observations: frozen.
ALLOWED = {
    "runway state of eight figures taken for a wind": 20,
    "wind or gust with P not read": 6,
    "wind speed of three figures not read": 1,
    "sixteenths of a mile not read": 1,
    "kilometres of visibility not read": 5,
    "the second of two visibilities overwrites the first": 5,
    "pressure without letter taken for a visibility": 1,
    "vertical visibility with a cloud type not read": 1,
    "Australian trend taken for the observation": 3,
    "forecast behind a colour state taken for the observation": 4,
}


def _observations_that_differ() -> Iterator[tuple[str, tuple[str, ...]]]:
    for raw in corpus("metar.txt"):
        report: Report = read(raw)
        parsed = parse_other(raw)
        if report.elements is None or parsed is None or report.unread:
            continue
        found = tuple(differences(report.elements, parsed))
        if found:
            yield raw, found


def test_archived_observations_differ_only_in_known_classes() -> None:
    classes: Counter[str] = Counter()
    strangers = []
    for raw, found in _observations_that_differ():
        reason = reason_for(raw)
        if reason is None:
            strangers.append((raw, found))
        else:
            classes[reason] += 1

    assert strangers == []
    assert classes == ALLOWED


# --- forecasts ---

FORECASTS_KNOWN = {
    "joined whole and fraction of miles not read": r" \d{2}/\dSM",
    "a doubled keyword opens two groups": r" TEMPO TEMPO ",
    "PROB INTER opens no group": r" PROB\d\d INTER ",
    "notes on amendments taken for elements": r" AMDS? (?:AFT )?\d{4}",
    "wind speed of three figures not read": r" \d{6}(?:G\d+)?(?:KT|MPS)",
    "the second of two visibilities overwrites the first": r" \d{4} \d{4} ",
}
FORECASTS_ALLOWED = {
    "joined whole and fraction of miles not read": 5,
    "a doubled keyword opens two groups": 1,
    "PROB INTER opens no group": 2,
    "notes on amendments taken for elements": 3,
    "wind speed of three figures not read": 1,
    "the second of two visibilities overwrites the first": 1,
}


def other_forecast(raw: str) -> Any | None:
    """The other parser's reading of a forecast, or None where it raises."""
    try:
        return TAFParser().parse(raw if raw.startswith("TAF") else f"TAF {raw}")
    except (ParseError, ValueError, AttributeError, TypeError, IndexError, KeyError):
        return None


def _forecasts_that_differ() -> Iterator[tuple[str, set[str]]]:
    for raw in corpus("taf.txt"):
        report, parsed = read_in_some_month(raw), other_forecast(raw)
        if report is None or not report.periods or parsed is None or report.unread:
            continue
        if len(report.periods) != 1 + len(parsed.trends):
            yield raw, {"periods"}
            continue
        found: set[str] = set()
        for period, other in zip(report.periods, (parsed, *parsed.trends), strict=True):
            found.update(differences(period.elements, other))
        if found:
            yield raw, found


def test_archived_forecasts_differ_only_in_known_classes() -> None:
    classes: Counter[str] = Counter()
    strangers = []
    for raw, found in _forecasts_that_differ():
        reason = next(
            (name for name, sign in FORECASTS_KNOWN.items() if re.search(sign, raw)), None
        )
        if reason is None:
            strangers.append((raw, found))
        else:
            classes[reason] += 1

    assert strangers == []
    assert classes == FORECASTS_ALLOWED
