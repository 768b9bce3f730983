"""Line charts as SVG, written by hand: axes, round ticks, units, a legend, markers, words.

One function, `line_chart`, and the three values that it takes. A figure carries its own colours for
light and dark backgrounds; a series is told apart by its dash and marker as well as its colour.
Same input, same bytes: figures are committed and compared by tests.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from html import escape
from typing import Final

Point = tuple[float, float]

WIDTH_PX: Final = 720
HEIGHT_PX: Final = 420
LEFT_PX, RIGHT_PX, TOP_PX, BOTTOM_PX = 72, 20, 40, 52  # room for title, ticks and axis names
LEGEND_ROW_PX: Final = 20
LEGEND_SWATCH_PX: Final = 34
LEGEND_GAP_PX: Final = 22
CHARACTER_PX: Final = 6.6  # mean advance of the 12 px sans-serif used below, taken generously
TICK_PX: Final = 5
MARKER_PX: Final = 4.0
TICKS_WANTED: Final = 7
ROUND_STEPS: Final = (1.0, 2.0, 5.0, 10.0)

# Six hues of similar weight, readable on their own background; more series repeat them and are
# told apart by the dash.
LIGHT: Final = ("#0b5fa5", "#b3460b", "#2d7a3a", "#7a3fa0", "#8a6a00", "#5c6670")
DARK: Final = ("#6cb6ff", "#ff9a5c", "#7fd08b", "#cfa2f0", "#e3c14f", "#b4bec8")
DASHES: Final = ("", "7 4", "2 3", "10 3 2 3", "14 5", "4 2")

STYLE: Final = (
    "text{font:12px sans-serif;fill:var(--ink)}.title{font-weight:bold;font-size:14px}"
    ".end{text-anchor:end}.mid{text-anchor:middle}.paper{fill:var(--paper)}"
    ".grid{stroke:var(--grid);stroke-width:1}.axis{stroke:var(--ink);stroke-width:1;fill:none}"
    ".line{fill:none;stroke-width:2;stroke-linejoin:round}"
)


class Dot(StrEnum):
    """Shape at each point of a series."""

    NONE = "none"
    CIRCLE = "circle"
    SQUARE = "square"
    DIAMOND = "diamond"
    TRIANGLE = "triangle"
    CROSS = "cross"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartAxis:
    """Name and unit of an axis; it reaches from `low` to `high`, or as far as the points do."""

    name: str
    unit: str
    low: float | None = None
    high: float | None = None

    @property
    def title(self) -> str:
        """Name with unit, a pure number without."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Points joined by a line, or, with `joined` false, markers alone."""

    label: str
    points: tuple[Point, ...]
    marker: Dot = Dot.NONE
    joined: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Text in the plot, its middle at a point of the axes."""

    text: str
    at: Point


def line_chart(
    *, title: str, x: ChartAxis, y: ChartAxis, series: Sequence[Series], words: Sequence[Words] = ()
) -> str:
    """A complete SVG document.

    Raises: ValueError for no points, a point that is not finite, or one beyond a fixed axis.
    """
    placed = [point for one in series for point in one.points] + [w.at for w in words]
    frame = _Frame(
        x=_scale(x, [point[0] for point in placed]),
        y=_scale(y, [point[1] for point in placed]),
        legend=tuple(_legend_places(series)),
    )
    shown = ", ".join(one.label for one in series)
    body = [
        f"<title>{escape(title)}</title>",
        f"<desc>{escape(f'{y.title} over {x.title}: {shown}')}</desc>",
        f"<style>{STYLE}{_palette()}</style>",
        f'<rect class="paper" width="{WIDTH_PX}" height="{frame.height_px}"/>',
        f'<text class="title" x="{LEFT_PX}" y="24">{escape(title)}</text>',
        *_axes(frame, x=x, y=y),
        *(line for number, one in enumerate(series) for line in _drawn(frame, number, one)),
        *(_text(frame.at(w.at), w.text, kind="mid") for w in words),
        *(line for number, one in enumerate(series) for line in _entry(frame, number, one)),
    ]
    opening = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX} {frame.height_px}" '
        f'width="{WIDTH_PX}" height="{frame.height_px}" role="img">'
    )
    return "\n".join((opening, *body, "</svg>")) + "\n"


@dataclass(frozen=True, slots=True)
class _Scale:
    """Ticks of one axis; the first and the last are its ends."""

    ticks: tuple[float, ...]

    def share(self, value: float) -> float:
        """Where a value lies, 0 at the beginning and 1 at the end of the axis."""
        return (value - self.ticks[0]) / (self.ticks[-1] - self.ticks[0])

    def words(self, tick: float) -> str:
        """A tick as text, with the decimals that tell ticks apart."""
        step = self.ticks[1] - self.ticks[0]
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))  # 1e-9: a step of exactly 0.1
        return f"{tick:,.{decimals}f}".replace(",", "\u202f").replace("-", "\u2212")


def _scale(axis: ChartAxis, values: Sequence[float]) -> _Scale:
    """Round ticks around the values, or around the fixed ends of the axis."""
    if not values or not all(map(math.isfinite, values)):
        raise ValueError(f"{axis.name}: needs points, and finite ones")
    low = min(values) if axis.low is None else axis.low
    high = max(values) if axis.high is None else axis.high
    if min(values) < low or max(values) > high:
        raise ValueError(f"{axis.name}: a point lies beyond the axis {low:g} to {high:g}")
    span = high - low or abs(high) or 1.0
    power = 10.0 ** math.floor(math.log10(span / TICKS_WANTED))
    step = next(s * power for s in ROUND_STEPS if s * power * TICKS_WANTED >= span * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return _Scale(tuple(step * n for n in range(first, max(last, first + 1) + 1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where things are on the paper."""

    x: _Scale
    y: _Scale
    legend: tuple[Point, ...]

    @property
    def bottom_px(self) -> float:
        """The line of the x axis."""
        return HEIGHT_PX - BOTTOM_PX

    @property
    def height_px(self) -> int:
        """Height of the paper, legend included."""
        rows = {place[1] for place in self.legend}
        return HEIGHT_PX + LEGEND_ROW_PX * len(rows)

    def at(self, point: Point) -> Point:
        """The place of a point of the axes."""
        width, height = WIDTH_PX - LEFT_PX - RIGHT_PX, self.bottom_px - TOP_PX
        return (
            LEFT_PX + width * self.x.share(point[0]),
            self.bottom_px - height * self.y.share(point[1]),
        )


