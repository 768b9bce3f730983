"""The second reader: the `metar` package, given nothing but the groups of the observation.

It never sees trend, remarks, colour, sea or runway states (of which it would make elements), a
missing marker (of which it would make 10 km) or a time (for which it would ask a clock). What it
reads is held against the group grammar, which keeps the bound, the unit and the raw word: a value
stands only where both read the same. What is used of the package beside its documented attributes
is its table `handlers` and `_gtlt`, the bound of a figure: both are tested on the pinned version.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import Any, Final, NamedTuple

from metar.Datatypes import distance, speed
from metar.Metar import Metar, ParserError

from decision.quantities import Bound
from decision.weather.elements import Draft
from decision.weather.groups import Group, Variation
from decision.weather.report import (
    CloudLayer,
    Element,
    Pressure,
    RunwayVisualRange,
    Temperature,
    Visibility,
    Weather,
    Wind,
)

# Conversion factors of the package are rounded in the sixth figure; a wrong reading is far off.
SAME_KT: Final = 0.05
SAME_M: Final = 0.5
SAME_HPA: Final = 0.1
SAME_FT: Final = 0.5
_GTLT: Final = {Bound.EXACT: (None,), Bound.BELOW: ("<", None), Bound.UNKNOWN: (None,)}
_ABOVE: Final = (">",)
_CLEAR: Final = frozenset({"CLR", "NSC", "NCD"})


_TABLE: Final[list[tuple[Any, Any, bool]]] = Metar.handlers  # type: ignore[attr-defined]


def _handlers_of(*names: str) -> list[tuple[Any, Any, bool]]:
    """Rows of the package's own table of patterns and handlers, each name once."""
    rows = {row[1].__name__: row for row in reversed(_TABLE)}
    return [rows[name] for name in names]


class _ObservationOnly(Metar):
    """The package, reduced to the groups of an observation: nothing else can be read into it."""

    handlers = _handlers_of(
        "_handleWind",
        "_handleVisibility",
        "_handleRunway",
        "_handleWeather",
        "_handleSky",
        "_handleTemp",
        "_handlePressure",
        "_startRemarks",  # never reached: the package takes its last row for the end of the text
    )


class _WithoutWind(_ObservationOnly):
    """The same for a report without a wind, whose visibility the package would take for one."""

    handlers = _ObservationOnly.handlers[1:]


def disagreements(groups: Sequence[Group], draft: Draft) -> tuple[Element, ...] | None:
    """Elements that the two readers do not read alike; None: the second could not read the text."""
    shown = _cut(groups, draft)
    if not shown:
        return ()
    try:
        seen = _WithoutWind(shown) if draft.wind is None else _ObservationOnly(shown)
    except ParserError:
        return None
    return tuple([element for element, agrees in _CHECKS if not agrees(seen, draft)])


def _cut(groups: Sequence[Group], draft: Draft) -> str:
    """The groups for the package, in the order in which it looks for them.

    Of visibility only the first and of pressure only the one kept is shown, since the package would
    let the last win.
    """
    shown: list[tuple[int, str]] = []
    only: set[int] = set()
    for group in groups:
        rule = _SHOWN.get(type(group))
        if rule is None or rule.place in only:
            continue
        if rule.is_shown is None or rule.is_shown(group, draft):
            shown.append((rule.place, group.raw))
            if rule.first_only:
                only.add(rule.place)
    shown.sort(key=_PLACE)
    return " ".join([raw for _, raw in shown])


def _is_blank(layer: CloudLayer) -> bool:
    """A layer with nothing in it (`//////`), which the package takes for weather."""
    return layer.amount is None and layer.base_ft is None and layer.convective is None


class _Rule(NamedTuple):
    """When a group is shown to the package, and where."""

    place: int
    is_shown: Callable[[Any, Draft], bool] | None = None
    first_only: bool = False


_SHOWN: Final[dict[type, _Rule]] = {
    Wind: _Rule(0),
    Variation: _Rule(1, lambda _, draft: draft.wind is not None),
    Visibility: _Rule(2, lambda group, _: group.metres is not None, first_only=True),
    RunwayVisualRange: _Rule(3, lambda group, _: group.low_m is not None),
    Weather: _Rule(4),
    CloudLayer: _Rule(5, lambda group, _: not _is_blank(group)),
    Temperature: _Rule(6, lambda group, _: group.raw.strip("/") != ""),
    Pressure: _Rule(7, lambda group, draft: group.qnh_hpa is not None and group is draft.pressure),
}
_PLACE: Final = itemgetter(0)


