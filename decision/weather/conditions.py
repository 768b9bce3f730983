"""The conditions at an aerodrome over a window of time: what a rule may rely on, and why.

All that is in force is turned into claims once (`outlook`); a window is then the worst of the
claims that touch it. A window, or a part of it, that nobody speaks of is unknown, never a default.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import Any, Final

from msgspec.structs import replace

from decision.weather import fold
from decision.weather.claims import (
    AXES,
    REPORTED,
    Claim,
    ClaimSetting,
    Voice,
    forecast_claims,
    is_overlay,
    span,
)
from decision.weather.collect import AHEAD_MAX, StationWeather
from decision.weather.hazards import (
    HazardStanding,
    ends_of_hazards,
    hazards_forecast,
    hazards_over,
    hazards_seen,
)
from decision.weather.named import Named, elements_improved, named_in
from decision.weather.phenomena import bears_icing
from decision.weather.present import (
    GOVERNS_AHEAD,
    OBSERVED_AIR_HOLDS,
    STANDS_IN_WINDOWS_WITHIN,
    TREND,
    Sighting,
    Sources,
    improved_at,
    is_fresh,
    observed_qnh_hpa,
    observed_temperature_degc,
    present_claims,
    range_as_elements,
    ranges_seen,
    sightings,
    trend_claims,
    trend_validity,
    unheard_spots,
    until_improved,
)
from decision.weather.readings import (
    Conditions,
    Disregarded,
    Foretold,
    ForetoldCeiling,
    Governing,
    Improvement,
    NotAtHand,
    Reported,
    RvrReading,
    Segment,
    ToldWeather,
    VisibilityReading,
    WeatherMet,
    WindReading,
)
from decision.weather.report import Element, Period, Report
from decision.weather.spots import SpotObservation
from decision.weather.trend import TREND_VALIDITY
from decision.weather.use import Reading
from decision.windows import MINUTE, Window, covers, minutes_between

CHANGES_AHEAD: Final = timedelta(hours=3)  # [ASSUMED] longer than any hold that fuel allows
OBSERVED_AHEAD: Final = AHEAD_MAX + TREND_VALIDITY  # to here an observation could have spoken
REMEMBERED: Final = 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeSeen:
    """A runway visual range, how long it makes anything known, and how long it stands.

    `report`: the observation beside which it is heard; empty where there is none. `stands_to_at`:
    heard in windows that begin before this.
    """

    reading: RvrReading
    report: str
    governs_to_at: datetime
    stands_to_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Everything that speaks of one aerodrome, seen from one instant, under one reading.

    `claims` by element; `cuts`: the instants at which a group begins or ends to speak; `moments`:
    all that the ends of a window are held against. `told` and `met` keep what was found before, by
    the place of a window among them. `foretold`: what trend and forecast say of visibility
    and ceiling, with what the reading disregards.
    """

    weather: StationWeather
    as_of: datetime
    spots: tuple[SpotObservation, ...]
    seen: tuple[Sighting, ...]
    claims: Mapping[Element, tuple[Claim, ...]]
    foretold: Mapping[Element, tuple[Claim, ...]]
    settings: tuple[ClaimSetting, ...]
    ranges: tuple[RangeSeen, ...]
    improvements: tuple[Improvement, ...]
    hazards: tuple[HazardStanding, ...]
    reported_before: tuple[Reported, ...]
    cuts: tuple[datetime, ...]
    moments: tuple[datetime, ...]
    told: dict[tuple[int, int], ToldWeather] = field(
        default_factory=dict, compare=False, repr=False
    )
    met: dict[tuple[int, int, int] | Window, WeatherMet] = field(
        default_factory=dict, compare=False, repr=False
    )

    def over(self, window: Window) -> Conditions:
        """The conditions over a window, each element at its worst."""
        met = self.meets(window)
        return Conditions(
            window=window, **{name: getattr(met, name) for name in met.__struct_fields__}
        )

    def meets(self, window: Window) -> WeatherMet:
        """What a window meets, the same value for all windows that meet the same.

        A silence is told with the moments at which it begins and ends: it is kept for its window.
        """
        place = self._among_moments(window)
        met = self.met.get(place) or self.met.get(window)
        if met is None:
            if len(self.met) >= REMEMBERED:
                self.met.clear()
            told, silent = self._told(window)
            met = self.met[window if silent else place] = self._met(told, window)
        return met

    def _among_moments(self, window: Window) -> tuple[int, int, int]:
        """Where the ends of a window stand, and that of what may come after it.

        At, before and after a moment are different places.
        """
        moments, ahead_at = self.moments, window.end_at + CHANGES_AHEAD
        return (
            bisect_left(moments, window.start_at) + bisect_right(moments, window.start_at),
            bisect_left(moments, window.end_at) + bisect_right(moments, window.end_at),
            bisect_left(moments, ahead_at) + bisect_right(moments, ahead_at),
        )

    def _met(self, told: ToldWeather, window: Window) -> WeatherMet:
        observation = self.weather.observation
        heard = fold.hear(self.claims[Element.VISIBILITY], Element.VISIBILITY, window)
        reported = tuple(self._reported(heard, window))
        qnh_hpa = observed_qnh_hpa(
            self.weather.observations, self.spots, as_of=self.as_of, window=window
        )
        return WeatherMet(
            ceiling=told.ceiling,
            visibility=told.visibility,
            rvr=_lowest(each for one in reported for each in one.rvr),
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
            temperature_degc=observed_temperature_degc(self.weather.observations, window=window),
            qnh_hpa=None if qnh_hpa is None else qnh_hpa[0],
            disregarded=told.disregarded,
            unread=self._unread(),
            observation_age_min=None
            if observation is None
            else minutes_between(observation.issued_at, self.as_of),
            unknown=told.unknown,
            unknown_reasons=told.unknown_reasons,
            forecast_visibility=told.forecast_visibility,
            prevailing_visibility=told.prevailing_visibility,
            not_at_hand=tuple(self._not_at_hand(window)),
            changes_at=tuple(
                at for at in self.cuts if window.start_at < at <= window.end_at + CHANGES_AHEAD
            ),
            qnh_high_hpa=None if qnh_hpa is None else qnh_hpa[1],
            reported=reported,
            foretold=tuple(self._foretold(window)),
            foretold_ceilings=tuple(self._foretold_ceilings(window)),
            improvements=tuple(
                each
                for each in self.improvements
                if window.start_at < each.at <= window.end_at + CHANGES_AHEAD
            ),
            hazards=hazards_over(self.hazards, window),
            observed_worse=tuple(self._observed_worse(told, window)),
            reported_before=self.reported_before,
        )

    # --- seeing the runway ---

    def _reported(self, heard: fold.Heard, window: Window) -> Iterator[Reported]:
        """What each observation in force says, with newer words by voice; at least those words."""
        for report in self.weather.observations or (None,):
            raw = "" if report is None else report.raw
            at = self._seen_at(raw)
            if at is None:
                continue
            said = fold.only(heard, lambda claim, raw=raw: _is_of(claim, raw))  # type: ignore[misc]
            yield Reported(
                at=at,
                visibility=None if said is None else _in_doubt(said, report),
                rvr=tuple(self._ranges(raw, heard, window)),
            )

    def _seen_at(self, raw: str) -> datetime | None:
        """When the visibility was seen, or else a range; None if neither was."""
        seen = [
            each.at
            for each in self.seen
            if each.element is Element.VISIBILITY and each.report in ("", raw)
        ]
        ranges = [each.reading.at for each in self.ranges if each.report == raw]
        return max([at for at in seen or ranges if at is not None], default=None)

    def _ranges(self, raw: str, heard: fold.Heard, window: Window) -> Iterator[RvrReading]:
        for each in self.ranges:
            if each.report == raw and window.start_at < each.stands_to_at:
                yield replace(
                    each.reading,
                    possibly_worse=heard.silent,
                    bars_only=window.start_at >= each.governs_to_at,
                )

    def _foretold(self, window: Window) -> Iterator[Foretold]:
        for claim in self._ahead_of(Element.VISIBILITY, window):
            yield Foretold(
                **_speaking(claim),
                prevailing=claim.main,
                visibility=fold.visibility_reading(fold.alone(claim)),
            )

    def _foretold_ceilings(self, window: Window) -> Iterator[ForetoldCeiling]:
        for claim in self._ahead_of(Element.CLOUD, window):
            yield ForetoldCeiling(
                **_speaking(claim), ceiling=fold.ceiling_reading(fold.alone(claim))
            )

    def _ahead_of(self, element: Element, window: Window) -> Iterator[Claim]:
        return (claim for claim in self.foretold[element] if claim.touches(window))

    def _observed_worse(self, told: ToldWeather, window: Window) -> Iterator[Governing]:
        """What was seen too long ago to stand, worse than the forecast and not improved on."""
        for claim in (*self.claims[Element.VISIBILITY], *self.claims[Element.CLOUD]):
            late = claim.begun_before is not None and window.start_at >= claim.begun_before
            if late and claim.window.overlaps(window) and _is_worse(claim, told):
                yield claim.governing

    def _told(self, window: Window) -> tuple[ToldWeather, bool]:
        """What is told, and whether nothing tells a part: between the same cuts it is the same.

        A silence is told with the moments at which it begins and ends, so that it is not kept.
        """
        cuts = bisect_right(self.cuts, window.start_at), bisect_left(self.cuts, window.end_at)
        told = self.told.get(cuts)
        if told is not None:
            return told, False
        heard = {element: fold.hear(self.claims[element], element, window) for element in AXES}
        told = self._folded(heard, window)
        silent = any(each.silent for each in heard.values())
        if not silent:
            self.told[cuts] = told
        return told, silent

    def _folded(self, heard: Mapping[Element, fold.Heard], window: Window) -> ToldWeather:
        winds = fold.wind_readings(heard[Element.WIND])
        storm = fold.thunderstorm(heard[Element.WEATHER])
        groups = fold.weather_groups(heard[Element.WEATHER])
        disregarded = tuple(dict.fromkeys(self._disregarded(window, heard, winds)))
        doubts = [reason for each in heard.values() for reason in each.doubts]
        return ToldWeather(
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
            forecast_visibility=_part(heard, lambda claim: claim.voice not in REPORTED),
            prevailing_visibility=_part(
                heard, lambda claim: claim.main and claim.voice not in REPORTED
            ),
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
        return tuple(word for report in self.weather.in_force for word in report.unread)

    def _not_at_hand(self, window: Window) -> Iterator[NotAtHand]:
        """What is missing of the reports that could have spoken in the window."""
        observation = self.weather.observation
        if window.start_at < self.as_of + OBSERVED_AHEAD:
            if observation is None:
                yield NotAtHand.NO_OBSERVATION
            elif not is_fresh(observation.issued_at, self.as_of):
                yield NotAtHand.OLD_OBSERVATION
        if not covers(_validities(self.weather), window):
            yield NotAtHand.NO_FORECAST


def _part(heard: Mapping[Element, fold.Heard], keep: fold.Keep) -> VisibilityReading | None:
    """The visibility as a part of the claims has it; None where that part does not speak."""
    part = fold.only(heard[Element.VISIBILITY], keep)
    return None if part is None else fold.visibility_reading(part)


def _is_of(claim: Claim, raw: str) -> bool:
    """Whether a claim was seen, by this observation or by voice."""
    return claim.voice in REPORTED and claim.report in ("", raw)


def _in_doubt(said: fold.Heard, report: Report | None) -> VisibilityReading:
    """The visibility that was seen; a range that cannot be read leaves it in doubt."""
    reading = fold.visibility_reading(said)
    elements = None if report is None else report.elements
    if elements is None or Element.RVR not in elements.unknown:
        return reading
    return replace(reading, possibly_worse=True)


def _lowest(ranges: Iterable[RvrReading]) -> tuple[RvrReading, ...]:
    """The lowest range of each runway; one that is missing is below all."""
    lowest: dict[str, RvrReading] = {}
    for each in ranges:
        other = lowest.get(each.runway)
        if other is None or _low(each) < _low(other):
            lowest[each.runway] = each
    return tuple(lowest[runway] for runway in sorted(lowest))


def _low(reading: RvrReading) -> float:
    return -1.0 if reading.low_m is None else reading.low_m


def _is_worse(claim: Claim, told: ToldWeather) -> bool:
    """Whether a claim on visibility or cloud is worse than all that is told."""
    if claim.element is Element.VISIBILITY:
        said = claim.said.visibility
        seen_m = None if said is None else said.worst_metres
        told_m = told.visibility.metres
        return seen_m is not None and told_m is not None and seen_m < told_m
    seen_ft = fold.known_ceiling_ft(claim.said)
    return seen_ft is not None and told.ceiling.reaches(seen_ft + 1.0) is True


def _validities(weather: StationWeather) -> tuple[Window, ...]:
    reports = (*weather.precedings, *weather.forecasts)
    return tuple(report.valid for report in reports if report.valid)


def _speaking(claim: Claim) -> dict[str, Any]:
    """Which group speaks, and when, as `ForetoldPart` has it."""
    return {
        "kind": claim.governing.kind,
        "text": claim.governing.text,
        "from_at": claim.window.start_at,
        "until_at": claim.window.end_at,
    }


def outlook(
    weather: StationWeather,
    *,
    as_of: datetime,
    reading: Reading,
    spots: Sequence[SpotObservation] = (),
) -> Outlook:
    """Gather the claims of all reports in force; ask the outlook for as many windows as needed."""
    trends = _named_in_trends(weather, as_of=as_of, reading=reading)
    forecasts = _named_in_forecasts(weather, reading)
    seen = until_improved(
        sightings(weather.observations, spots, as_of=as_of), trends=trends, forecasts=forecasts
    )
    ahead, settings = _ahead(weather, seen, as_of=as_of, reading=reading)
    # Every overlay counts in this reading, and full sets and changes count alike in both.
    all_ahead = ahead
    if reading is not Reading.CONDITIONAL:
        all_ahead, _ = _ahead(weather, seen, as_of=as_of, reading=Reading.CONDITIONAL)
    claims = (*present_claims(seen, as_of=as_of, reading=reading), *ahead)
    ranges = tuple(_ranges(weather, spots, claims, trends, forecasts, as_of=as_of))
    overlays = tuple(_overlays(weather))
    hazards = (
        *hazards_seen(
            seen,
            weather.observations,
            trends=tuple(trends.values()),
            forecasts=forecasts,
            overlays=overlays,
            claims=all_ahead,
        ),
        *hazards_forecast(all_ahead),
    )
    edges = {at for each in settings for at in (each.window.start_at, each.window.end_at)}
    named = [*trends.values(), *forecasts]
    improvements = _improvements(seen, named, all_ahead, overlays)
    cuts = tuple(sorted(edges.union(_ends_of(claims))))
    moments = {
        *cuts,
        *_ends_of((*all_ahead, *hazards)),
        *(at for each in ranges for at in (each.governs_to_at, each.stands_to_at)),
        *(each.at for each in improvements),
        *(each.issued_at + OBSERVED_AIR_HOLDS for each in weather.observations),
        *(each.at + OBSERVED_AIR_HOLDS for each in spots),
        *(at for each in _validities(weather) for at in (each.start_at, each.end_at)),
        as_of + OBSERVED_AHEAD,
    }
    return Outlook(
        weather=weather,
        as_of=as_of,
        spots=tuple(spots),
        seen=seen,
        claims={axis: tuple(each for each in claims if each.element is axis) for axis in AXES},
        foretold={
            element: tuple(
                each
                for each in all_ahead
                if each.element is element and each.voice is not Voice.CONTINUED
            )
            for element in (Element.VISIBILITY, Element.CLOUD)
        },
        settings=settings,
        ranges=ranges,
        improvements=improvements,
        hazards=hazards,
        reported_before=tuple(_before(weather.earlier, as_of=as_of, reading=reading)),
        cuts=cuts,
        moments=tuple(sorted(moments)),
    )


def _ends_of(speaking: Iterable[Claim | HazardStanding]) -> Iterator[datetime]:
    """The instants at which each of them begins and ends to be heard."""
    for each in speaking:
        yield each.window.start_at
        yield each.window.end_at
        if each.begun_before is not None:
            yield each.begun_before


def _ahead(
    weather: StationWeather, seen: Sequence[Sighting], *, as_of: datetime, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[ClaimSetting, ...]]:
    """The claims of trends and forecasts, and what of them is disregarded."""
    claims, settings = _forecasts(weather, reading)
    for observation in weather.observations:
        more, left = trend_claims(observation, seen, as_of=as_of, reading=reading)
        claims, settings = (*more, *claims), (*left, *settings)
    return claims, tuple(dict.fromkeys(settings))


def _forecasts(
    weather: StationWeather, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[ClaimSetting, ...]]:
    """The claims of the forecasts, and of those before them until they begin."""
    claims: tuple[Claim, ...] = ()
    settings: tuple[ClaimSetting, ...] = ()
    for report, valid in _spans(weather):
        more, left = forecast_claims(report, valid=valid, reading=reading)
        claims, settings = (*claims, *more), (*settings, *left)
    return claims, settings


def _spans(weather: StationWeather) -> Iterator[tuple[Report, Window]]:
    """Each forecast with the time in which it speaks."""
    begins = [each.valid.start_at for each in weather.forecasts if each.valid is not None]
    for report in weather.precedings:
        until = None if report.valid is None else _until(report.valid, max(begins))
        if until is not None:
            yield report, until
    for report in weather.forecasts:
        if report.valid is not None:
            yield report, report.valid


def _until(valid: Window, begins_at: datetime) -> Window | None:
    """The part of a validity before the next forecast begins."""
    return span(valid.start_at, min(valid.end_at, begins_at))


def _overlays(weather: StationWeather) -> Iterator[Period]:
    """Every group beside the main body of a trend or forecast."""
    for report in weather.in_force:
        yield from filter(is_overlay, (*report.periods, *report.trend))


def _named_in_trends(
    weather: StationWeather, *, as_of: datetime, reading: Reading
) -> dict[str, tuple[Named, ...]]:
    """The named groups of each trend, by the text of its observation; the last minute counts."""
    named = {}
    for report in weather.observations:
        valid = trend_validity(report, as_of=as_of)
        within = Window(valid.start_at, valid.end_at + MINUTE)
        named[report.raw] = named_in(report.trend, within=within, reading=reading, kind=TREND)
    return named


def _named_in_forecasts(weather: StationWeather, reading: Reading) -> Sources:
    """The named groups of each forecast in force, with those before it until it begins."""
    spans = dict(_spans(weather))
    before = [
        each
        for report in weather.precedings
        if report in spans
        for each in named_in(report.periods, within=spans[report], reading=reading)
    ]
    return tuple(
        (*before, *named_in(report.periods, within=report.valid, reading=reading))
        for report in weather.forecasts
        if report.valid is not None
    )


def _ranges(
    weather: StationWeather,
    spots: Sequence[SpotObservation],
    claims: Sequence[Claim],
    trends: Mapping[str, Sequence[Named]],
    forecasts: Sources,
    *,
    as_of: datetime,
) -> Iterator[RangeSeen]:
    """Every range beside each observation in force; it follows the visibility."""
    for report in weather.observations or (None,):
        raw = "" if report is None else report.raw
        elements = None if report is None else report.elements
        visibility = None if elements is None else elements.visibility
        continued_to_at = _continued_to(claims, raw)
        for reading in ranges_seen(report, spots, as_of=as_of):
            at = reading.at or as_of
            lifted_at = improved_at(
                Element.VISIBILITY,
                range_as_elements(reading, visibility),
                seen_at=at,
                trends=tuple(trends.values()),
                forecasts=forecasts,
            )
            stands_to_at = at + STANDS_IN_WINDOWS_WITHIN
            yield RangeSeen(
                reading=reading,
                report=raw,
                governs_to_at=max(at + GOVERNS_AHEAD, continued_to_at or at),
                stands_to_at=min(stands_to_at, lifted_at or stands_to_at),
            )


def _before(earlier: Sequence[Report], *, as_of: datetime, reading: Reading) -> Iterator[Reported]:
    """What each earlier observation said of seeing the runway, as it stood."""
    for report in earlier:
        seen = [s for s in sightings([report], (), as_of=as_of) if s.element is Element.VISIBILITY]
        for claim in present_claims(seen, as_of=as_of, reading=reading)[:1]:
            yield Reported(
                at=report.issued_at,
                visibility=_in_doubt(fold.alone(claim), report),
                rvr=ranges_seen(report, (), as_of=as_of),
            )


def _continued_to(claims: Sequence[Claim], raw: str) -> datetime | None:
    """To when a trend continues the visibility of an observation."""
    ends = [
        each.window.end_at
        for each in claims
        if each.element is Element.VISIBILITY
        and each.voice is Voice.CONTINUED
        and each.report == raw
    ]
    return max(ends, default=None)


def _improvements(
    seen: Sequence[Sighting],
    named: Iterable[Sequence[Named]],
    claims: Sequence[Claim],
    overlays: Sequence[Period],
) -> tuple[Improvement, ...]:
    """Each named group that improves on what was seen, or on what was forecast until then."""
    found = set(ends_of_hazards(overlays, claims))
    for group in {each for groups in named for each in groups}:
        before = [each.said for each in seen if each.at < group.at]
        before += [
            claim.said
            for claim in claims
            if claim.main
            and claim.window.start_at < group.at <= claim.window.end_at
            and claim.governing.text != group.text
        ]
        elements = frozenset(elements_improved(group, before))
        if elements:
            found.add(Improvement(at=group.at, kind=group.kind, text=group.text, elements=elements))
    return tuple(sorted(found, key=lambda each: (each.at, each.text)))


def conditions(
    weather: StationWeather,
    *,
    window: Window,
    as_of: datetime,
    reading: Reading,
    spots: Sequence[SpotObservation] = (),
) -> WeatherMet:
    """What governs in a window: the same value for each of them that meets the same.

    Source: [EU-AO-FORECAST] or [FAA-C055] by reading, data/tables/forecast_use.csv; precedence of
    observation, trend and forecast near the present [ASSUMED]: the worse wins, and growing old
    makes nothing better.
    """
    return kept_outlook(weather, as_of, reading, tuple(spots)).meets(window)


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
def kept_outlook(
    weather: StationWeather, as_of: datetime, reading: Reading, spots: tuple[SpotObservation, ...]
) -> Outlook:
    """The outlook of these reports, and what windows have met in it before."""
    return outlook(weather, as_of=as_of, reading=reading, spots=spots)
