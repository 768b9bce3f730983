"""The second reader: the `metar` package, given nothing but the groups of the observation.

It is shown one group at a time, after a station and (but for a wind) a calm: so it never sees
trend, remarks, colour, sea or runway states (of which it would make elements), a missing marker (of
which it would make 10 km) or a time (for which it would ask a clock), and it cannot take a
visibility for a wind. What it reads is held against the group that the grammar read, with value and
bound: a value stands only where both read the same.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from metar.Datatypes import distance, speed
from metar.Metar import Metar, ParserError

from decision.quantities import Bound
from decision.weather.groups import Group
from decision.weather.report import (
    CloudLayer,
    Element,
    Pressure,
    RunwayVisualRange,
    Temperature,
    Visibility,
    WeatherGroup,
    Wind,
)

# Conversion factors of the package are rounded in the sixth figure; a wrong reading is far off.
SAME_KT: Final = 0.05
SAME_M: Final = 0.5
SAME_HPA: Final = 0.1
SAME_FT: Final = 0.5
_ABOVE: Final = frozenset({Bound.AT_LEAST, Bound.ABOVE})
STATION: Final = "XABC "
AFTER_WIND: Final = "XABC 00000KT "
_CLEAR: Final = frozenset({"CLR", "NSC", "NCD"})


class Dissent(NamedTuple):
    """The second reader reads a group of an element otherwise, or cannot read it."""

    element: Element
    unreadable: bool


def dissent(group: Group, raw: str) -> Dissent | None:
    """How the package's reading of a word differs from a group; None: it does not.

    Of a group that the package is not shown there is no second reading, and no dissent.
    """
    rule = _RULES.get(type(group))
    if rule is None or not rule.is_shown(group):
        return None
    try:
        seen = Metar(rule.before + raw)
    except ParserError:
        return Dissent(rule.element, unreadable=True)
    return None if rule.agrees(seen, group) else Dissent(rule.element, unreadable=False)


# --- whether both read the same ---


def _wind(seen: Metar, wind: Wind) -> bool:
    direction = None if seen.wind_dir is None else seen.wind_dir.value()
    return (
        direction == wind.from_true_deg
        and _same_speed(seen.wind_speed, wind.speed_kt, wind.speed_bound)
        and _same_speed(seen.wind_gust, wind.gust_kt, wind.gust_bound)
    )


def _same_speed(seen: speed | None, value_kt: float | None, bound: Bound) -> bool:
    if seen is None or value_kt is None:
        return seen is None and value_kt is None
    return abs(seen.value("KT") - value_kt) < SAME_KT and _same_bound(seen, bound)


def _same_bound(seen: speed | distance, bound: Bound) -> bool:
    """The package tells a bound in its words; below a least value it may leave it out."""
    told = seen.string()
    above, below = told.startswith("greater than"), told.startswith("less than")
    return above == (bound in _ABOVE) and (not below or bound is Bound.BELOW)


def _visibility(seen: Metar, visibility: Visibility) -> bool:
    return _same_length(seen.vis, visibility.metres, visibility.bound)


def _same_length(seen: distance | None, metres: float | None, bound: Bound) -> bool:
    return (
        seen is not None
        and metres is not None
        and abs(seen.value("M") - metres) < SAME_M
        and _same_bound(seen, bound)
    )


def _rvr(seen: Metar, rvr: RunwayVisualRange) -> bool:
    if len(seen.runway) != 1:
        return False
    name, low, high, _ = seen.runway[0]
    return (
        name == rvr.runway
        and _same_length(low, rvr.low_m, rvr.low_bound)
        and (rvr.high_m is None or _same_length(high, rvr.high_m, rvr.high_bound or Bound.UNKNOWN))
    )


def _weather(seen: Metar, weather: WeatherGroup) -> bool:
    return ["".join(filter(None, parts)) for parts in seen.weather] == [weather.raw]


def _layer(seen: Metar, layer: CloudLayer) -> bool:
    if len(seen.sky) != 1 or seen.sky[0][0] in _CLEAR:
        return False
    cover, height, _ = seen.sky[0]
    return cover == (layer.amount or "///") and _same_height(height, layer.base_ft)


def _same_height(seen: distance | None, base_ft: float | None) -> bool:
    if seen is None or base_ft is None:
        return seen is None and base_ft is None
    return abs(seen.value("FT") - base_ft) < SAME_FT


def _temperature(seen: Metar, temperature: Temperature) -> bool:
    air = None if seen.temp is None else seen.temp.value()
    dew = None if seen.dewpt is None else seen.dewpt.value()
    return (air, dew) == (temperature.temperature_degc, temperature.dewpoint_degc)


def _pressure(seen: Metar, pressure: Pressure) -> bool:
    return (
        seen.press is not None
        and pressure.qnh_hpa is not None
        and abs(seen.press.value("HPA") - pressure.qnh_hpa) < SAME_HPA
    )


def _is_blank(layer: CloudLayer) -> bool:
    """A layer with nothing in it (`//////`), which the package takes for weather."""
    return layer.amount is None and layer.base_ft is None and layer.convective is None


class _Rule(NamedTuple):
    """How the package reads a kind of group, when both read the same, and when it is shown one."""

    element: Element
    agrees: Callable[[Metar, Any], bool]
    is_shown: Callable[[Any], bool] = lambda _: True
    before: str = AFTER_WIND


_RULES: Final[dict[type, _Rule]] = {
    Wind: _Rule(Element.WIND, _wind, before=STATION),
    Visibility: _Rule(
        Element.VISIBILITY,
        _visibility,
        lambda visibility: visibility.metres is not None,
    ),
    RunwayVisualRange: _Rule(Element.RVR, _rvr, lambda rvr: rvr.low_m is not None),
    WeatherGroup: _Rule(Element.WEATHER, _weather),
    CloudLayer: _Rule(Element.CLOUD, _layer, lambda layer: not _is_blank(layer)),
    Temperature: _Rule(
        Element.TEMPERATURE,
        _temperature,
        lambda temperature: temperature.raw.strip("/") != "",
    ),
    Pressure: _Rule(
        Element.PRESSURE,
        _pressure,
        lambda pressure: pressure.qnh_hpa is not None,
    ),
}
