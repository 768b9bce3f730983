"""Arrival windows against reports and forecasts: when the weather allows it.

For each place what is foretold of its visibility (a step of equal ratios), its minimum with the
ground below it hatched, and one row for each window in which a course arrives. What governs is
quoted as received.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import datetime, timedelta
from math import log10
from typing import Final

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from decision.brief.layout import clock_down
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
LEAST_M: Final = 100.0
MOST_M: Final = 10_000.0
MOST_WINDOWS: Final = 4
WINDOWS_ON_PAPER: Final = 2
FAR_ABOVE: Final = 4.0  # minima; such a place shrinks to a row of words
QUOTED_ROOM_PX: Final = 40.0
QUOTE_PX: Final = 20.0  # above a line that it stands on
MONOSPACE_PX: Final = 15.8  # letters of 12 px that are all as wide
CAPITALS_PX: Final = 17.5  # reports are written in capitals
BOLD_PX: Final = 15.5  # what is chosen is set bold, which is wider
UNKNOWN_TEXT: Final = "visibility not known"


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
    """What is foretold from one moment to another."""

    start: datetime
    end: datetime
    metres: float | None
    text: str


class PlaceShown(Struct, frozen=True, kw_only=True):
    """A place with its minimum, what is foretold and when courses arrive there."""

    icao: str
    approach: str
    minimum_m: float | None
    governs: str
    steps: tuple[ForetoldStep, ...]
    windows: tuple[ArrivalWindow, ...]

    @property
    def far_above(self) -> bool:
        """Whether a row of words says all that a plot would."""
        known = [each.metres for each in self.steps]
        return (
            self.minimum_m is not None
            and bool(known)
            and all(metres is not None and metres >= FAR_ABOVE * self.minimum_m for metres in known)
        )

    @property
    def height_px(self) -> float:
        """With its windows."""
        plot = WORDS_PX if self.far_above or not self.steps else PLOT_PX
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
            "Thick line: visibility or RVR that is foretold, in steps of equal ratios. Hatched"
            " ground: below the minimum. Windows: hatched with ✕, not legal; solid, legal;"
            " ▸ chosen.",
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
        first = mine[0]
        yield PlaceShown(
            icao=icao,
            approach=str(first["approach"]),
            minimum_m=_minimum_m(mine),
            governs=_governs(mine),
            steps=_steps(mine),
            windows=_windows(answer, icao),
        )


def _minimum_m(attempts: Sequence[Data]) -> float | None:
    found = [
        each["limit"]
        for attempt in attempts
        for each in attempt.get("minima") or ()
        if each["unit"] == "m" and each["limit"] is not None
    ]
    return max(found, default=None)


def _governs(attempts: Sequence[Data]) -> str:
    for attempt in attempts:
        seen = (attempt.get("weather") or {}).get("visibility")
        if seen:
            return ": ".join(part for part in (seen["text"], seen["why"]) if part)
    return UNKNOWN_TEXT


def _steps(attempts: Sequence[Data]) -> tuple[ForetoldStep, ...]:
    found: dict[str, ForetoldStep] = {}
    for attempt in attempts:
        for each in attempt.get("by_time") or ():
            step = ForetoldStep(
                start=datetime.fromisoformat(each["start"]),
                end=datetime.fromisoformat(each["end"]),
                metres=each["metres"],
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
        minimum = "not known" if place.minimum_m is None else f"{place.minimum_m:.0f} m"
        windows = ", ".join(
            f"{each.name} {each.start:%H:%M}Z to {each.end:%H:%M}Z"
            f"{' (chosen)' if each.chosen else '' if each.legal else ' (not legal)'}"
            for each in place.windows
        )
        told.append(
            f"{place.icao}, minimum {minimum}, governs {place.governs}; arrivals: {windows}"
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
        drawing.words((0, y + 33), fitting(_minimum(place), width), "small")
        y += head
        drawing.line([(decided, y), (decided, y + place.height_px - 6)], "upright")
        _place(drawing, place, y, x, (left, right), words_from=decided + 5)
        y += place.height_px
        drawing.line([(0, y - 6), (right, y - 6)], "grid")
    return drawing.markup()


def _minimum(place: PlaceShown) -> str:
    told = "not known" if place.minimum_m is None else f"{place.minimum_m:.0f} m"
    return f"visibility or RVR, minimum {told}"


def _place(
    drawing: Sheet, place: PlaceShown, y: float, x: Along, ends: Point, *, words_from: float
) -> None:
    """`words_from`: right of the moment of the decision, whose line words would cross."""
    _, right = ends
    if place.far_above or not place.steps:
        text = f"{place.governs}; far above the minimum" if place.far_above else place.governs
        drawing.words(
            (words_from, y + 18), fitting(text, right - words_from - 4, CAPITALS_PX), "halo"
        )
        below = y + WORDS_PX
    else:
        _plot(drawing, place, y, x, ends, words_from=words_from)
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
    drawing: Sheet, place: PlaceShown, y: float, x: Along, ends: Point, *, words_from: float
) -> None:
    left, right = ends
    top, foot = y + 10, y + PLOT_PX - 14

    def at(metres: float) -> float:
        share = log10(min(MOST_M, max(LEAST_M, metres)) / LEAST_M) / log10(MOST_M / LEAST_M)
        return foot - (foot - top) * share

    for metres, text in ((LEAST_M, "100"), (1_000.0, "1000"), (MOST_M, "10 km")):
        drawing.line([(left, at(metres)), (right, at(metres))], "grid")
        near = place.minimum_m is not None and abs(at(metres) - at(place.minimum_m)) < 14  # noqa: PLR2004
        if not near:
            drawing.words((left - 6, at(metres) + 5), text, "label", anchor="end")
    if place.minimum_m is not None:
        line = at(place.minimum_m)
        drawing.box((left, line), right - left, foot - line, "ground", hatched=True)
        drawing.line([(left, line), (right, line)], "required")
        drawing.words((right, line - 5), f"minimum {place.minimum_m:.0f} m", "strong", anchor="end")
    minimum = None if place.minimum_m is None else at(place.minimum_m)
    _steps_drawn(drawing, place.steps, x, at, (foot, minimum, words_from))


def _steps_drawn(
    drawing: Sheet,
    steps: Sequence[ForetoldStep],
    x: Along,
    at: Callable[[float], float],
    around: tuple[float, float | None, float],
) -> None:
    """What is foretold as one line; a gap with words where it is not known.

    `around`: the foot of the plot, the line of the minimum, and where words may begin.
    """
    foot, minimum, words_from = around
    points: list[Point] = []
    for step in steps:
        if step.metres is None:
            _flush(drawing, points)
            begins = max(x(step.start) + 4, words_from)
            drawing.words((begins, foot - 6), UNKNOWN_TEXT, "halo")
        else:
            points += [(x(step.start), at(step.metres)), (x(step.end), at(step.metres))]
    _flush(drawing, points)
    for step in steps:
        begins = max(x(step.start) + 4, words_from)
        room = x(step.end) - begins - 4
        if step.metres is not None and room > QUOTED_ROOM_PX:
            y = at(step.metres)
            struck = minimum is not None and y - QUOTE_PX < minimum < y
            below = y < at(MOST_M) + 24 or struck
            place = (begins, y + (16 if below else -6))
            drawing.words(place, fitting(step.text, room, MONOSPACE_PX), "quoted")


def _flush(drawing: Sheet, points: list[Point]) -> None:
    if points:
        drawing.line(points, "flown")
        points.clear()


def _table(places: Sequence[PlaceShown]) -> NumberTable:
    rows: list[tuple[str, ...]] = []
    for place in places:
        minimum = "not known" if place.minimum_m is None else f"{place.minimum_m:.0f}"
        rows += [
            (
                place.icao,
                each.name,
                f"{each.start:%H:%M}Z",
                f"{each.end:%H:%M}Z",
                minimum,
                place.governs,
                YES_NO[each.legal],
            )
            for each in place.windows
        ]
    return NumberTable(
        caption="Windows in which courses arrive, with what governs there.",
        heads=("place", "course", "from", "until", "minimum, m", "governs", "legal"),
        rows=tuple(rows),
    )
