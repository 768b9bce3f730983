"""What has been seen, and how long it speaks: observation, spot observations, landing forecast.

An observation governs for an hour from its own time, together with whatever the trend and the
forecast say worse. After that it makes nothing known, but what it was short of it stays short of,
in every window that begins within two hours of it, until something newer is seen or a named group
of trend or forecast improves on it (`named`). Growing old lifts nothing. With a trend the
observation holds, with the changes the trend names, to the end of the trend.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from math import inf
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.quantities import Bound
from decision.weather.claims import (
    AXES,
    Claim,
    ClaimSetting,
    Statement,
    Voice,
    changes_in,
    clock,
    group_claims,
    run_claims,
    runs,
    span,
)
from decision.weather.collect import AHEAD_MAX, stamp
from decision.weather.fold import known_ceiling_ft
from decision.weather.named import Named, earliest, lifted_at
from decision.weather.readings import Disregarded, Governing, RvrReading
from decision.weather.report import (
    Ceiling,
    CeilingState,
    Element,
    Elements,
    LengthUnit,
    RemarkKind,
    Report,
    ReportKind,
    Visibility,
    Wind,
    WindUnit,
)
from decision.weather.spots import SpotObservation, SpotWind
from decision.weather.trend import TREND_VALIDITY
from decision.weather.use import Group, Nature, Reading, use_of
from decision.windows import MINUTE, Window, minutes_between

GOVERNS_UNDER_AGE: Final = timedelta(minutes=30)  # [ASSUMED] older: a newer one is wanted
GOVERNS_AHEAD: Final = timedelta(minutes=60)  # [ASSUMED] from its own time
STANDS_IN_WINDOWS_WITHIN: Final = timedelta(hours=2)  # [ASSUMED] of it; later the forecast governs
LONGEST_LOOK: Final = timedelta(days=2)  # no window is looked at so far ahead: no end is told
OBSERVED_AIR_HOLDS: Final = timedelta(hours=3)  # [ASSUMED] temperature and QNH change slowly
PRECIPITATION_SENSOR: Final = "PWINO"  # [FAA-AIM] 7-1-29
SPOT: Final = "SPOT"
TREND: Final = "TREND"
SEEN_KINDS: Final = frozenset({ReportKind.METAR, ReportKind.SPECI, SPOT})


class Sighting(Struct, frozen=True, kw_only=True, gc=False):
    """One element as it was seen at one instant, by a station or by word.

    `report`: the text of the observation; empty by word. `lifted_at`: when a named group first
    improves on it; None: none does.
    """

    element: Element
    said: Elements
    at: datetime
    kind: str
    text: str
    hidden: str | None = None
    unseen: frozenset[str] = frozenset()
    report: str = ""
    lifted_at: datetime | None = None


def is_fresh(at: datetime, as_of: datetime) -> bool:
    """Whether something seen at an instant is young enough not to ask for a newer one."""
    return as_of - at < GOVERNS_UNDER_AGE


# --- what was seen ---


def sightings(
    observations: Sequence[Report], spots: Sequence[SpotObservation], *, as_of: datetime
) -> tuple[Sighting, ...]:
    """The newest of each element; several where reports of one time differ.

    A spot goes before a report of the same time.
    """
    seen = [each for report in observations for each in _reported(report)]
    seen += _by_word(spots, as_of=as_of)
    return tuple(
        each for axis in AXES for each in _newest([one for one in seen if one.element is axis])
    )


def _newest(seen: Sequence[Sighting]) -> Sequence[Sighting]:
    last_at = max((each.at for each in seen), default=None)
    newest = [each for each in seen if each.at == last_at]
    return [each for each in newest if each.kind == SPOT] or newest


Sources = Sequence[Sequence[Named]]
"""The named groups of each report that stands beside the others."""


def until_improved(
    seen: Sequence[Sighting], *, trends: Mapping[str, Sequence[Named]], forecasts: Sources
) -> tuple[Sighting, ...]:
    """Each sighting with the time at which a named group improves on it.

    A trend, by the text of its observation, improves on that observation and on what was said by
    word; where several observations stand side by side, the latter by what all of them name.
    """
    return tuple(
        replace(
            each,
            lifted_at=improved_at(
                each.element,
                each.said,
                seen_at=each.at,
                trends=_own(trends, each.report),
                forecasts=forecasts,
            ),
        )
        for each in seen
    )


def _own(trends: Mapping[str, Sequence[Named]], report: str) -> Sources:
    return (trends[report],) if report else tuple(trends.values())


def improved_at(
    element: Element, said: Elements, *, seen_at: datetime, trends: Sources, forecasts: Sources
) -> datetime | None:
    """When the trend or the forecast first improves on something by name.

    A trend was written after looking, so that a change at the minute of its report counts.
    """
    return earliest(
        (
            lifted_at(element, said, seen_at=seen_at - MINUTE, sources=trends),
            lifted_at(element, said, seen_at=seen_at, sources=forecasts),
        )
    )


def _reported(observation: Report) -> Iterator[Sighting]:
    if observation.elements is None:
        return
    said = observation.elements
    unseen = _missing_sensors(observation)
    for element in AXES:
        yield Sighting(
            element=element,
            said=said,
            at=observation.issued_at,
            kind=observation.kind,
            text=_text(said, element) or observation.raw,
            hidden=_not_seen(observation, element, unseen),
            unseen=unseen,
            report=observation.raw,
        )


def _text(said: Elements, element: Element) -> str:
    """The groups of a report that an element rests on."""
    match element:
        case Element.VISIBILITY:
            return said.visibility.raw if said.visibility else ""
        case Element.CLOUD:
            return said.ceiling.raw if said.ceiling else ""
        case Element.WIND:
            return said.wind.raw if said.wind else ""
        case _:
            return " ".join(weather.raw for weather in said.weather or ())


def _missing_sensors(observation: Report) -> frozenset[str]:
    """Sensors that an automatic station reports as out; an observer needs none of them."""
    if not observation.auto or observation.elements is None:
        return frozenset()
    return frozenset(
        remark.where
        for remark in observation.elements.remarks
        if remark.kind is RemarkKind.SENSOR_STATUS and remark.where
    )


def _not_seen(observation: Report, element: Element, unseen: frozenset[str]) -> str | None:
    if observation.elements is None or element in observation.elements.unknown:
        return f"the {element} in '{observation.raw}' is not known"
    if element is Element.WEATHER and PRECIPITATION_SENSOR in unseen:
        return f"the station's weather sensor is out ({PRECIPITATION_SENSOR})"
    return None


def usable_spots(
    spots: Sequence[SpotObservation], *, as_of: datetime
) -> tuple[SpotObservation, ...]:
    """Spots that are not stamped later than the present time allows, oldest first."""
    return tuple(sorted((s for s in spots if s.at <= as_of + AHEAD_MAX), key=lambda spot: spot.at))


def _by_word(spots: Sequence[SpotObservation], *, as_of: datetime) -> Iterator[Sighting]:
    for spot in usable_spots(spots, as_of=as_of):
        for element, (said, text) in _spoken(spot).items():
            yield Sighting(
                element=element,
                said=said,
                at=spot.at,
                kind=SPOT,
                text=f"{text} at {clock(spot.at)}",
            )


def _spoken(spot: SpotObservation) -> dict[Element, tuple[Elements, str]]:
    """The elements that a spot observation names, in the words of a report."""
    spoken: dict[Element, tuple[Elements, str]] = {}
    if spot.visibility_m is not None:
        text = f"visibility {spot.visibility_m:.0f} m"
        visibility = Visibility(
            metres=spot.visibility_m, bound=Bound.EXACT, unit_reported=LengthUnit.M, raw=text
        )
        spoken[Element.VISIBILITY] = Elements(visibility=visibility), text
    if spot.ceiling_ft is not None:
        text = f"ceiling {spot.ceiling_ft:.0f} ft"
        ceiling = Ceiling(state=CeilingState.VALUE, feet=spot.ceiling_ft, raw=text)
        spoken[Element.CLOUD] = Elements(ceiling=ceiling), text
    if spot.wind is not None:
        wind = _spoken_wind(spot.wind)
        spoken[Element.WIND] = Elements(wind=wind), wind.raw
    return spoken


def _spoken_wind(said: SpotWind) -> Wind:
    direction = "variable" if said.from_true_deg is None else f"{said.from_true_deg:.0f} true"
    gust = "" if said.gust_kt is None else f" gusting {said.gust_kt:.0f}"
    return Wind(
        from_true_deg=said.from_true_deg,
        variable=said.from_true_deg is None,
        speed_kt=said.speed_kt,
        gust_kt=said.gust_kt,
        unit_reported=WindUnit.KT,
        raw=f"wind {direction} {said.speed_kt:.0f} kt{gust}",
    )


# --- how long it speaks ---


def present_claims(seen: Sequence[Sighting], *, as_of: datetime, reading: Reading) -> list[Claim]:
    """What was seen, as claims that govern for an hour and then can only make things worse."""
    gust_counts = use_of(reading, Group.OBSERVATION, Nature.PERSISTENT).gust_counts
    claims = []
    for each in seen:
        from_at, governs_to_at = min(each.at, as_of), each.at + GOVERNS_AHEAD
        ends_at = each.lifted_at or each.at + LONGEST_LOOK
        governing = span(from_at, min(governs_to_at, ends_at))
        standing = span(governs_to_at, ends_at) if _has_figure(each) else None
        age = f"seen {minutes_between(each.at, as_of):.0f} min ago"
        for window, why in (
            (governing, f"{age}: governs to {clock(governs_to_at)}"),
            (standing, f"{age}: {_how_long(each)}"),
        ):
            if window is None:
                continue
            claims.append(
                Claim(
                    element=each.element,
                    window=window,
                    said=each.said,
                    governing=Governing(kind=each.kind, text=each.text, why=why),
                    covers=window is governing,
                    gust_counts=gust_counts,
                    hidden=each.hidden,
                    unseen=each.unseen if window is governing else frozenset(),
                    voice=Voice.SEEN,
                    begun_before=None
                    if window is governing
                    else each.at + STANDS_IN_WINDOWS_WITHIN,
                    report=each.report,
                )
            )
    return claims


def _has_figure(seen: Sighting) -> bool:
    """Whether anything was seen that can be short of a minimum: what is unknown does not stand."""
    said = seen.said
    match seen.element:
        case Element.VISIBILITY:
            return said.visibility is not None and said.visibility.worst_metres is not None
        case Element.CLOUD:
            return known_ceiling_ft(said) is not None
        case Element.WIND:
            return said.wind is not None and said.wind.speed_kt is not None
        case _:
            return bool(said.weather)


def _how_long(seen: Sighting) -> str:
    if seen.lifted_at is None:
        return "stands, since nothing newer was seen and no group improves on it"
    return f"stands until a group improves on it at {clock(seen.lifted_at)}"


def trend_claims(
    observation: Report, seen: Sequence[Sighting], *, as_of: datetime, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[ClaimSetting, ...]]:
    """The landing forecast: what was seen, as the trend changes it, to the end of the trend."""
    if not (observation.trend or observation.nosig):
        return (), ()
    valid = trend_validity(observation, as_of=as_of)
    opens_at = valid.start_at
    claims, settings = group_claims(observation.trend, valid=valid, reading=reading)
    first_set_at = min((run.start_at for _, run in runs(observation.trend, valid)), default=None)
    run = span(opens_at, first_set_at or valid.end_at)
    if run is not None:
        changes = changes_in(observation.trend, run, opens_at=opens_at, reading=reading)
        for each in seen:
            if each.report in ("", observation.raw):
                head = _continued(each, run, reading)
                claims = (*claims, *run_claims(each.element, head, changes, run))
    return tuple(_by_trend(claim, observation) for claim in claims), settings


def trend_validity(observation: Report, *, as_of: datetime) -> Window:
    """The two hours of a landing forecast, from the report on."""
    opens_at = min(observation.issued_at, as_of)
    return Window(opens_at, observation.issued_at + TREND_VALIDITY)


def _continued(seen: Sighting, run: Window, reading: Reading) -> Statement:
    """What was seen, as the head of the landing forecast."""
    use = use_of(reading, Group.OBSERVATION, Nature.PERSISTENT)
    return Statement(
        said=seen.said,
        governing=Governing(
            kind=seen.kind, text=seen.text, why=f"holds with its trend to {clock(run.end_at)}"
        ),
        start_at=run.start_at,
        settled_at=run.start_at,
        gust_counts=use.gust_counts,
        hidden=seen.hidden,
        unseen=seen.unseen,
    )


def _by_trend(claim: Claim, observation: Report) -> Claim:
    """The same words, named as a trend where a group of the trend speaks."""
    said = claim.governing
    if said.kind in SEEN_KINDS:
        return replace(claim, voice=Voice.CONTINUED, report=observation.raw)
    told = replace(said, kind=TREND, why=f"{said.kind} of the trend: {said.why}")
    return replace(claim, governing=told, voice=Voice.TREND, report=observation.raw)


# --- runway visual range ---


def ranges_seen(
    observation: Report | None, spots: Sequence[SpotObservation], *, as_of: datetime
) -> tuple[RvrReading, ...]:
    """The newest RVR of each runway, by report or by word; of one time the lower.

    A report that tells the visibility is newer news than a range spoken before it.
    """
    told = sorted((*_reported_rvr(observation), *_spoken_rvr(spots, as_of=as_of)), key=_rank)
    since = None if observation is None or not _tells_visibility(observation) else observation
    newest = {
        each.runway: each
        for each in told
        if since is None or (each.at is not None and each.at >= since.issued_at)
    }
    return tuple(newest[runway] for runway in sorted(newest))


def _tells_visibility(observation: Report) -> bool:
    said = observation.elements
    return said is not None and said.visibility is not None and said.visibility.metres is not None


def _rank(reading: RvrReading) -> tuple[datetime | None, float]:
    return reading.at, -inf if reading.low_m is None else -reading.low_m


def range_as_elements(reading: RvrReading, visibility: Visibility | None) -> Elements:
    """A range as what a named visibility must be better than, and than the visibility seen."""
    seen_m = None if visibility is None else visibility.worst_metres
    known = [m for m in (seen_m, reading.low_m) if m is not None]
    return Elements(
        visibility=Visibility(
            metres=max(known, default=None),
            bound=Bound.EXACT if known else Bound.UNKNOWN,
            unit_reported=LengthUnit.M,
            raw=reading.governing.text,
        )
    )


def _reported_rvr(observation: Report | None) -> Iterator[RvrReading]:
    if observation is None or observation.elements is None:
        return
    for rvr in observation.elements.rvr:
        yield RvrReading(
            runway=rvr.runway,
            low_m=rvr.low_m,
            low_bound=rvr.low_bound,
            high_m=rvr.high_m,
            high_bound=rvr.high_bound,
            tendency=rvr.tendency,
            midpoint_m=None,
            stop_end_m=None,
            possibly_worse=False,
            governing=Governing(
                kind=observation.kind,
                text=rvr.raw,
                why=f"reported at {clock(observation.issued_at)}",
            ),
            at=observation.issued_at,
        )


def _spoken_rvr(spots: Sequence[SpotObservation], *, as_of: datetime) -> Iterator[RvrReading]:
    for spot in usable_spots(spots, as_of=as_of):
        for rvr in spot.rvr:
            text = f"RVR {rvr.runway} {rvr.touchdown_m:.0f} m at {clock(spot.at)}"
            yield RvrReading(
                runway=rvr.runway,
                low_m=rvr.touchdown_m,
                low_bound=Bound.EXACT,
                high_m=None,
                high_bound=None,
                tendency=None,
                midpoint_m=rvr.midpoint_m,
                stop_end_m=rvr.stop_end_m,
                possibly_worse=False,
                governing=Governing(kind=SPOT, text=text, why="given by voice"),
                at=spot.at,
            )


# --- air pressure and temperature ---


def observed_temperature_degc(observations: Sequence[Report], *, window: Window) -> float | None:
    """The last observed temperature; None if there is none or it was too long before.

    Of two reports of one time the higher counts: it costs climb and stopping distance. Where one of
    them does not tell it, the other does.
    """
    known = [
        said.temperature.temperature_degc
        for report in observations
        if (said := report.elements) is not None
        and said.temperature is not None
        and said.temperature.temperature_degc is not None
        and Element.TEMPERATURE not in said.unknown
        and window.start_at <= report.issued_at + OBSERVED_AIR_HOLDS
    ]
    return max(known, default=None)


def observed_qnh_hpa(
    observations: Sequence[Report],
    spots: Sequence[SpotObservation],
    *,
    as_of: datetime,
    window: Window,
) -> tuple[float, float] | None:
    """The lowest and highest of the newest QNH, by word or by report.

    They differ where reports of one time do. None if there is none or it was too long before.
    """
    reported = [
        (report.issued_at, report.elements.pressure.qnh_hpa)
        for report in observations
        if report.elements is not None and report.elements.pressure is not None
    ]
    spoken = [(spot.at, spot.qnh_hpa) for spot in usable_spots(spots, as_of=as_of)]
    known = [(at, hpa) for at, hpa in (*reported, *spoken) if hpa is not None]
    newest_at = max((at for at, _ in known), default=None)
    if newest_at is None or window.start_at > newest_at + OBSERVED_AIR_HOLDS:
        return None
    by_word = [hpa for at, hpa in spoken if at == newest_at and hpa is not None]
    newest = by_word or [hpa for at, hpa in known if at == newest_at]
    return min(newest), max(newest)


# --- what was not heard ---


def unheard_spots(
    observation: Report | None, spots: Sequence[SpotObservation], *, as_of: datetime
) -> Iterator[Disregarded]:
    """Spot observations that have no effect, and reports that a spot outranks."""
    for spot in spots:
        if spot.at > as_of + AHEAD_MAX:
            yield Disregarded(
                text=f"spot observation of {stamp(spot.at)}",
                why="stamped later than the present time",
            )
        elif observation is not None and spot.at < observation.issued_at:
            yield Disregarded(
                text=f"spot observation of {stamp(spot.at)}",
                why=f"older than the report of {stamp(observation.issued_at)}",
            )
        elif observation is not None:
            for element, (_, text) in _spoken(spot).items():
                yield Disregarded(
                    text=_text(observation.elements or Elements(), element),
                    why=f"outranked by {text} at {clock(spot.at)}",
                )
