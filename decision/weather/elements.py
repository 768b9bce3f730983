"""From groups to elements: what several words say together about wind, visibility, cloud, weather.

Whatever is doubtful goes to the careful side: two different winds make the wind unknown, a second
visibility counts as the minimum, CAVOK beside a low cloud is void, a ceiling whose height is
missing is unknown even when a higher layer has one.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any, Final, assert_never

from decision.quantities import Bound
from decision.weather.groups import TEN_KM_M, Group, GroupMark, Marker, Recent, Variation
from decision.weather.report import (
    Ceiling,
    CeilingState,
    CloudAmount,
    CloudLayer,
    Element,
    Elements,
    LengthUnit,
    Pressure,
    PressureUnit,
    Remark,
    RunwayState,
    RunwayVisualRange,
    Temperature,
    Visibility,
    WeatherGroup,
    Wind,
    WindShear,
    WindUnit,
)

QNH_CONFLICT_HPA: Final = 1.5  # [ASSUMED] more than rounding of hPa and of 0.01 inHg can explain
_CEILING_AMOUNTS: Final = frozenset({CloudAmount.BKN, CloudAmount.OVC, CloudAmount.VV})
_NOTHING: Final[frozenset[Element]] = frozenset()
_CAVOK: Final = "CAVOK"
_CAVOK_VISIBILITY: Final = Visibility(
    metres=TEN_KM_M, bound=Bound.AT_LEAST, unit_reported=LengthUnit.M, raw=_CAVOK
)
# What a report is expected to have, in this order; without one of them it is unknown.
_PREVAILING_HAS: Final = (Element.WIND, Element.VISIBILITY, Element.CLOUD)
_OBSERVATION_HAS: Final = (*_PREVAILING_HAS, Element.TEMPERATURE, Element.PRESSURE)
_NO_WIND: Final = Wind(
    from_true_deg=None,
    speed_kt=None,
    speed_bound=Bound.UNKNOWN,
    gust_bound=Bound.UNKNOWN,
    unit_reported=WindUnit.KT,
    raw="",
)
_NO_VISIBILITY: Final = Visibility(
    metres=None, bound=Bound.UNKNOWN, unit_reported=LengthUnit.M, raw=""
)
_NO_CEILING: Final = Ceiling(state=CeilingState.UNKNOWN, feet=None, raw="")


class ElementsDraft:
    """Elements in the making. `add` returns False for a group that contradicts an earlier one."""

    __slots__ = (
        "cavok",
        "clear_sky",
        "doubted",
        "layers",
        "no_weather",
        "pressure",
        "problems",
        "recent",
        "runway_state",
        "rvr",
        "set_aside",
        "temperature",
        "unknown",
        "variation",
        "visibility",
        "weather",
        "wind",
        "wind_shear",
    )

    def __init__(self) -> None:
        self.wind: Wind | None = None
        self.variation: Variation | None = None
        self.visibility: Visibility | None = None
        self.temperature: Temperature | None = None
        self.pressure: Pressure | None = None
        self.layers: list[CloudLayer] = []
        self.clear_sky: str | None = None
        self.weather: list[WeatherGroup] = []
        self.no_weather = False
        self.cavok = False
        self.rvr: list[RunwayVisualRange] = []
        self.recent: list[WeatherGroup] = []
        self.runway_state: list[RunwayState] = []
        self.wind_shear: list[WindShear] = []
        self.set_aside: list[str] = []
        self.unknown: set[Element] = set()
        self.doubted: set[Element] = set()
        self.problems: list[str] = []

    def add(self, group: Group) -> bool:
        """Take one group; False if it contradicts an earlier one, whose element is then unknown."""
        return _TAKE[type(group)](self, group)

    def _take_wind(self, wind: Wind) -> bool:
        if self.wind is not None:
            return self._again(Element.WIND, self.wind.raw, wind.raw)
        self.wind = wind
        if wind.speed_kt is None or (wind.from_true_deg is None and not wind.variable):
            self.unknown.add(Element.WIND)
            self.problems.append(f"wind is not fully reported: {wind.raw}")
        elif wind.gust_kt is not None and wind.gust_kt < wind.speed_kt:
            self.problems.append(f"gust below the mean wind: {wind.raw}")
        return True

    def _again(self, element: Element, first: str, second: str) -> bool:
        self.problems.append(f"{element} is given twice: {first}, {second}")
        if first == second:
            return True
        self.doubted.add(element)
        return False

    def doubt(self, elements: Iterable[Element], problem: str) -> None:
        """Withdraw what was read of these elements: something in the text speaks against it."""
        self.doubted.update(elements)
        self.problems.append(problem)

    def _take_variation(self, variation: Variation) -> bool:
        if self.variation is not None:
            return self._again(Element.WIND, self.variation.raw, variation.raw)
        self.variation = variation
        return True

    def _take_visibility(self, visibility: Visibility) -> bool:
        first = self.visibility
        if first is None:
            self.visibility = visibility
            return True
        if visibility.unit_reported is not first.unit_reported:
            return self._again(Element.VISIBILITY, first.raw, visibility.raw)
        second_m = visibility.worst_metres
        if second_m is None:
            return self._again(Element.VISIBILITY, first.raw, visibility.raw)
        if visibility.minimum_direction is None:
            self.problems.append(f"a second visibility counts as the minimum: {visibility.raw}")
        known = [m for m in (first.minimum_metres, second_m) if m is not None]
        self.visibility = replace(
            first,
            minimum_metres=min(known),
            minimum_direction=visibility.minimum_direction or first.minimum_direction,
            raw=f"{first.raw} {visibility.raw}",
        )
        return True

    def _take_rvr(self, rvr: RunwayVisualRange) -> bool:
        self.rvr.append(rvr)
        if rvr.low_m is None:
            self.unknown.add(Element.RVR)
            self.problems.append(f"runway visual range is missing: {rvr.raw}")
        return True

    def _take_weather(self, weather: WeatherGroup) -> bool:
        self.weather.append(weather)
        return True

    def _take_recent(self, recent: Recent) -> bool:
        self.recent.append(recent.weather)
        return True

    def _take_layer(self, layer: CloudLayer) -> bool:
        self.layers.append(layer)
        return True

    def _take_temperature(self, temperature: Temperature) -> bool:
        if self.temperature is not None and self.temperature.raw.strip("/"):
            return self._again(Element.TEMPERATURE, self.temperature.raw, temperature.raw)
        self.temperature = temperature
        if temperature.temperature_degc is None:
            self.unknown.add(Element.TEMPERATURE)
            self.problems.append(f"temperature is missing: {temperature.raw}")
        return True

    def _take_pressure(self, pressure: Pressure) -> bool:
        first = self.pressure
        if pressure.qnh_hpa is None:
            self.unknown.add(Element.PRESSURE)
            self.problems.append(f"pressure is missing or impossible: {pressure.raw}")
        if first is None:
            self.pressure = pressure
        elif first.qnh_hpa is None or pressure.qnh_hpa is None:
            self.pressure = first if pressure.qnh_hpa is None else pressure
        elif abs(first.qnh_hpa - pressure.qnh_hpa) > QNH_CONFLICT_HPA:
            self.unknown.add(Element.PRESSURE)
            self.problems.append(f"two pressures contradict each other: {first.raw} {pressure.raw}")
            self.pressure = replace(first, qnh_hpa=None, raw=f"{first.raw} {pressure.raw}")
        elif pressure.unit_reported is PressureUnit.HPA:
            self.pressure = pressure  # hPa and inHg agree: the unit of QNH stands
        return True

    def _take_runway_state(self, state: RunwayState) -> bool:
        self.runway_state.append(state)
        return True

    def _take_wind_shear(self, shear: WindShear) -> bool:
        self.wind_shear.append(shear)
        return True

    def _take_marker(self, marker: Marker) -> bool:
        match marker.mark:
            case GroupMark.CAVOK:
                self.cavok = True
            case GroupMark.NO_CLOUD:
                self.clear_sky = marker.raw
            case GroupMark.NO_WEATHER:
                self.no_weather = True
            case GroupMark.SET_ASIDE:
                self.set_aside.append(marker.raw)
            case GroupMark.WEATHER_MISSING:
                self._missing(Element.WEATHER, marker.raw)
            case GroupMark.RVR_MISSING:
                self._missing(Element.RVR, marker.raw)
            case _:
                assert_never(marker.mark)
        return True

    def _missing(self, element: Element, raw: str) -> None:
        self.unknown.add(element)
        self.problems.append(f"{element} is reported missing: {raw}")

    # --- the finished elements ---

    def finish(self) -> Elements:
        """The elements that the groups named; CAVOK is resolved into what it says."""
        return self._elements(())

    def finish_prevailing(self) -> Elements:
        """The elements of a base or FM group: wind, visibility or cloud not given are unknown."""
        return self._elements(_PREVAILING_HAS)

    def finish_observation(self, *, remarks: tuple[Remark, ...]) -> Elements:
        """The elements of an observation: what the text does not give is unknown, not absent."""
        return self._elements(_OBSERVATION_HAS, remarks=remarks)

    def _elements(
        self, expected: tuple[Element, ...], *, remarks: tuple[Remark, ...] = ()
    ) -> Elements:
        cavok = self.cavok and self._nothing_against_cavok()
        clear = self.clear_sky or (_CAVOK if cavok else None)
        wind, visibility, ceiling = (
            self._wind(),
            self._visibility(cavok=cavok),
            self._ceiling(clear),
        )
        if expected:
            self._note_absent(expected, wind, visibility, ceiling)
            wind, visibility = wind or _NO_WIND, visibility or _NO_VISIBILITY
            ceiling = ceiling or _NO_CEILING
        return Elements(
            wind=wind,
            visibility=visibility,
            ceiling=ceiling,
            clouds=tuple(self.layers) if self.layers or clear or expected else None,
            rvr=tuple(self.rvr),
            weather=self._present(given=self.no_weather or cavok or bool(expected)),
            recent=tuple(self.recent),
            temperature=None if self._doubts(Element.TEMPERATURE) else self.temperature,
            pressure=None if self._doubts(Element.PRESSURE) else self.pressure,
            cavok=cavok,
            runway_state=tuple(self.runway_state),
            wind_shear=tuple(self.wind_shear),
            remarks=remarks,
            set_aside=tuple(self.set_aside),
            unknown=self._unknown(),
        )

    def _doubts(self, element: Element) -> bool:
        """Whether an element is withdrawn; hardly ever one is, and hashing an element is slow."""
        return bool(self.doubted) and element in self.doubted

    def _unknown(self) -> frozenset[Element]:
        if not self.unknown and not self.doubted:
            return _NOTHING
        return frozenset(self.unknown | self.doubted)

    def _present(self, *, given: bool) -> tuple[WeatherGroup, ...] | None:
        return tuple(self.weather) if self.weather or given else None

    def _note_absent(
        self,
        expected: tuple[Element, ...],
        wind: Wind | None,
        visibility: Visibility | None,
        ceiling: Ceiling | None,
    ) -> None:
        given = (wind, visibility, ceiling, self.temperature, self.pressure)[: len(expected)]
        if all(given):
            return
        for element, value in zip(expected, given, strict=True):
            if value is None:
                self.unknown.add(element)
                self.problems.append(f"{element} is not given")

    def _wind(self) -> Wind | None:
        wind, variation = self.wind, self.variation
        if wind is None:
            if variation is not None:
                self.doubt([Element.WIND], f"a variation without a wind: {variation.raw}")
            return None
        if self._doubts(Element.WIND):
            return replace(_NO_WIND, raw=wind.raw)
        if variation is None:
            return wind
        return replace(wind, variation=variation.sector_true_deg, raw=f"{wind.raw} {variation.raw}")

    def _nothing_against_cavok(self) -> bool:
        """CAVOK is void beside worse visibility, weather or a ceiling; the worse groups stand."""
        visibility_m = None if self.visibility is None else self.visibility.worst_metres
        against = (
            bool(self.weather)
            or any(layer.amount in _CEILING_AMOUNTS for layer in self.layers)
            or (visibility_m is not None and visibility_m < TEN_KM_M)
        )
        if against:
            given = {
                Element.VISIBILITY: self.visibility,
                Element.CLOUD: self.layers,
                Element.WEATHER: self.weather,
            }
            self.doubt(
                [element for element, value in given.items() if not value],
                "CAVOK beside groups that contradict it is not credited",
            )
        return not against

    def _visibility(self, *, cavok: bool) -> Visibility | None:
        visibility = _CAVOK_VISIBILITY if cavok else self.visibility
        if visibility is None:
            return None
        if self._doubts(Element.VISIBILITY):
            return replace(visibility, metres=None, bound=Bound.UNKNOWN)
        if visibility.metres is None:
            self._missing(Element.VISIBILITY, visibility.raw)
        return visibility

    def _ceiling(self, clear_sky: str | None) -> Ceiling | None:
        ceiling = ceiling_of(self.layers, clear_sky=clear_sky)
        if ceiling is None:
            return None
        if self._doubts(Element.CLOUD):
            return replace(ceiling, state=CeilingState.UNKNOWN, feet=None)
        if ceiling.state is CeilingState.UNKNOWN:
            self._missing(Element.CLOUD, ceiling.raw)
        return ceiling


def ceiling_of(layers: Sequence[CloudLayer], *, clear_sky: str | None) -> Ceiling | None:
    """The ceiling that cloud groups give; None if there are no cloud groups at all.

    A layer of unknown amount or a BKN, OVC or VV of unknown height makes the ceiling unknown,
    unless a known one is as low as the unknown layer can be. `//////CB` beside layers that an
    automatic station did measure tells of convective cloud, not of a ceiling.
    """
    if not layers:
        if clear_sky is None:
            return None
        return Ceiling(state=CeilingState.NONE, feet=None, raw=clear_sky)
    lowest: CloudLayer | None = None
    for layer in layers:
        if layer.amount in _CEILING_AMOUNTS and (lowest is None or _is_lower(layer, lowest)):
            lowest = layer
    doubt = lowest if lowest is not None and lowest.base_ft is None else _doubt(layers, lowest)
    if doubt is not None:
        return Ceiling(state=CeilingState.UNKNOWN, feet=None, raw=doubt.raw)
    if lowest is None:
        raw = " ".join([layer.raw for layer in layers])
        return Ceiling(state=CeilingState.NONE, feet=None, raw=raw)
    return Ceiling(state=CeilingState.VALUE, feet=lowest.base_ft, raw=lowest.raw)


def _is_lower(layer: CloudLayer, other: CloudLayer) -> bool:
    """A layer of unknown height may be lower than any other."""
    if other.base_ft is None:
        return False
    return layer.base_ft is None or layer.base_ft < other.base_ft


def _doubt(layers: Sequence[CloudLayer], lowest: CloudLayer | None) -> CloudLayer | None:
    """The first layer of unknown amount that may be the ceiling instead of the lowest known."""
    for layer in layers:
        if layer.amount is not None:
            continue
        if layer.base_ft is None:
            if layer.convective is None or not any(other.amount for other in layers):
                return layer
        elif lowest is None or layer.base_ft < (lowest.base_ft or 0.0):
            return layer
    return None


_TAKE: Final[dict[type, Callable[[ElementsDraft, Any], bool]]] = {
    Wind: ElementsDraft._take_wind,
    Variation: ElementsDraft._take_variation,
    Visibility: ElementsDraft._take_visibility,
    RunwayVisualRange: ElementsDraft._take_rvr,
    WeatherGroup: ElementsDraft._take_weather,
    Recent: ElementsDraft._take_recent,
    CloudLayer: ElementsDraft._take_layer,
    Temperature: ElementsDraft._take_temperature,
    Pressure: ElementsDraft._take_pressure,
    RunwayState: ElementsDraft._take_runway_state,
    WindShear: ElementsDraft._take_wind_shear,
    Marker: ElementsDraft._take_marker,
}

_LOOKS_LIKE: Final = (
    (Element.WIND, re.compile(r"KTS?$|MPS$|KMH$|^VRB|^VBR|^\d{5}")),
    (Element.VISIBILITY, re.compile(r"SM$|KM$|MILES|CAVO|^\d{3,5}[A-Z]{0,3}$|NDV|VIS|^\d/\d")),
    (
        Element.CLOUD,
        re.compile(r"FEW|SCT|BKN|OVC|VV|CB|TCU|CLD|CIG|[A-Z]\d{2,3}$|^0\d\d$|[CN][SD]C"),
    ),
    (
        Element.WEATHER,
        re.compile(r"TS|RA|SN|FZ|FG|DZ|SH|GR|PL|BR|SS|DS|DU|SA|SQ|FC|UP|HZ|FU|^[+-]|[+-]$|//$|^VC"),
    ),
    (Element.RVR, re.compile(r"^R\d\d[LCR]?/|RVR")),
    (Element.RUNWAY_STATE, re.compile(r"^R\d\d[LCR]?/|RWY|SNOCLO|CLRD|^\d{8}$")),
    (Element.TEMPERATURE, re.compile(r"^M?\d{1,2}/|/M?\d{1,2}$|^T[XNM]{0,2}\d|^T[XN]/")),
    (Element.PRESSURE, re.compile(r"^[QA]\d|QNH")),
)

ANY_BODY_ELEMENT: Final = frozenset({Element.VISIBILITY, Element.WEATHER, Element.CLOUD})


def suspects(token: str) -> frozenset[Element]:
    """Elements that an unreadable word looks as if it were meant for; empty: like none."""
    return frozenset(element for element, looks in _LOOKS_LIKE if looks.search(token))
