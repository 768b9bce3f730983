"""The conditions at an aerodrome over a window of time: what a rule may rely on, and why.

All that is in force is turned into claims once (`outlook`); a window is then the worst of the
claims that touch it. A window, or a part of it, that nobody speaks of is unknown, never a default.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import Final

from decision.weather import fold
from decision.weather.claims import AXES, Claim, Setting, forecast_claims, span
from decision.weather.collect import AHEAD_MAX, StationWeather
from decision.weather.phenomena import bears_icing
from decision.weather.present import (
    is_fresh,
    observed_qnh_hpa,
    observed_temperature_degc,
    present_claims,
    rvr_readings,
    sightings,
    trend_claims,
    unheard_spots,
)
from decision.weather.readings import (
    Conditions,
    Disregarded,
    NotAtHand,
    Segment,
    Told,
    WindReading,
)
from decision.weather.report import Element
from decision.weather.spots import SpotObservation
from decision.weather.trend import TREND_VALIDITY
from decision.weather.use import Reading
from decision.windows import Window, covers, minutes_between

CHANGES_AHEAD: Final = timedelta(hours=3)  # [ASSUMED] longer than any hold that fuel allows
REMEMBERED: Final = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Everything that speaks of one aerodrome, seen from one instant, under one reading.

    `claims` by element; `cuts`: the instants at which a group begins or ends to speak. `told` keeps
    what was heard before, by the place of a window among the cuts.
    """

    weather: StationWeather
    as_of: datetime
    spots: tuple[SpotObservation, ...]
    claims: Mapping[Element, tuple[Claim, ...]]
    settings: tuple[Setting, ...]
    cuts: tuple[datetime, ...]
    told: dict[tuple[int, int], Told] = field(default_factory=dict, compare=False, repr=False)

    def over(self, window: Window) -> Conditions:
        """The conditions over a window, each element at its worst."""
        told, observation = self._told(window), self.weather.observation
        return Conditions(
            window=window,
            ceiling=told.ceiling,
            visibility=told.visibility,
            rvr=rvr_readings(observation, self.spots, as_of=self.as_of, window=window),
            wind=told.wind,
            winds=told.winds,
            weather=told.weather,
            recent=told.recent,
            thunderstorm=told.thunderstorm,
            transient_thunderstorm=told.transient_thunderstorm,
            freezing_precipitation=told.freezing_precipitation,
            cb=told.cb,
            icing_phenomena=told.icing_phenomena,
            wind_shear=told.wind_shear,
            temperature_degc=observed_temperature_degc(observation, window=window),
            qnh_hpa=observed_qnh_hpa(observation, self.spots, as_of=self.as_of, window=window),
            disregarded=told.disregarded,
            unread=self._unread(),
            observation_age_min=None
            if observation is None
            else minutes_between(observation.issued_at, self.as_of),
            unknown=told.unknown,
            unknown_reasons=told.unknown_reasons,
            not_at_hand=tuple(self._not_at_hand(window)),
            changes_at=tuple(
                at for at in self.cuts if window.start_at < at <= window.end_at + CHANGES_AHEAD
            ),
        )

    def _told(self, window: Window) -> Told:
        """Windows between the same cuts meet the same claims in the same way.

        A silence is told with the moments at which it begins and ends, so that it is not kept.
        """
        cuts = bisect_right(self.cuts, window.start_at), bisect_left(self.cuts, window.end_at)
        told = self.told.get(cuts)
        if told is None:
            heard = {element: fold.hear(self.claims[element], element, window) for element in AXES}
            told = self._folded(heard, window)
            if not any(each.silent for each in heard.values()):
                self.told[cuts] = told
        return told

    def _folded(self, heard: Mapping[Element, fold.Heard], window: Window) -> Told:
        winds = fold.wind_readings(heard[Element.WIND])
        storm = fold.thunderstorm(heard[Element.WEATHER])
        groups = fold.weather_groups(heard[Element.WEATHER])
        disregarded = tuple(dict.fromkeys(self._disregarded(window, heard, winds)))
        doubts = [reason for each in heard.values() for reason in each.doubts]
        return Told(
            ceiling=fold.ceiling_reading(heard[Element.CLOUD]),
            visibility=fold.visibility_reading(heard[Element.VISIBILITY]),
            wind=winds[0],
            winds=winds,
            weather=groups,
            recent=fold.recent_groups(heard[Element.WEATHER]),
            thunderstorm=storm,
            transient_thunderstorm=any(each.thunderstorm for each in disregarded),
            freezing_precipitation=fold.freezing_precipitation(heard[Element.WEATHER]),
            cb=fold.cumulonimbus(heard[Element.CLOUD], storm),
            icing_phenomena=tuple(group.raw for group in groups if bears_icing(group)),
            wind_shear=fold.wind_shear(heard[Element.WIND]),
            disregarded=disregarded,
            unknown=frozenset(each.element for each in heard.values() if each.doubts),
            unknown_reasons=tuple(dict.fromkeys(doubts)),
        )

    def timeline(self, within: Window) -> tuple[Segment, ...]:
        """A span cut where any group begins or ends, with the constant conditions of each part."""
        inside = [at for at in self.cuts if within.start_at < at < within.end_at]
        edges = [within.start_at, *inside, within.end_at]
        windows = [Window(start_at, end_at) for start_at, end_at in pairwise(edges)]
        return tuple(Segment(window=each, conditions=self.over(each)) for each in windows)

    def _disregarded(
        self, window: Window, heard: Mapping[Element, fold.Heard], winds: Sequence[WindReading]
    ) -> Iterator[Disregarded]:
        yield from unheard_spots(self.weather.observation, self.spots, as_of=self.as_of)
        for setting in self.settings:
            if setting.window.overlaps(window):
                yield setting.disregarded
        yield from fold.idle_improvements(heard[Element.VISIBILITY], window)
        yield from fold.idle_improvements(heard[Element.CLOUD], window)
        yield from fold.idle_gusts(winds)

    def _unread(self) -> tuple[str, ...]:
        reports = (self.weather.observation, self.weather.preceding, self.weather.forecast)
        return tuple(word for report in reports if report for word in report.unread)

    def _not_at_hand(self, window: Window) -> Iterator[NotAtHand]:
        """What is missing of the reports that could have spoken in the window."""
        observation = self.weather.observation
        if window.start_at < self.as_of + AHEAD_MAX + TREND_VALIDITY:
            if observation is None:
                yield NotAtHand.NO_OBSERVATION
            elif not is_fresh(observation.issued_at, self.as_of):
                yield NotAtHand.OLD_OBSERVATION
        if not covers(_validities(self.weather), window):
            yield NotAtHand.NO_FORECAST


