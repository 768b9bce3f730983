"""Claims: what one group of words says about one element, over one span of time.

A forecast becomes claims once. A change that runs makes two claims overlap, the old one to its end
and the new one from its start, so that the worst of the claims that touch a window is exactly
"deterioration from the start, improvement from the end". A claim that `covers` is enough to know
the element by; the others (overlays, old observations) can only make it worse.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from msgspec import Struct

from decision.weather.phenomena import RunwayEffect, nature_of, runway_effect
from decision.weather.readings import Disregarded, Governing
from decision.weather.report import Element, Elements, Period, PeriodKind, Report
from decision.weather.use import (
    OVERLAY_GROUPS,
    Counts,
    Nature,
    Reading,
    Use,
    group_of,
    use_of,
)
from decision.windows import Window

AXES: Final = (Element.VISIBILITY, Element.CLOUD, Element.WIND, Element.WEATHER)
"""The elements that a forecast speaks of."""

_SAID: Final[Mapping[Element, Callable[[Elements], object]]] = MappingProxyType(
    {
        Element.VISIBILITY: lambda said: said.visibility,
        Element.CLOUD: lambda said: said.ceiling,
        Element.WIND: lambda said: said.wind,
        Element.WEATHER: lambda said: said.weather,
    }
)


FULL_SETS: Final = frozenset({PeriodKind.BASE, PeriodKind.FM})
"""Groups that replace everything before them."""


class Voice(StrEnum):
    """Who says it: what was seen, seen and continued by its trend, the trend, or a forecast."""

    SEEN = "seen"
    CONTINUED = "continued"
    TREND = "trend"
    FORECAST = "forecast"


REPORTED: Final = frozenset({Voice.SEEN, Voice.CONTINUED})


class Claim(Struct, frozen=True, kw_only=True, gc=False):
    """One group on one element, over a window.

    `hidden`: why a part of what it says on the element cannot be relied on; None if all was read.
    `main`: not an overlay. `unseen`: names of the sensors that an automatic station lacks.
    `begun_before`: heard only in windows that begin before this; None: in any. `report`: the text
    of the observation that it comes from; empty for what was said by voice, and for forecasts.
    """

    element: Element
    window: Window
    said: Elements
    governing: Governing
    covers: bool
    main: bool = True
    gust_counts: bool = True
    hidden: str | None = None
    unseen: frozenset[str] = frozenset()
    voice: Voice = Voice.FORECAST
    begun_before: datetime | None = None
    report: str = ""

    def touches(self, window: Window) -> bool:
        """Whether it speaks of a part of a window."""
        late = self.begun_before is not None and window.start_at >= self.begun_before
        return not late and self.window.overlaps(window)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimSetting:
    """A claim disregarded as a whole, and the window in which it would have spoken."""

    window: Window
    disregarded: Disregarded


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """A main-body group on one element: speaks from `start_at`, alone from `settled_at`."""

    said: Elements
    governing: Governing
    start_at: datetime
    settled_at: datetime
    gust_counts: bool = True
    hidden: str | None = None
    unseen: frozenset[str] = frozenset()


def clock(at: datetime) -> str:
    """An instant as text: hour and minute."""
    return f"{at.hour:02d}{at.minute:02d}Z"


def span(start_at: datetime, end_at: datetime) -> Window | None:
    """A window, or None if it would be empty."""
    return Window(start_at, end_at) if start_at < end_at else None


def speaks_of(period: Period, element: Element) -> bool:
    """Whether a group names an element; one with anything unread may have named every element."""
    named = _SAID[element](period.elements) is not None
    return named or element in period.elements.unknown or bool(period.unread)


def hidden_in(period: Period, element: Element) -> str | None:
    """Why a group cannot be relied on for an element, or None."""
    if period.unread:
        return f"{' '.join(period.unread)} in '{period.raw}' cannot be read"
    if element in period.elements.unknown:
        return f"the {element} in '{period.raw}' is not known"
    return None


def run_claims(
    element: Element,
    head: Statement,
    changes: Sequence[Mapping[Element, Statement]],
    run: Window,
) -> Iterator[Claim]:
    """The claims of a head and of the changes after it, inside the run until the next full set.

    Each holds until a later one has settled, and at least until it has settled itself.
    """
    statements = [head, *(change[element] for change in changes if element in change)]
    for index, each in enumerate(statements):
        later = [other.settled_at for other in statements[index + 1 :]]
        until_at = max(each.settled_at, min(later, default=run.end_at))
        window = span(max(each.start_at, run.start_at), min(until_at, run.end_at))
        if window is not None:
            yield Claim(
                element=element,
                window=window,
                said=each.said,
                governing=each.governing,
                covers=True,
                gust_counts=each.gust_counts,
                hidden=each.hidden,
                unseen=each.unseen,
            )


def changes_in(
    periods: Iterable[Period], run: Window, *, opens_at: datetime, reading: Reading
) -> list[Mapping[Element, Statement]]:
    """The BECMG groups that begin inside a run, by their start: none before the forecast opens."""
    begun = [
        (max(period.start_at, opens_at), period)
        for period in periods
        if period.kind is PeriodKind.BECMG and period.start_at is not None
    ]
    return [
        _change(period, start_at, run, reading)
        for start_at, period in sorted(begun, key=lambda pair: pair[0])
        if start_at in run
    ]


def _change(
    period: Period, start_at: datetime, run: Window, reading: Reading
) -> Mapping[Element, Statement]:
    use = use_of(reading, group_of(period), Nature.PERSISTENT)
    end_at = period.end_at or run.end_at
    settled_at = max(start_at, end_at) if use.improvement is Counts.FROM_END else start_at
    why = f"a deterioration counts from {clock(start_at)}, an improvement from {clock(settled_at)}"
    return {
        element: each
        for element, each in _statements(period, start_at, settled_at, use, why).items()
        if speaks_of(period, element)
    }


def _statements(
    period: Period, start_at: datetime, settled_at: datetime, use: Use, why: str
) -> dict[Element, Statement]:
    """What a main-body group says on each element, named or not."""
    governing = Governing(kind=period.kind, text=period.raw, why=why)
    return {
        element: Statement(
            said=period.elements,
            governing=governing,
            start_at=start_at,
            settled_at=settled_at,
            gust_counts=use.gust_counts,
            hidden=hidden_in(period, element),
        )
        for element in AXES
    }


def overlay(
    period: Period, *, valid: Window, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[ClaimSetting, ...]]:
    """What a TEMPO, INTER or PROB group claims, or that it is disregarded, and why."""
    window = _overlaid(period, valid)
    if window is None:
        return (), ()
    nature = nature_of(period)
    use = use_of(reading, group_of(period), nature)
    left: tuple[ClaimSetting, ...] = ()
    if use.deterioration is Counts.DISREGARDED:
        left = (ClaimSetting(window=window, disregarded=_disregarded(period, nature)),)
    governing = Governing(kind=period.kind, text=period.raw, why=_why(reading))
    made = tuple(
        Claim(
            element=element,
            window=window,
            said=period.elements,
            governing=governing,
            covers=False,
            main=False,
            gust_counts=use.gust_counts,
            hidden=hidden_in(period, element),
        )
        for element in AXES
        if speaks_of(period, element) and use.of(element) is not Counts.DISREGARDED
    )
    return made, left


def _overlaid(period: Period, valid: Window) -> Window | None:
    """The time of an overlay; one whose end is not after its start may speak at any time after."""
    start_at = max(period.start_at or valid.start_at, valid.start_at)
    end_at = period.end_at
    if end_at is None or (period.start_at is not None and end_at <= period.start_at):
        end_at = valid.end_at
    return span(start_at, min(end_at, valid.end_at))


def _why(reading: Reading) -> str:
    if reading is Reading.CONDITIONAL:
        return "conditional language counts at its worst"
    return "a lasting deterioration counts for its whole period"


def _disregarded(period: Period, nature: Nature) -> Disregarded:
    if nature is Nature.TRANSIENT:
        why = "a transient or showery deterioration is not applicable"
    else:
        why = f"{period.kind} may be disregarded"
    weather = period.elements.weather or ()
    return Disregarded(
        text=period.raw,
        why=why,
        thunderstorm=any(group.thunderstorm for group in weather),
        precipitation=runway_effect(weather) is not RunwayEffect.NONE,
    )


def is_overlay(period: Period) -> bool:
    """Whether a group stands beside the main body, or cannot be placed in it for lack of a time."""
    return period.kind in OVERLAY_GROUPS or period.start_at is None


def forecast_claims(
    report: Report, *, valid: Window, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[ClaimSetting, ...]]:
    """The claims of a forecast inside (a part of) its validity, and what is disregarded."""
    claims, settings = group_claims(report.periods, valid=valid, reading=reading)
    return (*claims, *_stray(report, valid)), settings


def group_claims(
    periods: Sequence[Period], *, valid: Window, reading: Reading
) -> tuple[tuple[Claim, ...], tuple[ClaimSetting, ...]]:
    """The claims of full sets with the changes after them, and of overlays."""
    claims: list[Claim] = []
    settings: list[ClaimSetting] = []
    for head, run in runs(periods, valid):
        use = use_of(reading, group_of(head), Nature.PERSISTENT)
        why = f"the main forecast from {clock(run.start_at)}"
        first = _statements(head, run.start_at, run.start_at, use, why)
        changes = changes_in(periods, run, opens_at=valid.start_at, reading=reading)
        for element in AXES:
            claims += run_claims(element, first[element], changes, run)
    for period in filter(is_overlay, periods):
        made, left = overlay(period, valid=valid, reading=reading)
        claims += made
        settings += left
    return tuple(claims), tuple(settings)


def runs(periods: Sequence[Period], valid: Window) -> Iterator[tuple[Period, Window]]:
    """Each full set of conditions with the time until the next one."""
    heads = sorted(
        (period.start_at, index, period)
        for index, period in enumerate(periods)
        if period.kind in FULL_SETS and period.start_at is not None
    )
    for index, (start_at, _, period) in enumerate(heads):
        end_at = heads[index + 1][0] if index + 1 < len(heads) else valid.end_at
        run = span(max(start_at, valid.start_at), min(end_at, valid.end_at))
        if run is not None:
            yield period, run


def _stray(report: Report, valid: Window) -> Iterator[Claim]:
    """Words that belong to no group may have meant anything at any time."""
    placed = {word for period in report.periods for word in period.unread}
    stray = [word for word in report.unread if word not in placed]
    if not stray:
        return
    text = " ".join(stray)
    for element in AXES:
        yield Claim(
            element=element,
            window=valid,
            said=Elements(),
            governing=Governing(kind=report.kind, text=text, why="cannot be read"),
            covers=False,
            main=False,
            hidden=f"{text} in the forecast cannot be read",
        )
