"""Hazardous weather: what of the words in force is dangerous in a window, and how gravely.

The kinds and their weights are data/tables/hazards.csv, the gravest first. A hazard counts wherever
it is named: in an observation, its remarks and its trend, in a forecast, and there in TEMPO, INTER
and PROB groups too, whatever a rulebook disregards for minima. One that was seen stands until
something newer is seen, until a named group is free of it, or until the stated end of a TEMPO that
has it, over a base that has not. A report of wind shear lapses by its own time.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.errors import DataError
from decision.tables import TABLES, rows
from decision.weather.claims import REPORTED, Claim, Voice
from decision.weather.named import Named, earliest
from decision.weather.present import (
    GOVERNS_AHEAD,
    LONGEST_LOOK,
    STANDS_IN_WINDOWS_WITHIN,
    Sighting,
    Sources,
)
from decision.weather.readings import Hazard, HazardWeight, Improvement
from decision.weather.report import (
    Element,
    Elements,
    Intensity,
    Period,
    PeriodKind,
    RemarkKind,
    Report,
    WeatherGroup,
    Wind,
    WindShear,
)
from decision.weather.use import OVERLAY_GROUPS
from decision.windows import MINUTE, Window

FILE: Final = "hazards.csv"
WIND_SHEAR: Final = "wind_shear"
WIND_SHEAR_FORECAST: Final = "wind_shear_forecast"
GUST_SPREAD: Final = "gust_spread"
MICROBURST: Final = "microburst"
FUNNEL_CLOUD: Final = "funnel_cloud"
REMARKED: Final = {
    RemarkKind.FUNNEL_CLOUD: FUNNEL_CLOUD,
    RemarkKind.MICROBURST: MICROBURST,
}
PLAIN_WORDS: Final = {"MBST": MICROBURST, "MICROBURST": MICROBURST}
ENDING: Final = frozenset({PeriodKind.TEMPO, PeriodKind.INTER})
"""Overlays whose stated end is the end of what was seen."""


class Strength(StrEnum):
    """The intensities that a row is about."""

    ANY = "any"
    LIGHT = "light"
    MODERATE_OR_HEAVY = "moderate_or_heavy"
    HEAVY = "heavy"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A row of the table: letters of a weather group, with one of others and without any of some.

    No letters: found otherwise. `least_kt`: gust less mean wind. `lapses_min`: to `then`, another
    row. `rank`: the place in the table, the gravest first.
    """

    phenomenon: str
    words: str
    letters: str
    beside: frozenset[str]
    without: frozenset[str]
    force: Strength
    least_kt: float | None
    weight: HazardWeight
    lapses_min: float | None
    then: str
    rank: int


@cache
def kinds() -> tuple[Kind, ...]:
    """The whole table."""
    return read_kinds(TABLES)


def read_kinds(folder: Path) -> tuple[Kind, ...]:
    """The rows of a table of hazards. Raises DataError on a malformed one, or on lighter first."""
    columns = frozenset(
        {"phenomenon", "words", "letters", "with", "without", "intensity", "least_kt"}
        | {"weight", "lapses_min", "then"}
    )
    read = tuple(
        Kind(
            phenomenon=row.text("phenomenon"),
            words=row.text("words"),
            letters=row.cells["letters"],
            beside=frozenset(row.cells["with"].split()),
            without=frozenset(row.cells["without"].split()),
            force=row.kind("intensity", Strength),
            least_kt=row.number_or_none("least_kt"),
            weight=row.kind("weight", HazardWeight),
            lapses_min=row.number_or_none("lapses_min"),
            then=row.cells["then"],
            rank=rank,
        )
        for rank, row in enumerate(rows(FILE, columns=columns, folder=folder))
    )
    weights = [GRAVEST_FIRST.index(each.weight) for each in read]
    if weights != sorted(weights):
        raise DataError(FILE, "weight", "the gravest come first")
    return read


GRAVEST_FIRST: Final = tuple(HazardWeight)


def kind_named(phenomenon: str) -> Kind:
    """The row of a phenomenon."""
    return next(each for each in kinds() if each.phenomenon == phenomenon)


def kind_of(weather: WeatherGroup) -> Kind | None:
    """The gravest row that a weather group meets; None if it is no hazard."""
    return next((kind for kind in kinds() if _meets(weather, kind)), None)