def _wind_agrees(seen: Metar, draft: Draft) -> bool:
    wind = draft.wind
    if wind is None:
        return seen.wind_speed is None
    direction = None if seen.wind_dir is None else seen.wind_dir.value()
    return (
        direction == wind.from_true_deg
        and _same_speed(seen.wind_speed, wind.speed_kt, wind.speed_bound)
        and _same_speed(seen.wind_gust, wind.gust_kt, wind.gust_bound)
    )


def _same_speed(seen: speed | None, value_kt: float | None, bound: Bound) -> bool:
    if seen is None:
        return value_kt is None
    return (
        value_kt is not None
        and abs(seen.value("KT") - value_kt) < SAME_KT
        and _same_bound(seen, bound)
    )


def _same_bound(seen: speed | distance, bound: Bound) -> bool:
    return seen._gtlt in _GTLT.get(bound, _ABOVE)


def _visibility_agrees(seen: Metar, draft: Draft) -> bool:
    visibility = draft.visibility
    if visibility is None or visibility.metres is None:
        return seen.vis is None
    return _same_length(seen.vis, visibility.metres, visibility.bound)


def _same_length(seen: distance | None, metres: float, bound: Bound) -> bool:
    if seen is None:
        return False
    return abs(seen.value("M") - metres) < SAME_M and _same_bound(seen, bound)


def _rvr_agrees(seen: Metar, draft: Draft) -> bool:
    if not draft.rvr:
        return not seen.runway
    reported = [rvr for rvr in draft.rvr if rvr.low_m is not None]
    return len(reported) == len(seen.runway) and all(
        rvr.runway == name
        and _same_length(low, rvr.low_m or 0.0, rvr.low_bound)
        and (rvr.high_m is None or _same_length(high, rvr.high_m, rvr.high_bound or Bound.UNKNOWN))
        for rvr, (name, low, high, _) in zip(reported, seen.runway, strict=True)
    )


def _weather_agrees(seen: Metar, draft: Draft) -> bool:
    if not draft.weather:
        return not seen.weather
    words = ["".join(filter(None, parts)) for parts in seen.weather]
    return words == [weather.raw for weather in draft.weather]


def _cloud_agrees(seen: Metar, draft: Draft) -> bool:
    seen_layers = [layer for layer in seen.sky if layer[0] not in _CLEAR]
    layers = [layer for layer in draft.layers if not _is_blank(layer)]
    return len(seen_layers) == len(layers) and all(
        cover == (layer.amount or "///") and _same_height(height, layer.base_ft)
        for (cover, height, _), layer in zip(seen_layers, layers, strict=True)
    )


def _same_height(seen: distance | None, base_ft: float | None) -> bool:
    if seen is None or base_ft is None:
        return seen is None and base_ft is None
    return abs(seen.value("FT") - base_ft) < SAME_FT


def _temperature_agrees(seen: Metar, draft: Draft) -> bool:
    temperature = draft.temperature
    read = (None if seen.temp is None else seen.temp.value(), seen.dewpt and seen.dewpt.value())
    if temperature is None:
        return read == (None, None)
    return read == (temperature.temperature_degc, temperature.dewpoint_degc)


def _pressure_agrees(seen: Metar, draft: Draft) -> bool:
    pressure = draft.pressure
    if pressure is None or pressure.qnh_hpa is None:
        return True  # missing, or withdrawn already because two pressures contradict each other
    return seen.press is not None and abs(seen.press.value("HPA") - pressure.qnh_hpa) < SAME_HPA


_CHECKS: Final = (
    (Element.WIND, _wind_agrees),
    (Element.VISIBILITY, _visibility_agrees),
    (Element.RVR, _rvr_agrees),
    (Element.WEATHER, _weather_agrees),
    (Element.CLOUD, _cloud_agrees),
    (Element.TEMPERATURE, _temperature_agrees),
    (Element.PRESSURE, _pressure_agrees),
)
