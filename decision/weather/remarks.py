"""Remarks that can matter to a decision, out of the free text after RMK.

Each reader starts at one word and looks at the few words behind it; what it does not know stays
text. Source of the forms: [FAA-AIM] 7-1-29 and its examples.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from re import Match
from types import MappingProxyType
from typing import Final

from decision import units
from decision.weather.groups import FT_PER_COUNT
from decision.weather.report import CloudAmount, Remark, RemarkKind

_TENTHS: Final = 0.1  # [FAA-AIM] T-group: tenths of a degree
_WORDS_AHEAD: Final = 6
_HOUR_BACK: Final = timedelta(hours=1)
_SENSORS: Final = frozenset(
    {"TSNO", "RVRNO", "FZRANO", "PWINO", "PNO", "SLPNO", "VISNO", "CHINO"}  # [FAA-AIM] 7-1-29
)
_MILES: Final = r"M?\d{1,2}(?: \d/\d{1,2}|/\d{1,2})?"
_WHERE: Final = r"(?:N|S|E|W|NE|NW|SE|SW)(?:-(?:N|S|E|W|NE|NW|SE|SW))*|RWY ?\d\d[LCR]?"

Reader = Callable[[Match[str], datetime], Remark | None]


def _variable_ceiling(found: Match[str], _: datetime) -> Remark:
    low, high = found["low"], found["high"]
    return Remark(
        kind=RemarkKind.VARIABLE_CEILING if high else RemarkKind.CEILING_AT,
        low_ft=float(low) * FT_PER_COUNT,
        high_ft=float(high) * FT_PER_COUNT if high else None,
        where=found["where"],
        raw=found[0],
    )


def _variable_sky(found: Match[str], _: datetime) -> Remark:
    base_ft = float(found["base"]) * FT_PER_COUNT if found["base"] else None
    return Remark(
        kind=RemarkKind.VARIABLE_SKY,
        low_ft=base_ft,
        high_ft=base_ft,
        amounts=(CloudAmount(found["from"]), CloudAmount(found["to"])),
        raw=found[0],
    )


def _visibility(found: Match[str], _: datetime) -> Remark | None:
    low_m, high_m = _miles_m(found["low"]), _miles_m(found["high"])
    if low_m is None:
        return None
    return Remark(
        kind=_visibility_kind(found),
        low_m=low_m,
        high_m=high_m,
        where=found["where"],
        raw=found[0],
    )


def _visibility_kind(found: Match[str]) -> RemarkKind:
    if found["by"] is not None:
        tower = found["by"].startswith("TWR")
        return RemarkKind.TOWER_VISIBILITY if tower else RemarkKind.SURFACE_VISIBILITY
    return RemarkKind.VARIABLE_VISIBILITY if found["high"] else RemarkKind.SECTOR_VISIBILITY


def _miles_m(text: str | None) -> float | None:
    if text is None:
        return None
    miles = 0.0
    for part in text.removeprefix("M").split():
        numerator, _, denominator = part.partition("/")
        if denominator and not int(denominator):
            return None
        miles += int(numerator) / int(denominator or 1)
    return units.statute_miles_to_m(miles)


def _peak_wind(found: Match[str], issued_at: datetime) -> Remark:
    return Remark(
        kind=RemarkKind.PEAK_WIND,
        from_true_deg=float(found["dir"]),
        speed_kt=float(found["speed"]),
        at=_before(found, issued_at),
        raw=found[0],
    )


def _wind_shift(found: Match[str], issued_at: datetime) -> Remark:
    return Remark(kind=RemarkKind.WIND_SHIFT, at=_before(found, issued_at), raw=found[0])


def _before(found: Match[str], issued_at: datetime) -> datetime | None:
    """The last instant at or before the report with this minute, and hour if one is given."""
    try:
        at = issued_at.replace(
            hour=int(found["hour"]) if found["hour"] else issued_at.hour,
            minute=int(found["minute"]),
        )
    except ValueError:
        return None
    if at <= issued_at:
        return at
    return at - (timedelta(days=1) if found["hour"] else _HOUR_BACK)


def _precise_temperature(found: Match[str], _: datetime) -> Remark:
    dew = found["dew"]
    return Remark(
        kind=RemarkKind.PRECISE_TEMPERATURE,
        temperature_degc=_tenths(found["sign"], found["air"]),
        dewpoint_degc=_tenths(found["dew_sign"], dew) if dew else None,
        raw=found[0],
    )


def _tenths(sign: str, digits: str) -> float:
    value = round(float(digits) * _TENTHS, 1)
    return -value if sign == "1" else value


def _text(kind: RemarkKind) -> Reader:
    def read(found: Match[str], _: datetime) -> Remark:
        return Remark(kind=kind, raw=found[0])

    return read


def _funnel_cloud(found: Match[str], _: datetime) -> Remark | None:
    """One that has ended is no weather any more."""
    times = re.findall(r"[BE]", found["times"] or "")
    if times[-1:] == ["E"]:
        return None
    return Remark(kind=RemarkKind.FUNNEL_CLOUD, raw=found[0])


def _microburst(found: Match[str], _: datetime) -> Remark:
    return Remark(kind=RemarkKind.MICROBURST, where=found["where"], raw=found[0])


def _forms(*forms: tuple[str, Reader]) -> tuple[tuple[re.Pattern[str], Reader], ...]:
    return tuple((re.compile(rf"(?:{pattern})(?= |$)"), reader) for pattern, reader in forms)


_VISIBILITY: Final = (
    rf"(?:(?P<by>TWR|SFC) )?VIS (?:(?P<where>{_WHERE}) )?(?P<low>{_MILES})(?:V(?P<high>{_MILES}))?"
)
_CEILING: Final = rf"CIG (?P<low>\d{{3}})(?:V(?P<high>\d{{3}}))?(?: (?P<where>{_WHERE}))?"
_SKY: Final = r"(?P<from>FEW|SCT|BKN|OVC)(?P<base>\d{3})? V (?P<to>FEW|SCT|BKN|OVC)"
_LIGHTNING: Final = rf"(?:(?:OCNL|FRQ|FREQ|CONS) )?LTG\S*(?: (?:DSNT|OHD|VC|ALQDS|AND|{_WHERE}))*"
_THUNDERSTORM: Final = (
    rf"(?:VC)?TS(?:[BE]\d{{2,4}})*\S*(?: (?:DSNT|OHD|VC|ALQDS|AND|MOV|{_WHERE}))*"
)
_PEAK: Final = r"PK WND (?P<dir>\d{3})(?P<speed>\d{2,3})/(?P<hour>\d\d)?(?P<minute>\d\d)"
_SHIFT: Final = r"WSHFT (?P<hour>\d\d)?(?P<minute>\d\d)(?: FROPA)?"
_T_GROUP: Final = r"T(?P<sign>[01])(?P<air>\d{3})(?:(?P<dew_sign>[01])(?P<dew>\d{3}))?"

_FUNNEL: Final = (
    rf"(?:TORNADO(?:ES)?|FUNNEL CLOUDS?|WATERSPOUTS?)(?: (?P<times>(?:[BE]\d{{2,4}})+))?"
    rf"(?: (?:DSNT|OHD|VC|ALQDS|AND|MOV|{_WHERE}))*"
)
_MICROBURST: Final = rf"(?:MICROBURST|MBST)(?: (?:ON |APCH )?(?P<where>{_WHERE}))?"

_FUNNEL_FORM: Final = _forms((_FUNNEL, _funnel_cloud))
_MICROBURST_FORM: Final = _forms((_MICROBURST, _microburst))
_LIGHTNING_FORM: Final = _forms((_LIGHTNING, _text(RemarkKind.LIGHTNING)))
_T_FORMS: Final = _forms(
    (_T_GROUP, _precise_temperature), (_THUNDERSTORM, _text(RemarkKind.THUNDERSTORM))
)
_VISIBILITY_FORM: Final = _forms((_VISIBILITY, _visibility))
_SKY_FORM: Final = _forms((_SKY, _variable_sky))
# First letters of a word that can open a remark, and the forms that it can open.
_OPENINGS: Final = MappingProxyType(
    {
        "CI": _forms((_CEILING, _variable_ceiling)),
        "TW": _VISIBILITY_FORM,
        "SF": _VISIBILITY_FORM,
        "VI": _VISIBILITY_FORM,
        "FE": _SKY_FORM,
        "SC": _SKY_FORM,
        "BK": _SKY_FORM,
        "OV": _SKY_FORM,
        "PK": _forms((_PEAK, _peak_wind)),
        "WS": _forms((_SHIFT, _wind_shift)),
        "LT": _LIGHTNING_FORM,
        "OC": _LIGHTNING_FORM,
        "FR": _LIGHTNING_FORM,
        "CO": _LIGHTNING_FORM,
        "TS": _T_FORMS,
        "T0": _T_FORMS,
        "T1": _T_FORMS,
        "TO": _FUNNEL_FORM,
        "FU": _FUNNEL_FORM,
        "WA": _FUNNEL_FORM,
        "MI": _MICROBURST_FORM,
        "MB": _MICROBURST_FORM,
        "VC": _forms((_THUNDERSTORM, _text(RemarkKind.THUNDERSTORM))),
    }
)
_MAINTENANCE: Final = "$"  # [FAA-AIM] 7-1-29: the station needs maintenance


def read_remarks(tokens: Sequence[str], *, issued_at: datetime) -> tuple[Remark, ...]:
    """The remarks that are understood, in their order."""
    remarks: list[Remark] = []
    skip_to = 0
    for index, token in enumerate(tokens):
        if index < skip_to:
            continue
        if token in _SENSORS:
            remarks.append(Remark(kind=RemarkKind.SENSOR_STATUS, where=token, raw=token))
        elif token == _MAINTENANCE:
            remarks.append(Remark(kind=RemarkKind.MAINTENANCE, raw=token))
        elif token[:2] in _OPENINGS:
            remark = _open(tokens, index, issued_at)
            if remark is not None:
                remarks.append(remark)
                skip_to = index + len(remark.raw.split())
    return tuple(remarks)


def _open(tokens: Sequence[str], index: int, issued_at: datetime) -> Remark | None:
    ahead = " ".join(tokens[index : index + _WORDS_AHEAD])
    for pattern, reader in _OPENINGS[tokens[index][:2]]:
        found = pattern.match(ahead)
        if found is not None:
            return reader(found, issued_at)
    return None