def _palette() -> str:
    light = "".join(f"--c{n}:{colour};" for n, colour in enumerate(LIGHT))
    dark = "".join(f"--c{n}:{colour};" for n, colour in enumerate(DARK))
    return (
        f"svg{{--ink:#1b1f24;--paper:#ffffff;--grid:#dde1e6;{light}}}"
        f"@media(prefers-color-scheme:dark)"
        f"{{svg{{--ink:#e6e9ed;--paper:#14181d;--grid:#343b44;{dark}}}}}"
    )


def _axes(frame: _Frame, *, x: ChartAxis, y: ChartAxis) -> Iterator[str]:
    """Grid, ticks and names of both axes."""
    left, right, bottom = LEFT_PX, WIDTH_PX - RIGHT_PX, frame.bottom_px
    for tick in frame.x.ticks:
        across = frame.at((tick, frame.y.ticks[0]))[0]
        yield _line((across, TOP_PX), (across, bottom), "grid")
        yield _text((across, bottom + TICK_PX + 13), frame.x.words(tick), kind="mid")
    for tick in frame.y.ticks:
        down = frame.at((frame.x.ticks[0], tick))[1]
        yield _line((left, down), (right, down), "grid")
        yield _text((left - TICK_PX - 2, down + 4), frame.y.words(tick), kind="end")
    yield f'<path class="axis" d="M{left} {TOP_PX}V{bottom:g}H{right}"/>'
    yield _text(((left + right) / 2, bottom + 40), x.title, kind="mid")
    middle = (TOP_PX + bottom) / 2
    turned = f'transform="rotate(-90 16 {middle:g})"'
    yield f'<text class="mid" x="16" y="{middle:g}" {turned}>{escape(y.title)}</text>'