def _meets(weather: WeatherGroup, kind: Kind) -> bool:
    letters = {*weather.descriptors, *weather.phenomena}
    if kind.letters not in letters or letters & kind.without:
        return False
    if kind.beside and not letters & kind.beside:
        return False
    match kind.force:
        case Strength.ANY:
            return True
        case Strength.LIGHT:
            return weather.intensity is Intensity.LIGHT
        case Strength.HEAVY:
            return weather.intensity is Intensity.HEAVY
        case _:
            return weather.intensity is not Intensity.LIGHT


class HazardFound(Struct, frozen=True, kw_only=True, gc=False):
    """A hazard in the words of one group, before it is known how long they speak."""

    kind: Kind
    text: str
    runway: str | None = None


def hazards_said(said: Elements, element: Element) -> tuple[HazardFound, ...]:
    """The hazards that words on the weather, or on the wind, have in them."""
    if element is Element.WEATHER:
        return tuple(
            HazardFound(kind=kind, text=group.raw)
            for group in said.weather or ()
            if (kind := kind_of(group)) is not None
        )
    return _gusts(said.wind) if element is Element.WIND else ()


def _gusts(wind: Wind | None) -> tuple[HazardFound, ...]:
    kind = kind_named(GUST_SPREAD)
    if wind is None or wind.gust_kt is None or kind.least_kt is None:
        return ()
    spread_kt = wind.gust_kt - (wind.speed_kt or 0.0)
    return (HazardFound(kind=kind, text=wind.raw),) if spread_kt >= kind.least_kt else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardStanding:
    """A hazard with the time in which it stands. `ends` False: no end is told."""

    found: HazardFound
    said_by: str
    window: Window
    begun_before: datetime | None
    ends: bool

    def touches(self, window: Window) -> bool:
        """Whether it stands in a part of a window."""
        late = self.begun_before is not None and window.start_at >= self.begun_before
        return not late and self.window.overlaps(window)


# --- what was seen ---


def hazards_seen(
    seen: Sequence[Sighting],
    observations: Sequence[Report],
    *,
    trends: Sources,
    forecasts: Sources,
    overlays: Sequence[Period],
    claims: Sequence[Claim],
) -> Iterator[HazardStanding]:
    """Hazards of observations, of their remarks, and of winds by word.

    `overlays`: the TEMPO, INTER and PROB groups in force; `claims`: all that trend and forecast
    say, overlays that a reading disregards included.
    """
    for sighting in seen:
        for found in hazards_said(sighting.said, sighting.element):
            lifted_at = earliest(
                (
                    _free_at(found, sighting, trends, since_at=sighting.at - MINUTE),
                    _free_at(found, sighting, forecasts, since_at=sighting.at),
                    _over_at(found, sighting.at, overlays, claims),
                )
            )
            yield from _standing(found, sighting.kind, sighting.at, lifted_at)
    for report in observations:
        for found in _remarked(report):
            yield from _standing(found, report.kind, report.issued_at, None)
        for shear in report.elements.wind_shear if report.elements else ():
            yield from _sheared(shear, report)


def _free_at(
    found: HazardFound, seen: Sighting, sources: Sources, *, since_at: datetime
) -> datetime | None:
    """When a named group first says the element without the hazard, in every source."""
    firsts = [
        next((each.at for each in named if each.at > since_at and _frees(each, found, seen)), None)
        for named in sources
    ]
    known = [at for at in firsts if at is not None]
    return max(known) if known and len(known) == len(firsts) else None


def _frees(named: Named, found: HazardFound, seen: Sighting) -> bool:
    if seen.element not in named.speaks_of:
        return False
    said = {each.kind.phenomenon for each in hazards_said(named.said, seen.element)}
    return found.kind.phenomenon not in said


def _over_at(
    found: HazardFound, seen_at: datetime, overlays: Sequence[Period], claims: Sequence[Claim]
) -> datetime | None:
    """The stated end of a TEMPO that has the hazard, over a base that has not."""
    return earliest(
        end_at
        for period in overlays
        if period.kind in ENDING
        and period.start_at is not None
        and (end_at := period.end_at) is not None
        and end_at > seen_at >= period.start_at - GOVERNS_AHEAD
        and found.kind in _kinds_in(period)
        and found.kind not in _kinds_of_base(claims, end_at)
        and _has_base(claims, end_at)
    )


def _kinds_in(period: Period) -> frozenset[Kind]:
    """The hazards of an overlay, of its weather and of its wind."""
    if period.unread:
        return frozenset()
    axes = (Element.WEATHER, Element.WIND)
    return frozenset(each.kind for axis in axes for each in hazards_said(period.elements, axis))


def _base_at(claims: Sequence[Claim], at: datetime) -> Iterator[Claim]:
    for claim in claims:
        if claim.main and claim.voice not in REPORTED and at in claim.window:
            yield claim


