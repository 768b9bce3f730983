"""The second reader: the `metar` package, given nothing but the groups of the observation.

It is shown one group at a time, with the one row of its table that reads such a group: so it never
sees trend, remarks, colour, sea or runway states (of which it would make elements), a missing
marker (of which it would make 10 km) or a time (for which it would ask a clock), and it cannot take
a visibility for a wind. Words repeat from report to report, so what it makes of one is remembered.

What it reads is held against the finished draft, which keeps the bound, the unit and the raw word:
a value stands only where both read the same. What is used of the package beside its documented
attributes is its table `handlers` and `_gtlt`, the bound of a figure: both are tested on the pinned
version.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from functools import lru_cache
from typing import Any, Final, NamedTuple

from metar.Datatypes import distance, speed
from metar.Metar import Metar, ParserError

from decision.quantities import Bound
from decision.weather.elements import Draft
from decision.weather.groups import REMEMBERED_WORDS, Group
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


def _only(name: str) -> type[Metar]:
    """The package, reduced to one kind of group: it can read nothing else into a word.

    It takes its last row for the end of the text, so one stands there that is never reached.
    """
    return type(f"Only{name}", (Metar,), {"handlers": _handlers_of(name, "_startRemarks")})


class _Figure(NamedTuple):
    """A figure as the package reads it, in the unit of this project, with its sign of a bound."""

    value: float
    gtlt: str | None


class _SeenWind(NamedTuple):
    direction_true_deg: float | None
    speed: _Figure | None
    gust: _Figure | None


class _SeenRvr(NamedTuple):
    runway: str
    low: _Figure
    high: _Figure


class _SeenLayer(NamedTuple):
    cover: str
    base_ft: float | None


def _kt(seen: speed | None) -> _Figure | None:
    return None if seen is None else _Figure(seen.value("KT"), seen._gtlt)


def _metres(seen: distance) -> _Figure:
    return _Figure(seen.value("M"), seen._gtlt)


def _seen_wind(seen: Metar) -> _SeenWind:
    direction = None if seen.wind_dir is None else seen.wind_dir.value()
    return _SeenWind(direction, _kt(seen.wind_speed), _kt(seen.wind_gust))


def _seen_visibility(seen: Metar) -> _Figure | None:
    return None if seen.vis is None else _metres(seen.vis)


def _seen_rvr(seen: Metar) -> _SeenRvr | None:
    if len(seen.runway) != 1:
        return None
    name, low, high, _ = seen.runway[0]
    return _SeenRvr(name, _metres(low), _metres(high))


def _seen_weather(seen: Metar) -> str | None:
    return "".join(filter(None, seen.weather[0])) if len(seen.weather) == 1 else None


def _seen_layer(seen: Metar) -> _SeenLayer | None:
    if len(seen.sky) != 1 or seen.sky[0][0] in _CLEAR:
        return None
    cover, height, _ = seen.sky[0]
    return _SeenLayer(cover, None if height is None else height.value("FT"))


def _seen_temperature(seen: Metar) -> tuple[float | None, float | None]:
    return (
        None if seen.temp is None else seen.temp.value(),
        None if seen.dewpt is None else seen.dewpt.value(),
    )


def _seen_pressure(seen: Metar) -> float | None:
    return None if seen.press is None else seen.press.value("HPA")


def _is_blank(layer: CloudLayer) -> bool:
    """A layer with nothing in it (`//////`), which the package takes for weather."""
    return layer.amount is None and layer.base_ft is None and layer.convective is None


class _Rule(NamedTuple):
    """How the package reads a kind of group, when it is shown one, and whether the first only."""

    reader: type[Metar]
    seen: Callable[[Metar], object]
    is_shown: Callable[[Any, Draft], bool] | None = None
    first_only: bool = False


# Of wind and visibility only the first is shown, of pressure only the one that was kept.
_RULES: Final[dict[Hashable, _Rule]] = {
    Wind: _Rule(_only("_handleWind"), _seen_wind, first_only=True),
    Visibility: _Rule(
        _only("_handleVisibility"),
        _seen_visibility,
        lambda group, _: group.metres is not None,
        first_only=True,
    ),
    RunwayVisualRange: _Rule(
        _only("_handleRunway"), _seen_rvr, lambda group, _: group.low_m is not None
    ),
    Weather: _Rule(_only("_handleWeather"), _seen_weather),
    CloudLayer: _Rule(_only("_handleSky"), _seen_layer, lambda group, _: not _is_blank(group)),
    Temperature: _Rule(
        _only("_handleTemp"), _seen_temperature, lambda group, _: group.raw.strip("/") != ""
    ),
    Pressure: _Rule(
        _only("_handlePressure"),
        _seen_pressure,
        lambda group, draft: group.qnh_hpa is not None and group is draft.pressure,
    ),
}
_UNREADABLE: Final = object()
"""What the package made of a word that it could not read."""


@lru_cache(maxsize=REMEMBERED_WORDS)
def _seen(kind: Hashable, raw: str) -> object:
    """What the package reads in one group of a kind."""
    rule = _RULES[kind]
    try:
        return rule.seen(rule.reader(raw))
    except ParserError:
        return _UNREADABLE


Seen = Mapping[Hashable, Sequence[Any]]


def disagreements(groups: Sequence[Group], draft: Draft) -> tuple[Element, ...] | None:
    """Elements that the two readers do not read alike; None: the second could not read the text."""
    seen: dict[Hashable, list[object]] = {}
    for group in groups:
        kind: Any = type(group)
        rule = _RULES.get(kind)
        if rule is None or (rule.first_only and kind in seen):
            continue
        if rule.is_shown is None or rule.is_shown(group, draft):
            found = _seen(kind, group.raw)
            if found is _UNREADABLE:
                return None
            seen.setdefault(kind, []).append(found)
    return tuple([element for element, agrees in _CHECKS if not agrees(seen, draft)])


def _wind_agrees(seen: Seen, draft: Draft) -> bool:
    wind, found = draft.wind, seen.get(Wind)
    if wind is None or found is None:
        return wind is None and found is None
    return (
        found[0].direction_true_deg == wind.from_true_deg
        and _same_speed(found[0].speed, wind.speed_kt, wind.speed_bound)
        and _same_speed(found[0].gust, wind.gust_kt, wind.gust_bound)
    )


def _same_speed(seen: _Figure | None, value_kt: float | None, bound: Bound) -> bool:
    if seen is None:
        return value_kt is None
    return (
        value_kt is not None
        and abs(seen.value - value_kt) < SAME_KT
        and seen.gtlt in _GTLT.get(bound, _ABOVE)
    )


def _visibility_agrees(seen: Seen, draft: Draft) -> bool:
    visibility, found = draft.visibility, seen.get(Visibility)
    if visibility is None or visibility.metres is None or found is None:
        return found is None and (visibility is None or visibility.metres is None)
    return _same_length(found[0], visibility.metres, visibility.bound)


def _same_length(seen: _Figure | None, metres: float, bound: Bound) -> bool:
    if seen is None:
        return False
    return abs(seen.value - metres) < SAME_M and seen.gtlt in _GTLT.get(bound, _ABOVE)


def _rvr_agrees(seen: Seen, draft: Draft) -> bool:
    found = seen.get(RunwayVisualRange, ())
    if not draft.rvr:
        return not found
    reported = [rvr for rvr in draft.rvr if rvr.low_m is not None]
    return len(reported) == len(found) and all(
        each is not None
        and rvr.runway == each.runway
        and _same_length(each.low, rvr.low_m or 0.0, rvr.low_bound)
        and (
            rvr.high_m is None
            or _same_length(each.high, rvr.high_m, rvr.high_bound or Bound.UNKNOWN)
        )
        for rvr, each in zip(reported, found, strict=True)
    )


def _weather_agrees(seen: Seen, draft: Draft) -> bool:
    if not draft.weather:
        return Weather not in seen
    return seen.get(Weather) == [weather.raw for weather in draft.weather]


def _cloud_agrees(seen: Seen, draft: Draft) -> bool:
    found = seen.get(CloudLayer, ())
    layers = [layer for layer in draft.layers if not _is_blank(layer)]
    return len(found) == len(layers) and all(
        each is not None
        and each.cover == (layer.amount or "///")
        and _same_height(each.base_ft, layer.base_ft)
        for each, layer in zip(found, layers, strict=True)
    )


def _same_height(seen_ft: float | None, base_ft: float | None) -> bool:
    if seen_ft is None or base_ft is None:
        return seen_ft is None and base_ft is None
    return abs(seen_ft - base_ft) < SAME_FT


def _temperature_agrees(seen: Seen, draft: Draft) -> bool:
    temperature, found = draft.temperature, seen.get(Temperature)
    if temperature is None or found is None:
        return found is None and (temperature is None or not temperature.raw.strip("/"))
    return found == [(temperature.temperature_degc, temperature.dewpoint_degc)]


def _pressure_agrees(seen: Seen, draft: Draft) -> bool:
    pressure, found = draft.pressure, seen.get(Pressure)
    if pressure is None or pressure.qnh_hpa is None:
        return True  # missing, or withdrawn already because two pressures contradict each other
    return found is not None and abs(found[0] - pressure.qnh_hpa) < SAME_HPA


_CHECKS: Final = (
    (Element.WIND, _wind_agrees),
    (Element.VISIBILITY, _visibility_agrees),
    (Element.RVR, _rvr_agrees),
    (Element.WEATHER, _weather_agrees),
    (Element.CLOUD, _cloud_agrees),
    (Element.TEMPERATURE, _temperature_agrees),
    (Element.PRESSURE, _pressure_agrees),
)