def _drawn(frame: _Frame, number: int, series: Series) -> Iterator[str]:
    """Line and markers of one series."""
    places = [frame.at(point) for point in series.points]
    if series.joined:
        path = " ".join(f"{across:.1f},{down:.1f}" for across, down in places)
        yield f'<polyline class="line" {_stroke(number)} points="{path}"/>'
    yield from (_marker(place, number, series.marker) for place in places if _marked(series))


def _legend_places(series: Sequence[Series]) -> Iterator[Point]:
    """Where the entries of the legend begin: in rows under the plot."""
    across, down = float(LEFT_PX), float(HEIGHT_PX + 4)
    for one in series:
        width = LEGEND_SWATCH_PX + CHARACTER_PX * len(one.label) + LEGEND_GAP_PX
        if across > LEFT_PX and across + width > WIDTH_PX:
            across, down = float(LEFT_PX), down + LEGEND_ROW_PX
        yield across, down
        across += width


def _entry(frame: _Frame, number: int, series: Series) -> Iterator[str]:
    """A series' line of the legend."""
    across, down = frame.legend[number]
    end = across + LEGEND_SWATCH_PX - 6
    if series.joined:
        path = f"{across:.1f},{down:.1f} {end:.1f},{down:.1f}"
        yield f'<polyline class="line" {_stroke(number)} points="{path}"/>'
    if _marked(series):
        yield _marker(((across + end) / 2, down), number, series.marker)
    yield _text((across + LEGEND_SWATCH_PX, down + 4), series.label, kind="start")


def _marked(series: Series) -> bool:
    return series.marker is not Dot.NONE


def _colour(number: int) -> str:
    return f"var(--c{number % len(LIGHT)})"


def _stroke(number: int) -> str:
    """Colour and dash: the second round of colours starts at another dash."""
    dash = DASHES[(number + number // len(LIGHT)) % len(DASHES)]
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'style="stroke:{_colour(number)}"{dashed}'


def _marker(at: Point, number: int, marker: Dot) -> str:
    """One marker, drawn as a path around its middle."""
    r = MARKER_PX
    shapes = {
        Dot.CIRCLE: f"m{-r:g} 0a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0 {-2 * r:g} 0z",
        Dot.SQUARE: f"m{-r:g} {-r:g}h{2 * r:g}v{2 * r:g}h{-2 * r:g}z",
        Dot.DIAMOND: f"m0 {-r:g}l{r:g} {r:g}l{-r:g} {r:g}l{-r:g} {-r:g}z",
        Dot.TRIANGLE: f"m0 {-r:g}l{r:g} {2 * r:g}h{-2 * r:g}z",
        Dot.CROSS: f"m{-r:g} {-r:g}l{2 * r:g} {2 * r:g}m0 {-2 * r:g}l{-2 * r:g} {2 * r:g}",
    }
    colour = _colour(number)
    ink = f"fill:none;stroke:{colour};stroke-width:2" if marker is Dot.CROSS else f"fill:{colour}"
    return f'<path style="{ink}" d="M{at[0]:.1f} {at[1]:.1f}{shapes[marker]}"/>'


def _line(start: Point, end: Point, kind: str) -> str:
    ends = f'x1="{start[0]:.1f}" y1="{start[1]:.1f}" x2="{end[0]:.1f}" y2="{end[1]:.1f}"'
    return f'<line class="{kind}" {ends}/>'


def _text(at: Point, text: str, *, kind: str) -> str:
    return f'<text class="{kind}" x="{at[0]:.1f}" y="{at[1]:.1f}">{escape(text)}</text>'
