"""The grammar of one group: a word of the report to its value, or None if it cannot be read.

The same grammar serves observation, trend and forecast. Every reader is total: it returns a value
only if the whole word fits, so a word that is almost right is never half understood. Words repeat
from report to report, so readings are remembered (they are immutable and depend on nothing else).
Source of all forms: [WMO-306] FM 15 and FM 51, [FAA-AIM] 7-1-29 for statute miles and feet.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from re import Match
from typing import Final

from decision import units
from decision.quantities import FULL_CIRCLE_DEG, Bound
from decision.weather.normalise import as_written
from decision.weather.report import (
    CloudAmount,
    CloudLayer,
    Convective,
    Intensity,
    LengthUnit,
    Pressure,
    PressureUnit,
    RunwayState,
    RunwayVisualRange,
    Temperature,
    Tendency,
    Visibility,
    WeatherGroup,
    Wind,
    WindShear,
    WindUnit,
)
from decision.weather.runway_groups import read_runway_state

REMEMBERED_WORDS: Final = 16_384
LOWEST_QNH_HPA: Final = 850.0  # [ASSUMED] below the lowest sea-level pressure ever measured
HIGHEST_QNH_HPA: Final = 1090.0  # [ASSUMED] above the highest
TEN_KM_OR_MORE: Final = "9999"  # [WMO-306] FM 15: 9999 means 10 km or more
TEN_KM_M: Final = 10_000.0
M_PER_KM: Final = 1000.0
FT_PER_COUNT: Final = 100.0  # [WMO-306] heights are coded in hundreds of feet
INHG_PER_COUNT: Final = 0.01  # [FAA-AIM] A2992 is 29.92 inHg


class GroupMark(StrEnum):
    """Words that stand for something instead of giving a figure."""

    CAVOK = "CAVOK"
    NO_CLOUD = "no cloud"
    NO_WEATHER = "no significant weather"
    WEATHER_MISSING = "weather missing"
    RVR_MISSING = "runway visual range missing"
    SET_ASIDE = "set aside"


@dataclass(frozen=True, slots=True)
class Marker:
    """A word that gives no figure."""

    mark: GroupMark
    raw: str


@dataclass(frozen=True, slots=True)
class Variation:
    """Sector within which the wind direction varies."""

    sector_true_deg: tuple[float, float]
    raw: str


@dataclass(frozen=True, slots=True)
class Recent:
    """Weather since the last report."""

    weather: WeatherGroup
    raw: str


Group = (
    Wind
    | Variation
    | Visibility
    | RunwayVisualRange
    | WeatherGroup
    | Recent
    | CloudLayer
    | Temperature
    | Pressure
    | RunwayState
    | WindShear
    | Marker
)

_BOUNDS: Final = {"": Bound.EXACT, "P": Bound.ABOVE, "M": Bound.BELOW}
_MARKS: Final = {
    "CAVOK": GroupMark.CAVOK,
    "SKC": GroupMark.NO_CLOUD,
    "CLR": GroupMark.NO_CLOUD,
    "NSC": GroupMark.NO_CLOUD,
    "NCD": GroupMark.NO_CLOUD,
    "NSW": GroupMark.NO_WEATHER,
    "//": GroupMark.WEATHER_MISSING,
    "RVRNO": GroupMark.RVR_MISSING,
    "RE//": GroupMark.SET_ASIDE,
}


# --- wind ---

_WIND: Final = re.compile(
    r"(?P<dir>\d{3}|VRB|///)(?P<bound>P?)(?P<speed>\d{2,3}|//)"
    r"(?:G(?P<gust_bound>P?)(?P<gust>\d{2,3}|//))?(?P<unit>KT|MPS|KMH)"
)
_VARIATION: Final = re.compile(r"(?P<from>\d{3})V(?P<to>\d{3})")
_TO_KT: Final[dict[WindUnit, Callable[[float], float]]] = {
    WindUnit.KT: float,
    WindUnit.MPS: units.mps_to_kt,
    WindUnit.KMH: units.kmh_to_kt,
}


def _wind(found: Match[str]) -> Wind | None:
    unit = WindUnit(found["unit"])
    from_true_deg = float(found["dir"]) if found["dir"].isdigit() else None
    if from_true_deg is not None and from_true_deg > FULL_CIRCLE_DEG:
        return None
    speed_kt = _speed_kt(found["speed"], unit)
    gust_kt = _speed_kt(found["gust"], unit)
    gust_missing = found["gust"] is not None and gust_kt is None
    return Wind(
        from_true_deg=from_true_deg,
        variable=found["dir"] == "VRB",
        speed_kt=speed_kt,
        speed_bound=Bound.UNKNOWN if speed_kt is None else _BOUNDS[found["bound"]],
        gust_kt=gust_kt,
        gust_bound=Bound.UNKNOWN if gust_missing else _BOUNDS[found["gust_bound"] or ""],
        unit_reported=unit,
        raw=found.string,
    )


def _speed_kt(digits: str | None, unit: WindUnit) -> float | None:
    if digits is None or not digits.isdigit():
        return None
    return _TO_KT[unit](float(digits))


def _variation(found: Match[str]) -> Variation | None:
    sector = (float(found["from"]), float(found["to"]))
    return Variation(sector, found.string) if max(sector) <= FULL_CIRCLE_DEG else None


# --- visibility and runway visual range ---

_METRES: Final = re.compile(r"(?P<m>\d{4})(?:(?P<ndv>NDV)|(?P<dir>[NS][EW]?|[EW]))?")
_MILES: Final = re.compile(
    r"(?P<bound>[MP]?)(?:(?P<miles>\d{1,3})|(?:(?P<whole>\d{1,2})_)?(?P<num>\d{1,2})/(?P<den>\d{1,2}))SM"
)
_KILOMETRES: Final = re.compile(r"(?P<km>\d{1,2})KM")
_VISIBILITY_MISSING: Final = re.compile(r"////(?P<unit>SM|M|NDV|[NS][EW]?|[EW])?")
_RVR: Final = re.compile(
    r"R(?P<runway>\d\d(?:LL|RR|[LCR])?)/(?:////|(?P<low_bound>[PM]?)(?P<low>\d{4}))"
    r"(?:V(?P<high_bound>[PM]?)(?P<high>\d{4}))?(?P<unit>FT)?/?(?P<tendency>[UDN])?"
)


def _metres(found: Match[str]) -> Visibility:
    digits = found["m"]
    if digits == TEN_KM_OR_MORE:
        metres, bound = TEN_KM_M, Bound.AT_LEAST
    else:
        metres = float(digits)
        bound = Bound.EXACT if metres else Bound.BELOW  # 0000: below the first step of 50 m
    directional = found["dir"] is not None
    return Visibility(
        metres=None if directional else metres,
        bound=Bound.UNKNOWN if directional else bound,
        minimum_metres=metres if directional else None,
        minimum_direction=found["dir"],
        no_directional_variation=found["ndv"] is not None,
        unit_reported=LengthUnit.M,
        raw=found.string,
    )


def _miles(found: Match[str]) -> Visibility | None:
    miles = float(found["miles"]) if found["miles"] else _fraction(found)
    if miles is None:
        return None
    return Visibility(
        metres=units.statute_miles_to_m(miles),
        bound=_BOUNDS[found["bound"]],
        unit_reported=LengthUnit.SM,
        raw=as_written(found.string),
    )


def _fraction(found: Match[str]) -> float | None:
    """Whole and fraction; a joined `11/2` is 1 1/2, since no fraction is reported above one."""
    whole, numerator, denominator = int(found["whole"] or 0), found["num"], int(found["den"])
    if denominator == 0 or int(numerator) == 0:
        return None
    if int(numerator) >= denominator and not whole:
        whole, numerator = int(numerator[0]), numerator[1:]
    if not numerator or not 0 < int(numerator) < denominator:
        return None
    return whole + int(numerator) / denominator


def _kilometres(found: Match[str]) -> Visibility:
    return Visibility(
        metres=float(found["km"]) * M_PER_KM,
        bound=Bound.EXACT,
        unit_reported=LengthUnit.KM,
        raw=found.string,
    )


def _visibility_missing(found: Match[str]) -> Visibility:
    return Visibility(
        metres=None,
        bound=Bound.UNKNOWN,
        unit_reported=LengthUnit.SM if found["unit"] == "SM" else LengthUnit.M,
        raw=found.string,
    )


def _rvr(found: Match[str]) -> RunwayVisualRange:
    unit = LengthUnit.FT if found["unit"] else LengthUnit.M
    low, high = found["low"], found["high"]
    return RunwayVisualRange(
        runway=found["runway"],
        low_m=_length_m(low, unit),
        low_bound=Bound.UNKNOWN if low is None else _BOUNDS[found["low_bound"]],
        high_m=_length_m(high, unit),
        high_bound=None if high is None else _BOUNDS[found["high_bound"]],
        tendency=Tendency(found["tendency"]) if found["tendency"] else None,
        unit_reported=unit,
        raw=found.string,
    )


def _length_m(digits: str | None, unit: LengthUnit) -> float | None:
    if digits is None:
        return None
    return units.ft_to_m(float(digits)) if unit is LengthUnit.FT else float(digits)


# --- weather and cloud ---

PHENOMENA: Final = "DZ|RA|SN|SG|IC|PL|PE|GR|GS|UP|BR|FG|FU|VA|DU|SA|HZ|PY|PO|SQ|FC|SS|DS"
DESCRIPTORS: Final = "MI|PR|BC|DR|BL|SH|TS|FZ"
_WEATHER: Final = re.compile(
    rf"(?P<recent>RE)?(?P<intensity>\+|-|VC)?(?P<descriptors>(?:{DESCRIPTORS}){{0,2}})"
    rf"(?P<phenomena>(?:{PHENOMENA}){{0,4}})"
)
_ALTERNATIVES: Final = re.compile(r"[-+A-Z]+/[-+A-Z]+")
_INTENSITIES: Final = (Intensity.VICINITY, Intensity.LIGHT, Intensity.MODERATE, Intensity.HEAVY)
_CLOUD: Final = re.compile(
    r"(?P<amount>FEW|SCT|BKN|OVC|VV|///)(?P<base>\d{3}|///)"
    r"(?P<type>CB|TCU|///|CU|CI|SC|AC|ST|NS|AS|CS|CC)?"
)
_AMOUNT_MISSING: Final = "///"


def _weather(found: Match[str]) -> WeatherGroup | Recent | None:
    descriptors, phenomena = _pairs(found["descriptors"]), _pairs(found["phenomena"])
    if not descriptors and not phenomena:
        return None
    weather = WeatherGroup(
        intensity=Intensity(found["intensity"] or ""),
        descriptors=descriptors,
        phenomena=phenomena,
        raw=found.string,
    )
    return Recent(weather, found.string) if found["recent"] else weather


def _alternatives(found: Match[str]) -> WeatherGroup | None:
    """Two groups with a stroke between (`-RA/BR`): both count, at the higher intensity."""
    parts = [read_group(word) for word in found.string.split("/")]
    weather = [part for part in parts if isinstance(part, WeatherGroup)]
    if len(weather) != len(parts):
        return None
    return WeatherGroup(
        intensity=max((part.intensity for part in weather), key=_INTENSITIES.index),
        descriptors=tuple(dict.fromkeys(d for part in weather for d in part.descriptors)),
        phenomena=tuple(dict.fromkeys(p for part in weather for p in part.phenomena)),
        raw=found.string,
    )


def _pairs(letters: str) -> tuple[str, ...]:
    return tuple(letters[i : i + 2] for i in range(0, len(letters), 2))


def _cloud(found: Match[str]) -> CloudLayer:
    kind = found["type"]
    return CloudLayer(
        amount=None if found["amount"] == _AMOUNT_MISSING else CloudAmount(found["amount"]),
        base_ft=float(found["base"]) * FT_PER_COUNT if found["base"].isdigit() else None,
        convective=Convective(kind) if kind in ("CB", "TCU") else None,
        type_unknown=kind == _AMOUNT_MISSING,
        raw=found.string,
    )


def _amount_missing(found: Match[str]) -> CloudLayer:
    kind = found["type"]
    return CloudLayer(
        amount=None,
        base_ft=None,
        convective=Convective(kind) if kind else None,
        raw=found.string,
    )


# --- temperature, pressure, wind shear, what is set aside ---

_TEMPERATURE: Final = re.compile(r"(?P<air>M?\d{2}|//|XX)/(?P<dew>M?\d{2}|//|XX)?")
_PRESSURE: Final = re.compile(r"(?P<unit>Q|A|QNH)(?P<figure>\d{4}|////)(?P<inches>INS)?")
_WIND_SHEAR_OBSERVED: Final = re.compile(r"WS_(?:ALL_RWYS?|R(?:WY)?(?P<runway>[0-9A-Z]{0,3}))")
_WIND_SHEAR_FORECAST: Final = re.compile(
    r"WS(?P<height>\d{3})/(?P<dir>\d{3}|VRB)(?P<speed>\d{2,3})(?P<unit>KT|MPS|KMH)"
)
_RUNWAY: Final = re.compile(r"\d\d[LCR]?")
_SET_ASIDE: Final = re.compile(
    r"(?:BLACK)?(?:/?(?:BLU|WHT|GRN|YLO[12]?|AMB|RED)\+?)+|BLACK"  # colour states
    r"|W(?:M?\d\d|//|///)/(?:S[\d/]|H(?:\d{1,3}|///?))"  # sea temperature and state
    r"|RF[\d./]+"  # rainfall
    r"|SLP(?:\d{3}|NO)"  # sea-level pressure, a remark that some stations put before RMK
)


def _temperature(found: Match[str]) -> Temperature:
    return Temperature(
        temperature_degc=_degc(found["air"]), dewpoint_degc=_degc(found["dew"]), raw=found.string
    )


def _degc(digits: str | None) -> float | None:
    if digits is None or not digits[-1].isdigit():
        return None
    return -float(digits[1:]) if digits.startswith("M") else float(digits)


def _pressure(found: Match[str]) -> Pressure:
    inches = found["unit"] == "A" or found["inches"] is not None
    qnh_hpa = None
    if found["figure"].isdigit():
        figure = float(found["figure"])
        qnh_hpa = units.inhg_to_hpa(figure * INHG_PER_COUNT) if inches else figure
    sane = qnh_hpa is not None and LOWEST_QNH_HPA <= qnh_hpa <= HIGHEST_QNH_HPA
    return Pressure(
        qnh_hpa=qnh_hpa if sane else None,
        unit_reported=PressureUnit.INHG if inches else PressureUnit.HPA,
        raw=found.string,
    )


def _wind_shear_observed(found: Match[str]) -> WindShear:
    """A runway that cannot be read concerns every runway."""
    runway = found["runway"] or ""
    return WindShear(
        runway=runway if _RUNWAY.fullmatch(runway) else None, raw=as_written(found.string)
    )


def _wind_shear_forecast(found: Match[str]) -> WindShear:
    return WindShear(
        height_ft=float(found["height"]) * FT_PER_COUNT,
        from_true_deg=float(found["dir"]) if found["dir"].isdigit() else None,
        speed_kt=_speed_kt(found["speed"], WindUnit(found["unit"])),
        raw=found.string,
    )


def _set_aside(found: Match[str]) -> Marker:
    return Marker(GroupMark.SET_ASIDE, found.string)


_READERS: Final[tuple[tuple[re.Pattern[str], Callable[[Match[str]], Group | None]], ...]] = (
    (_CLOUD, _cloud),
    (re.compile(r"/{3}(?:/{3})?(?P<type>CB|TCU)?"), _amount_missing),
    (_WIND, _wind),
    (_METRES, _metres),
    (_TEMPERATURE, _temperature),
    (_PRESSURE, _pressure),
    (_WEATHER, _weather),
    (_MILES, _miles),
    (_VARIATION, _variation),
    (_RVR, _rvr),
    (_VISIBILITY_MISSING, _visibility_missing),
    (_KILOMETRES, _kilometres),
    (_WIND_SHEAR_OBSERVED, _wind_shear_observed),
    (_WIND_SHEAR_FORECAST, _wind_shear_forecast),
    (_ALTERNATIVES, _alternatives),
    (_SET_ASIDE, _set_aside),
)


@lru_cache(maxsize=REMEMBERED_WORDS)
def read_group(token: str) -> Group | None:
    """The value of one group, or None if the word is not of any known form."""
    mark = _MARKS.get(token)
    if mark is not None:
        return Marker(mark, token)
    for pattern, reader in _READERS:
        found = pattern.fullmatch(token)
        if found is not None:
            group = reader(found)
            if group is not None:
                return group
    return read_runway_state(token)
