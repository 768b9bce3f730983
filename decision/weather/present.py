"""What has been seen, and how long it speaks: observation, spot observations, landing forecast.

An observation younger than half an hour governs for an hour to come, together with whatever the
trend and the forecast say worse. An older one is heard only where it is worse, for as long as it
would have spoken had it been the youngest that governs. With a trend the observation holds, with
the changes the trend names, to the end of the trend.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import inf
from typing import Final

from decision.quantities import Bound
from decision.weather.claims import (
    AXES,
    Claim,
    Setting,
    Statement,
    changes_in,
    clock,
    group_claims,
    run_claims,
    runs,
    span,
)
from decision.weather.collect import AHEAD_MAX, stamp
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
from decision.windows import Window, minutes_between

GOVERNS_UNDER_AGE: Final = timedelta(minutes=30)  # [ASSUMED] older: heard only where worse
GOVERNS_AHEAD: Final = timedelta(minutes=60)  # [ASSUMED] from the present time
OBSERVED_AIR_HOLDS: Final = timedelta(hours=3)  # [ASSUMED] temperature and QNH change slowly
PRECIPITATION_SENSOR: Final = "PWINO"  # [FAA-AIM] 7-1-29
SPOT: Final = "SPOT"
TREND: Final = "TREND"
SEEN_KINDS: Final = frozenset({ReportKind.METAR, ReportKind.SPECI, SPOT})


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """One element as it was seen at one instant, by a station or by word."""

    element: Element
    said: Elements
    at: datetime
    kind: str
    text: str
    hidden: str | None = None
    unseen: frozenset[str] = frozenset()


def is_fresh(at: datetime, as_of: datetime) -> bool:
    """Whether something seen at an instant still governs."""
    return as_of - at < GOVERNS_UNDER_AGE


def speaks_until(at: datetime, as_of: datetime) -> datetime:
    """To when something seen at an instant is heard at all."""
    governed_at = as_of if is_fresh(at, as_of) else at + GOVERNS_UNDER_AGE
    return governed_at + GOVERNS_AHEAD


# --- what was seen ---


def sightings(
    observation: Report | None, spots: Sequence[SpotObservation], *, as_of: datetime
) -> tuple[Sighting, ...]:
    """The newest sighting of each element; a spot goes before a report of the same time."""
    seen = [*_reported(observation), *_by_word(spots, as_of=as_of)]
    newest = {each.element: each for each in sorted(seen, key=lambda each: each.at)}
    return tuple(newest[element] for element in AXES if element in newest)


def _reported(observation: Report | None) -> Iterator[Sighting]:
    if observation is None or observation.elements is None:
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
    """What was seen, as claims that govern or, when older, can only make things worse."""
    gust_counts = use_of(reading, Group.OBSERVATION, Nature.PERSISTENT).gust_counts
    claims = []
    for each in seen:
        until_at = speaks_until(each.at, as_of)
        window = span(min(each.at, as_of), until_at)
        if window is None or until_at <= as_of:
            continue
        fresh, age_min = is_fresh(each.at, as_of), minutes_between(each.at, as_of)
        role = "governs" if fresh else "is heard only where it is worse,"
        claims.append(
            Claim(
                element=each.element,
                window=window,
                said=each.said,
                governing=Governing(
                    kind=each.kind,
                    text=each.text,
                    why=f"seen {age_min:.0f} min ago: {role} to {clock(until_at)}",
                ),
                covers=fresh,
                gust_counts=gust_counts,
                hidden=each.hidden,
                unseen=each.unseen,
            )
        )
    return claims


def trend_claims(
    observation: Report | None, seen: Sequence[Sighting], *, as_of: datetime, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[Setting, ...]]:
    """The landing forecast: what was seen, as the trend changes it, to the end of the trend."""
    if observation is None or not (observation.trend or observation.nosig):
        return (), ()
    opens_at = min(observation.issued_at, as_of)
    valid = Window(opens_at, observation.issued_at + TREND_VALIDITY)
    claims, settings = group_claims(observation.trend, valid=valid, reading=reading)
    first_set_at = min((run.start_at for _, run in runs(observation.trend, valid)), default=None)
    run = span(opens_at, first_set_at or valid.end_at)
    if run is not None:
        changes = changes_in(observation.trend, run, opens_at=opens_at, reading=reading)
        for each in seen:
            head = _continued(each, run, reading)
            claims = (*claims, *run_claims(each.element, head, changes, run))
    return tuple(replace(claim, governing=_by_trend(claim.governing)) for claim in claims), settings


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


def _by_trend(governing: Governing) -> Governing:
    """The same words, named as a trend where a group of the trend speaks."""
    if governing.kind in SEEN_KINDS:
        return governing
    return replace(governing, kind=TREND, why=f"{governing.kind} of the trend: {governing.why}")


# --- runway visual range ---


def rvr_readings(
    observation: Report | None, spots: Sequence[SpotObservation], *, as_of: datetime, window: Window
) -> tuple[RvrReading, ...]:
    """The newest RVR of each runway, as long as it is heard at all; () in later windows."""
    told = (*_reported_rvr(observation), *_spoken_rvr(spots, as_of=as_of))
    if not told:
        return ()
    heard = sorted(
        ((at, each) for at, each in told if window.start_at < speaks_until(at, as_of)),
        key=_newer_then_lower,
    )
    newest = {reading.runway: (at, reading) for at, reading in heard}
    return tuple(
        replace(
            reading,
            possibly_worse=not is_fresh(at, as_of) or window.end_at > speaks_until(at, as_of),
        )
        for _, (at, reading) in sorted(newest.items())
    )


def _newer_then_lower(pair: tuple[datetime, RvrReading]) -> tuple[datetime, float]:
    at, reading = pair
    return at, -inf if reading.low_m is None else -reading.low_m


def _reported_rvr(observation: Report | None) -> Iterator[tuple[datetime, RvrReading]]:
    if observation is None or observation.elements is None:
        return
    for rvr in observation.elements.rvr:
        yield (
            observation.issued_at,
            RvrReading(
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
            ),
        )


def _spoken_rvr(
    spots: Sequence[SpotObservation], *, as_of: datetime
) -> Iterator[tuple[datetime, RvrReading]]:
    for spot in usable_spots(spots, as_of=as_of):
        for rvr in spot.rvr:
            text = f"RVR {rvr.runway} {rvr.touchdown_m:.0f} m at {clock(spot.at)}"
            yield (
                spot.at,
                RvrReading(
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
                ),
            )


# --- air pressure and temperature ---


def observed_temperature_degc(observation: Report | None, *, window: Window) -> float | None:
    """The last observed temperature; None if there is none or it was too long before."""
    if observation is None or observation.elements is None:
        return None
    said = observation.elements
    if said.temperature is None or Element.TEMPERATURE in said.unknown:
        return None
    late = window.start_at > observation.issued_at + OBSERVED_AIR_HOLDS
    return None if late else said.temperature.temperature_degc


def observed_qnh_hpa(
    observation: Report | None, spots: Sequence[SpotObservation], *, as_of: datetime, window: Window
) -> float | None:
    """The newest QNH, by word or by report; None if there is none or it was too long before."""
    known = [(spot.at, spot.qnh_hpa) for spot in usable_spots(spots, as_of=as_of) if spot.qnh_hpa]
    if observation is not None and observation.elements is not None:
        said = observation.elements.pressure
        if said is not None and said.qnh_hpa is not None:
            known.insert(0, (observation.issued_at, said.qnh_hpa))
    if not known:
        return None
    at, qnh_hpa = sorted(known, key=lambda pair: pair[0])[-1]
    return None if window.start_at > at + OBSERVED_AIR_HOLDS else qnh_hpa


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
