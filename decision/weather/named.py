"""Named groups: the only words by which weather that was seen to be bad counts as better.

A full set (FM) and a change at a stated time (BECMG AT) count from their time, every other change
from its end. A base that was written before, a TEMPO, a PROB and silence improve nothing. What was
seen stands until a later named group says something better of the same element.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Final

from decision.weather.claims import AXES, hidden_in, speaks_of
from decision.weather.fold import known_ceiling_ft
from decision.weather.report import Element, Elements, Period, PeriodKind
from decision.weather.use import Counts, Nature, Reading, group_of, use_of
from decision.windows import Window

NAMING: Final = frozenset({PeriodKind.FM, PeriodKind.BECMG})


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A group that replaces what was before it for good, from the instant that counts.

    `speaks_of`: the elements that it names and that can be read.
    """

    at: datetime
    kind: str
    text: str
    said: Elements
    speaks_of: frozenset[Element]


def named_in(
    periods: Sequence[Period], *, within: Window, reading: Reading, kind: str | None = None
) -> tuple[Named, ...]:
    """The named groups that begin to count in a window, by their time.

    `kind`: what they are called, where not by their own kind. A change that a full set overtakes
    before its end never counts. Source: data/tables/forecast_use.csv, column improvement.
    """
    sets_at = [each.start_at for each in periods if each.kind is PeriodKind.FM and each.start_at]
    found = []
    for period in periods:
        at = _counts_at(period, reading)
        if at is None or not within.start_at <= at < within.end_at:
            continue
        if any(_overtakes(new_at, period, at) for new_at in sets_at):
            continue
        found.append(
            Named(
                at=at,
                kind=kind or period.kind,
                text=period.raw,
                said=period.elements,
                speaks_of=frozenset(
                    axis
                    for axis in AXES
                    if speaks_of(period, axis) and hidden_in(period, axis) is None
                ),
            )
        )
    return tuple(sorted(found, key=lambda each: (each.at, each.text)))


def _counts_at(period: Period, reading: Reading) -> datetime | None:
    """From when a group improves; None if it never does."""
    if period.kind not in NAMING:
        return None
    improvement = use_of(reading, group_of(period), Nature.PERSISTENT).improvement
    return period.end_at if improvement is Counts.FROM_END else period.start_at


def _overtakes(new_at: datetime, period: Period, at: datetime) -> bool:
    """Whether a full set begins inside a change that counts from its end."""
    return period.start_at is not None and period.start_at < new_at < at


def improves(named: Named, element: Element, before: Elements) -> bool:
    """Whether a named group says something better of an element than was said before it.

    Winds have no better or worse without a runway, nor have two kinds of weather: there another
    word is enough, since what is named is judged in its turn.
    """
    return element in named.speaks_of and _BETTER[element](named.said, before)


def _more_visibility(said: Elements, before: Elements) -> bool:
    now_m = said.visibility.worst_metres if said.visibility else None
    then_m = before.visibility.worst_metres if before.visibility else None
    return now_m is not None and (then_m is None or now_m > then_m)


def _higher_ceiling(said: Elements, before: Elements) -> bool:
    now_ft, then_ft = known_ceiling_ft(said), known_ceiling_ft(before)
    return now_ft is not None and (then_ft is None or now_ft > then_ft)


def _another_wind(said: Elements, before: Elements) -> bool:
    return said.wind is not None and (before.wind is None or said.wind.raw != before.wind.raw)


def _other_weather(said: Elements, before: Elements) -> bool:
    """A group that names no weather has none of what was before; a full set names all of it."""
    then = {group.raw for group in before.weather or ()}
    return bool(then - {group.raw for group in said.weather or ()})


_BETTER: Final[Mapping[Element, Callable[[Elements, Elements], bool]]] = MappingProxyType(
    {
        Element.VISIBILITY: _more_visibility,
        Element.CLOUD: _higher_ceiling,
        Element.WIND: _another_wind,
        Element.WEATHER: _other_weather,
    }
)


def lifted_at(
    element: Element, before: Elements, *, seen_at: datetime, sources: Iterable[Sequence[Named]]
) -> datetime | None:
    """When the first named group after it improves on what was seen; None: none does.

    `sources`: the named groups of each report that speaks. Where several of them stand side by
    side, only what all of them improve is better, and only from the last of them.
    """
    firsts = [_first(element, before, seen_at, named) for named in sources]
    known = [at for at in firsts if at is not None]
    return max(known) if known and len(known) == len(firsts) else None


def _first(
    element: Element, before: Elements, seen_at: datetime, named: Sequence[Named]
) -> datetime | None:
    later = (each for each in named if each.at > seen_at)
    return next((each.at for each in later if improves(each, element, before)), None)


def earliest(instants: Iterable[datetime | None]) -> datetime | None:
    """The first of the instants that there are."""
    return min((at for at in instants if at is not None), default=None)


def elements_improved(named: Named, before: Iterable[Elements]) -> Iterator[Element]:
    """The elements of which a group says something better than any of what was said before."""
    earlier = tuple(before)
    for axis in AXES:
        if any(improves(named, axis, each) for each in earlier):
            yield axis
