"""A second, deliberately plain look at raw reports: the worst that their words can mean.

Shares nothing with the decoder: regular expressions on the raw text, no grammar, no state. Works
on the part before RMK, before the trend (observations) or on a whole forecast.
"""

from __future__ import annotations

import re
from typing import NamedTuple

M_PER_MILE = 1609.344
M_PER_FOOT = 0.3048

_TREND = re.compile(r" (?:NOSIG|BECMG|TEMPO|INTER|PROB\d\d|FM\d{4})\b")
_CEILING = re.compile(r"(?<!\S)(?:BKN|OVC|VV)(\d{3})(?:CB|TCU|///)?(?!\S)")
_CEILING_BLANK = re.compile(r"(?<!\S)(?:BKN|OVC|VV)///")
_METRES = re.compile(r"(?<!\S)(\d{4})(?:NDV|[NS][EW]?|[EW])?(?!\S)")
_MILES = re.compile(r"(?<!\S)[MP]?(?:(\d{1,2}) )?(\d{1,2})(?:/(\d{1,2}))?SM(?!\S)")
_RVR = re.compile(r"(?<!\S)R\d\d[LCR]{0,2}/[PM]?(\d{4})(?:V[PM]?(\d{4}))?(FT)?/?[UDN]?(?!\S)")
_THUNDER = re.compile(r"(?<!\S)(?!RE)(?:[-+]|VC)?(?:[A-Z]{2})?TS(?:[A-Z]{2})*(?!\S)")
_FREEZING = re.compile(r"(?<!\S)[-+]?FZ(?!FG(?!\S))(?:[A-Z]{2})+(?!\S)")
_CB = re.compile(r"(?<!\S)\S{3,6}CB(?!\S)")


class Scan(NamedTuple):
    """The worst figures found; None: none found."""

    ceiling_ft: float | None
    visibility_m: float | None
    rvr_m: float | None
    thunderstorm: bool
    freezing: bool
    cb: bool
    blank_ceiling: bool


def scan_observation(raw: str) -> Scan:
    """Scan the observation proper of a METAR or SPECI."""
    text = re.sub(r"\s+", " ", raw.upper().replace("=", " ")).strip()
    text = text.partition(" RMK")[0]
    text = _TREND.split(text, maxsplit=1)[0]
    return scan(re.split(r"\d{6}Z", text, maxsplit=1)[-1])


def scan(text: str) -> Scan:
    """Scan groups."""
    before_pressure = re.split(r" [QA]\d{4}\b", text, maxsplit=1)[0]
    return Scan(
        ceiling_ft=_least([100.0 * int(m[1]) for m in _CEILING.finditer(text)]),
        visibility_m=_least(
            [float(m[1]) if m[1] != "9999" else 10_000.0 for m in _METRES.finditer(before_pressure)]
            + [miles for m in _MILES.finditer(before_pressure) if (miles := _miles(m)) is not None]
        ),
        rvr_m=_least([float(m[1]) * (M_PER_FOOT if m[3] else 1.0) for m in _RVR.finditer(text)]),
        thunderstorm=_THUNDER.search(text) is not None,
        freezing=_FREEZING.search(text) is not None,
        cb=_CB.search(text) is not None,
        blank_ceiling=_CEILING_BLANK.search(text) is not None,
    )


def _least(values: list[float]) -> float | None:
    return min(values, default=None)


def _miles(found: re.Match[str]) -> float | None:
    whole, number, denominator = found[1], found[2], found[3]
    if denominator is None:
        return int(number) * M_PER_MILE
    if int(denominator) == 0:
        return None
    if int(number) >= int(denominator) and len(number) > 1:  # 11/2 stands for 1 1/2
        whole, number = number[0], number[1:]
    return (int(whole or 0) + int(number) / int(denominator)) * M_PER_MILE