def _kinds_of_base(claims: Sequence[Claim], at: datetime) -> frozenset[Kind]:
    return frozenset(
        each.kind
        for claim in _base_at(claims, at)
        for each in hazards_said(claim.said, claim.element)
    )


def _has_base(claims: Sequence[Claim], at: datetime) -> bool:
    """Whether the weather of the base is told, and can be read."""
    told = [each for each in _base_at(claims, at) if each.element is Element.WEATHER]
    return bool(told) and all(each.hidden is None for each in told)


def _standing(
    found: HazardFound, said_by: str, at: datetime, lifted_at: datetime | None
) -> Iterator[HazardStanding]:
    until_at = lifted_at or at + LONGEST_LOOK
    if at < until_at:
        yield HazardStanding(
            found=found,
            said_by=said_by,
            window=Window(at, until_at),
            begun_before=at + STANDS_IN_WINDOWS_WITHIN,
            ends=lifted_at is not None,
        )


def _remarked(report: Report) -> Iterator[HazardFound]:
    """Hazards in remarks and in plain language."""
    for remark in report.elements.remarks if report.elements else ():
        if remark.kind in REMARKED:
            yield HazardFound(kind=kind_named(REMARKED[remark.kind]), text=remark.raw)
    for word in report.unread:
        if word in PLAIN_WORDS:
            yield HazardFound(kind=kind_named(PLAIN_WORDS[word]), text=word)


def _sheared(shear: WindShear, report: Report) -> Iterator[HazardStanding]:
    """Wind shear of a report: what it is at first, and what it lapses to by its own time."""
    kind, at = kind_named(WIND_SHEAR), report.issued_at
    lapses_at = at + timedelta(minutes=kind.lapses_min or 0.0)
    ends_at = at + STANDS_IN_WINDOWS_WITHIN
    for each, from_at, until_at in (
        (kind, at, lapses_at),
        (kind_named(kind.then), lapses_at, ends_at),
    ):
        yield HazardStanding(
            found=HazardFound(kind=each, text=shear.raw, runway=shear.runway),
            said_by=report.kind,
            window=Window(from_at, until_at),
            begun_before=None,
            ends=True,
        )


# --- what is forecast ---


def hazards_forecast(claims: Iterable[Claim]) -> Iterator[HazardStanding]:
    """Hazards of trend and forecast, and of what was seen where a trend continues it."""
    for claim in claims:
        found = [*hazards_said(claim.said, claim.element)]
        if claim.element is Element.WIND and claim.voice is not Voice.CONTINUED:
            kind = kind_named(WIND_SHEAR_FORECAST)
            found += [HazardFound(kind=kind, text=shear.raw) for shear in claim.said.wind_shear]
        for each in found:
            yield HazardStanding(
                found=replace(each, text=claim.governing.text),
                said_by=claim.governing.kind,
                window=claim.window,
                begun_before=None,
                ends=True,
            )


def ends_of_hazards(
    overlays: Iterable[Period], claims: Sequence[Claim], *, kind: str | None = None
) -> Iterator[Improvement]:
    """The stated ends of overlays that bring a hazard, over a base that has not."""
    for period in overlays:
        end_at, brought = period.end_at, _kinds_in(period)
        if end_at is None or period.kind not in OVERLAY_GROUPS or not brought:
            continue
        if _has_base(claims, end_at) and not brought & _kinds_of_base(claims, end_at):
            yield Improvement(
                at=end_at,
                kind=kind or period.kind,
                text=period.raw,
                elements=frozenset({Element.WEATHER}),
            )


# --- in a window ---


def hazards_over(standing: Iterable[HazardStanding], window: Window) -> tuple[Hazard, ...]:
    """The hazards of a window, the gravest first, each said once by each group."""
    made: dict[tuple[str, str, str, str | None], HazardStanding] = {}
    ordered = sorted(
        (each for each in standing if each.touches(window)), key=lambda each: each.window.start_at
    )
    for each in ordered:
        found = each.found
        made.setdefault((found.kind.phenomenon, found.text, each.said_by, found.runway), each)
    gravest_first = sorted(
        made.values(), key=lambda each: (each.found.kind.rank, each.window.start_at)
    )
    return tuple(
        Hazard(
            phenomenon=each.found.kind.phenomenon,
            words=each.found.kind.words,
            weight=each.found.kind.weight,
            kind=each.said_by,
            text=each.found.text,
            from_at=each.window.start_at,
            until_at=each.window.end_at if each.ends else None,
            runway=each.found.runway,
        )
        for each in gravest_first
    )
