"""Arrival windows against reports and forecasts: when the weather allows it.

For each place what is foretold of its visibility or its ceiling, whichever comes nearer to its
minimum (a step of equal ratios), that minimum with the ground below it hatched, and one row for
each window in which a course arrives. What governs is quoted as received.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from math import inf, log10
from typing import Final

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from decision.brief.layout import clock_down
from decision.weather.report import CeilingState
from service.page.drawing import Point, Sheet, fits, fitting
from service.page.figures.figure import (
    MIDDLE_PX,
    NARROW_PX,
    WIDE_PX,
    YES_NO,
    Data,
    NumberTable,
    PageFigure,
    attempts_of,
    bar_of,
    mark_of,
)

HERE: Final[dict[str, str]] = {
    "approach_then_divert": "approach now",
    "hold_then_approach": "hold, then approach",
    "second_approach": "second approach",
    "commit_to_land": "land, no way out",
}
"""Arrivals at the destination by the kind of their course."""
THERE: Final[dict[str, str]] = {
    "approach_then_divert": "after a miss",
    "hold_then_approach": "after hold and miss",
    "divert_now": "leave now",
}
FROM_CLEAN_POINT: Final = "leave at clean point"
NAME_PX: Final = {NARROW_PX: 0, MIDDLE_PX: 0, WIDE_PX: 250}
PLOT_PX: Final = 104
WINDOW_PX: Final = 22
WORDS_PX: Final = 30
TOP_PX: Final = 26
FOOT_PX: Final = 40
MOST_WINDOWS: Final = 4
WINDOWS_ON_PAPER: Final = 2
FAR_ABOVE: Final = 4.0  # minima; such a place shrinks to a row of words
QUOTED_ROOM_PX: Final = 40.0
QUOTE_PX: Final = 20.0  # above a line that it stands on
MONOSPACE_PX: Final = 15.8  # letters of 12 px that are all as wide
CAPITALS_PX: Final = 17.5  # reports are written in capitals
APART_PX: Final = 14  # a tick nearer to the minimum is left out
BOLD_PX: Final = 15.5  # what is chosen is set bold, which is wider


Along = Callable[[datetime], float]
"""From a moment to its place on the axis."""


class ArrivalWindow(Struct, frozen=True, kw_only=True):
    """One arrival: from, until, whose course, and whether that keeps the rules."""

    start: datetime
    end: datetime
    name: str
    legal: bool | None
    chosen: bool


class ForetoldStep(Struct, frozen=True, kw_only=True):
    """What is foretold from one moment to another, in the unit of its axis; None: not known."""

    start: datetime
    end: datetime
    value: float | None
    text: str


class ElementAxis(Struct, frozen=True, kw_only=True):
    """What may be drawn upright: its words, its unit, and the ticks from the least to the most."""

    element: str
    words: str
    unit: str
    ticks: tuple[tuple[float, str], ...]

    @property
    def least(self) -> float:
        """The foot."""
        return self.ticks[0][0]

    @property
    def most(self) -> float:
        """The top: what is more is drawn there."""
        return self.ticks[-1][0]

    @property
    def unknown(self) -> str:
        """Where nothing is known of it."""
        return f"{self.element} not known"


class ElementShown(Struct, frozen=True, kw_only=True):
    """What is foretold of one element at a place, beside its minimum; what governs, quoted."""

    axis: ElementAxis
    minimum: float | None
    governs: str
    steps: tuple[ForetoldStep, ...]

    @property
    def minimum_text(self) -> str:
        """With its unit."""
        return "not known" if self.minimum is None else f"{self.minimum:.0f} {self.axis.unit}"

    @property
    def nearness(self) -> float:
        """The least that is foretold, in minima; nothing is nearer than what is not known."""
        if self.minimum is None or not self.steps:
            return inf
        least = min(-inf if each.value is None else each.value for each in self.steps)
        return least / self.minimum

    @property
    def far_above(self) -> bool:
        """Whether a row of words says all that a plot would."""
        return self.minimum is not None and bool(self.steps) and self.nearness >= FAR_ABOVE


class PlaceShown(Struct, frozen=True, kw_only=True):
    """A place with what is nearest to its minimum there, and when courses arrive."""

    icao: str
    approach: str
    shown: ElementShown
    windows: tuple[ArrivalWindow, ...]

    @property
    def in_words(self) -> bool:
        """Whether nothing is plotted."""
        return self.shown.far_above or not self.shown.steps

    @property
    def height_px(self) -> float:
        """With its windows."""
        plot = WORDS_PX if self.in_words else PLOT_PX
        return plot + len(self.windows) * WINDOW_PX + 12


def windows_figure(answer: Data) -> PageFigure | None:
    """None where no attempt has a window."""
    places = [*_places(answer)]
    if not places:
        return None
    reach = _reach(answer, places)
    said = _said(places)
    return PageFigure(
        name="windows",
        title="Arrival windows against reports and forecasts",
        said=said,
        drawings=tuple(
            _drawn(answer, places, reach, width=width, said=said)
            for width in (NARROW_PX, MIDDLE_PX, WIDE_PX)
        ),
        table=_table(places),
        paper=_on_paper(answer, places, reach, said),
        notes=(
            "Thick line: what is foretold of visibility or ceiling, whichever comes nearer to its"
            " minimum, in steps of equal ratios. Hatched ground: below the minimum. Windows:"
            " hatched with ✕, not legal; solid, legal; ▸ chosen.",
        ),
    )


def _on_paper(
    answer: Data, places: Sequence[PlaceShown], reach: tuple[datetime, datetime], said: str
) -> Markup:
    """The destination and the place of the chosen course alone, with fewer windows."""
    first = places[:1]
    others = [
        each for each in places[1:] if any(window.chosen for window in each.windows)
    ] or places[1:2]
    shown = [
        replace(each, windows=each.windows[:WINDOWS_ON_PAPER]) for each in (*first, *others[:1])
    ]
    return _drawn(answer, shown, reach, width=NARROW_PX, said=said, name="windows-paper")


def _places(answer: Data) -> Iterator[PlaceShown]:
    attempts = [*attempts_of(answer)]
    here = [each for each in attempts if each["role"] in ("missed", "committed")]
    for icao in dict.fromkeys(each["aerodrome"] for each in (*here, *attempts)):
        mine = [each for each in attempts if each["aerodrome"] == icao]
        yield PlaceShown(
            icao=icao,
            approach=str(mine[0]["approach"]),
            shown=min(  # the first one where both are as near
                _shown(VISIBILITY, mine, _visibility(mine)),
                _shown(CEILING, mine, _ceiling(answer, icao)),
                key=lambda each: each.nearness,
            ),
            windows=_windows(answer, icao),
        )


VISIBILITY: Final = ElementAxis(
    element="visibility",
    words="visibility or RVR",
    unit="m",
    ticks=((100.0, "100"), (1_000.0, "1000"), (10_000.0, "10 km")),
)
CEILING: Final = ElementAxis(
    element="ceiling",
    words="ceiling",
    unit="ft",
    ticks=((100.0, "100"), (1_000.0, "1000"), (10_000.0, "10000")),
)

Foretold = Iterator[tuple[Data, float | None]]
"""What groups say, each with its figure."""


def _visibility(attempts: Sequence[Data]) -> Foretold:
    """In the time of each, with its metres."""
    for attempt in attempts:
        for each in attempt.get("by_time") or ():
            yield each, each["metres"]


def _ceiling(answer: Data, icao: str) -> Foretold:
    """At that place, with its feet; none at all is above every height."""
    told = (answer.get("reports") or {}).get(icao) or {}
    for each in told.get("ceiling_by_time") or ():
        yield each, inf if each["state"] == CeilingState.NONE else each["feet"]


def _shown(axis: ElementAxis, attempts: Sequence[Data], foretold: Foretold) -> ElementShown:
    limits = [
        each["limit"]
        for attempt in attempts
        for each in attempt.get("minima") or ()
        if each["unit"] == axis.unit and each["limit"] is not None
    ]
    return ElementShown(
        axis=axis,
        minimum=max(limits, default=None),
        governs=_governs(attempts, axis),
        steps=_steps(foretold),
    )


def _governs(attempts: Sequence[Data], axis: ElementAxis) -> str:
    for attempt in attempts:
        seen = (attempt.get("weather") or {}).get(axis.element)
        if seen:
            return ": ".join(part for part in (seen["text"], seen["why"]) if part)
    return axis.unknown


def _steps(foretold: Foretold) -> tuple[ForetoldStep, ...]:
    found: dict[str, ForetoldStep] = {}
    for each, value in foretold:
        step = ForetoldStep(
            start=datetime.fromisoformat(each["start"]),
            end=datetime.fromisoformat(each["end"]),
            value=value,
            text=each["text"],
        )
        known = found.get(each["start"])
        if known is None or step.end > known.end:
            found[each["start"]] = step
    return tuple(sorted(found.values(), key=lambda each: each.start))


def _windows(answer: Data, icao: str) -> tuple[ArrivalWindow, ...]:
    found = []
    for course in answer["courses"]:
        mine = [each for each in course["attempts"] if each["aerodrome"] == icao]
        if mine:
            window = mine[-1]["window"]
            found.append(
                ArrivalWindow(
                    start=datetime.fromisoformat(window["start"]),
                    end=datetime.fromisoformat(window["end"]),
                    name=_name(course, icao),
                    legal=course["legal"],
                    chosen=course["course"] == answer["action"]["course"],
                )
            )
    found.sort(key=lambda each: (not each.chosen, each.start, each.legal is not True))
    once: dict[tuple[str, str], ArrivalWindow] = {}
    for each in found:
        once.setdefault((each.name, f"{each.start:%H:%M}"), each)
    return tuple(once.values())[:MOST_WINDOWS]


def _name(course: Data, icao: str) -> str:
    """How the course comes to that place."""
    kind = str(course["kind"])
    if course.get("from") == "last_clean_point":
        return FROM_CLEAN_POINT
    if course["aerodrome"] == icao and kind in THERE:
        return THERE[kind]
    return HERE[kind]


def _reach(answer: Data, places: Sequence[PlaceShown]) -> tuple[datetime, datetime]:
    """From the decision to the end of the last window, in whole quarters of an hour."""
    ends = [window.end for place in places for window in place.windows]
    start = datetime.fromisoformat(answer["as_of"])
    end = max(ends, default=start + timedelta(hours=1))
    start -= timedelta(minutes=start.minute % 15 or 15, seconds=start.second)
    return start, end + timedelta(minutes=15 - end.minute % 15)


def _said(places: Sequence[PlaceShown]) -> str:
    told = []
    for place in places:
        shown = place.shown
        windows = ", ".join(
            f"{each.name} {each.start:%H:%M}Z to {each.end:%H:%M}Z"
            f"{' (chosen)' if each.chosen else '' if each.legal else ' (not legal)'}"
            for each in place.windows
        )
        told.append(
            f"{place.icao}, minimum {shown.minimum_text}, governs {shown.governs};"
            f" arrivals: {windows}"
        )
    return f"{'. '.join(told)}."


def _drawn(
    answer: Data,
    places: Sequence[PlaceShown],
    reach: tuple[datetime, datetime],
    *,
    width: int,
    said: str,
    name: str = "windows",
) -> Markup:
    start, end = reach
    wide = width == WIDE_PX
    head = 0 if wide else 38
    height = TOP_PX + sum(each.height_px + head for each in places) + FOOT_PX
    drawing = Sheet(name=name, width_px=width, height_px=height, said=said)
    left, right = NAME_PX[width] + 52.0, width - 24.0
    seconds = (end - start).total_seconds()

    def x(at: datetime) -> float:
        share = (at - start).total_seconds() / seconds
        return left + (right - left) * min(1.0, max(0.0, share))

    foot = height - FOOT_PX
    quarters = int(seconds // 900)
    every = max(1, -(-quarters // (12 if wide else 4)))
    for index in range(0, quarters + 1, every):
        at = start + timedelta(minutes=15 * index)
        drawing.line([(x(at), TOP_PX), (x(at), foot)], "grid")
        drawing.words((x(at), foot + 18), f"{at:%H:%M}", "label", anchor="middle")
    drawing.words((right, height - 6), "time, UTC", "label", anchor="end")
    decided = x(datetime.fromisoformat(answer["as_of"]))
    drawing.line([(decided, TOP_PX - 8), (decided, TOP_PX)], "upright")
    drawing.words((decided, 14), f"decided {clock_down(answer['as_of'])}", "strong")
    y = float(TOP_PX)
    for place in places:
        drawing.words((0, y + 16), f"{place.icao}, {place.approach}", "strong")
        drawing.words((0, y + 33), fitting(_minimum(place.shown), width), "small")
        y += head
        drawing.line([(decided, y), (decided, y + place.height_px - 6)], "upright")
        _place(drawing, place, y, x, (left, right), words_from=decided + 5)
        y += place.height_px
        drawing.line([(0, y - 6), (right, y - 6)], "grid")
    return drawing.markup()


def _minimum(shown: ElementShown) -> str:
    return f"{shown.axis.words}, minimum {shown.minimum_text}"


def _place(
    drawing: Sheet, place: PlaceShown, y: float, x: Along, ends: Point, *, words_from: float
) -> None:
    """`words_from`: right of the moment of the decision, whose line words would cross."""
    _, right = ends
    shown = place.shown
    if place.in_words:
        text = f"{shown.governs}; far above the minimum" if shown.far_above else shown.governs
        drawing.words(
            (words_from, y + 18), fitting(text, right - words_from - 4, CAPITALS_PX), "halo"
        )
        below = y + WORDS_PX
    else:
        _plot(drawing, shown, y, x, ends, words_from=words_from)
        below = y + PLOT_PX
    for row, each in enumerate(place.windows):
        top = below + row * WINDOW_PX
        kind = bar_of(each.legal, chosen=each.chosen)
        drawing.box(
            (x(each.start), top + 4),
            max(3.0, x(each.end) - x(each.start)),
            12,
            kind,
            hatched=kind == "bar-broken",
        )
        mark = mark_of(each.legal, chosen=each.chosen)
        text = f"{mark}{each.name} {each.start:%H:%M}"
        word = "chosen-word" if each.chosen else "halo"
        before, after = x(each.start) - 8, drawing.width_px - x(each.end) - 8
        if not fits(text, max(before, after), BOLD_PX):
            text = fitting(f"{mark}{each.name}", max(before, after), BOLD_PX)  # the axis tells when
        if fits(text, after, BOLD_PX):
            drawing.words((x(each.end) + 6, top + 15), text, word)
        else:
            drawing.words((x(each.start) - 6, top + 15), text, word, anchor="end")


def _plot(
    drawing: Sheet, shown: ElementShown, y: float, x: Along, ends: Point, *, words_from: float
) -> None:
    left, right = ends
    axis = shown.axis
    top, foot = y + 10, y + PLOT_PX - 14

    def at(value: float) -> float:
        share = log10(min(axis.most, max(axis.least, value)) / axis.least)
        return foot - (foot - top) * share / log10(axis.most / axis.least)

    minimum = None if shown.minimum is None else at(shown.minimum)
    for value, text in axis.ticks:
        drawing.line([(left, at(value)), (right, at(value))], "grid")
        if minimum is None or abs(at(value) - minimum) >= APART_PX:
            drawing.words((left - 6, at(value) + 5), text, "label", anchor="end")
    if minimum is not None:
        drawing.box((left, minimum), right - left, foot - minimum, "ground", hatched=True)
        drawing.line([(left, minimum), (right, minimum)], "required")
        text = f"minimum {shown.minimum_text}"
        drawing.words((right, minimum - 5), text, "strong", anchor="end")
    _steps_drawn(drawing, shown, x, at, (foot, minimum, words_from))


def _steps_drawn(
    drawing: Sheet,
    shown: ElementShown,
    x: Along,
    at: Callable[[float], float],
    around: tuple[float, float | None, float],
) -> None:
    """What is foretold as one line; a gap with words where it is not known.

    `around`: the foot of the plot, the line of the minimum, and where words may begin.
    """
    foot, minimum, words_from = around
    points: list[Point] = []
    for step in shown.steps:
        if step.value is None:
            _flush(drawing, points)
            begins = max(x(step.start) + 4, words_from)
            drawing.words((begins, foot - 6), shown.axis.unknown, "halo")
        else:
            points += [(x(step.start), at(step.value)), (x(step.end), at(step.value))]
    _flush(drawing, points)
    for step in shown.steps:
        begins = max(x(step.start) + 4, words_from)
        room = x(step.end) - begins - 4
        if step.value is not None and room > QUOTED_ROOM_PX:
            y = at(step.value)
            struck = minimum is not None and y - QUOTE_PX < minimum < y
            below = y < at(shown.axis.most) + 24 or struck
            place = (begins, y + (16 if below else -6))
            drawing.words(place, fitting(step.text, room, MONOSPACE_PX), "quoted")


def _flush(drawing: Sheet, points: list[Point]) -> None:
    if points:
        drawing.line(points, "flown")
        points.clear()


def _table(places: Sequence[PlaceShown]) -> NumberTable:
    rows: list[tuple[str, ...]] = []
    for place in places:
        shown = place.shown
        rows += [
            (
                place.icao,
                each.name,
                f"{each.start:%H:%M}Z",
                f"{each.end:%H:%M}Z",
                shown.axis.words,
                shown.minimum_text,
                shown.governs,
                YES_NO[each.legal],
            )
            for each in place.windows
        ]
    return NumberTable(
        caption="Windows in which courses arrive, with what governs there.",
        heads=("place", "course", "from", "until", "element", "minimum", "governs", "legal"),
        rows=tuple(rows),
    )