def _validities(weather: StationWeather) -> tuple[Window, ...]:
    reports = (weather.preceding, weather.forecast)
    return tuple(report.valid for report in reports if report and report.valid)


def outlook(
    weather: StationWeather,
    *,
    as_of: datetime,
    reading: Reading,
    spots: Sequence[SpotObservation] = (),
) -> Outlook:
    """Gather the claims of all reports in force; ask the outlook for as many windows as needed."""
    seen = sightings(weather.observation, spots, as_of=as_of)
    trend, trend_settings = trend_claims(weather.observation, seen, as_of=as_of, reading=reading)
    forecast, settings = _forecasts(weather, reading)
    claims = (*present_claims(seen, as_of=as_of, reading=reading), *trend, *forecast)
    settings = (*trend_settings, *settings)
    windows = (*(each.window for each in claims), *(each.window for each in settings))
    return Outlook(
        weather=weather,
        as_of=as_of,
        spots=tuple(spots),
        claims={axis: tuple(each for each in claims if each.element is axis) for axis in AXES},
        settings=settings,
        cuts=tuple(sorted({at for window in windows for at in (window.start_at, window.end_at)})),
    )


def _forecasts(
    weather: StationWeather, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[Setting, ...]]:
    """The claims of the forecast, and of the one before it until it begins."""
    forecast, preceding = weather.forecast, weather.preceding
    if forecast is None or forecast.valid is None:
        return (), ()
    claims, settings = forecast_claims(forecast, valid=forecast.valid, reading=reading)
    if preceding is None or preceding.valid is None:
        return claims, settings
    until = span(preceding.valid.start_at, min(preceding.valid.end_at, forecast.valid.start_at))
    if until is None:
        return claims, settings
    earlier, left = forecast_claims(preceding, valid=until, reading=reading)
    return (*earlier, *claims), (*left, *settings)


def conditions(
    weather: StationWeather,
    *,
    window: Window,
    as_of: datetime,
    reading: Reading,
    spots: Sequence[SpotObservation] = (),
) -> Conditions:
    """The governing conditions over a window.

    Source: [EU-AO-FORECAST] or [FAA-C055] by reading, data/tables/forecast_use.csv; precedence of
    observation, trend and forecast near the present [ASSUMED]: the worse wins.
    """
    return _remembered(weather, window, as_of, reading, tuple(spots))


def timeline(
    weather: StationWeather,
    within: Window,
    *,
    as_of: datetime,
    reading: Reading,
    spots: Sequence[SpotObservation] = (),
) -> tuple[Segment, ...]:
    """A span of time in parts of constant conditions."""
    return outlook(weather, as_of=as_of, reading=reading, spots=spots).timeline(within)


@lru_cache(maxsize=REMEMBERED)
def _outlook(
    weather: StationWeather, as_of: datetime, reading: Reading, spots: tuple[SpotObservation, ...]
) -> Outlook:
    return outlook(weather, as_of=as_of, reading=reading, spots=spots)


@lru_cache(maxsize=REMEMBERED)
def _remembered(
    weather: StationWeather,
    window: Window,
    as_of: datetime,
    reading: Reading,
    spots: tuple[SpotObservation, ...],
) -> Conditions:
    """Courses ask for the same window again and again; the answer depends on nothing else."""
    return _outlook(weather, as_of, reading, spots).over(window)
