"""One SVG, drawn in its own pixels and never scaled: lines, boxes and words with classes.

No colour and no style stands in it: the page's style sheet knows light, dim and print. Hatching is
a pattern whose name is the drawing's own, since a page holds several.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import floor, log10
from typing import Final
from xml.etree.ElementTree import Element, SubElement, tostring

from markupsafe import Markup

from decision.legible import visible

Point = tuple[float, float]

CHARACTER_EM: Final = 0.46
"""Mean advance of a character of a sans-serif face [ASSUMED]."""
TEXT_PX: Final = 14
HATCH_PX: Final = 6


class Sheet:
    """What is drawn first lies behind what is drawn later."""

    def __init__(self, *, name: str, width_px: int, height_px: float, said: str) -> None:
        self.width_px = width_px
        self._hatch = f"hatch-{name}-{width_px}"
        self._root = Element(
            "svg",
            {
                "class": f"drawing w{width_px}",
                "width": str(width_px),
                "height": _px(height_px),
                "viewBox": f"0 0 {width_px} {_px(height_px)}",
                "role": "img",
                "aria-label": visible(said),
            },
        )
        pattern = SubElement(
            SubElement(self._root, "defs"),
            "pattern",
            {
                "id": self._hatch,
                "width": str(HATCH_PX),
                "height": str(HATCH_PX),
                "patternUnits": "userSpaceOnUse",
                "patternTransform": "rotate(45)",
            },
        )
        SubElement(pattern, "line", {"class": "hatching", "y2": str(HATCH_PX)})

    def line(self, points: Iterable[Point], kind: str) -> None:
        """A line through points."""
        told = " ".join(f"{_px(x)},{_px(y)}" for x, y in points)
        SubElement(self._root, "polyline", {"class": kind, "points": told})

    def area(self, points: Iterable[Point], kind: str) -> None:
        """A ground with corners."""
        told = " ".join(f"{_px(x)},{_px(y)}" for x, y in points)
        SubElement(self._root, "polygon", {"class": kind, "points": told})

    def box(
        self, corner: Point, width: float, height: float, kind: str, *, hatched: bool = False
    ) -> None:
        """A box from its upper left corner; one without width is not drawn."""
        if width <= 0.0 or height <= 0.0:
            return
        x, y = corner
        told = {"class": kind, "x": _px(x), "y": _px(y), "width": _px(width), "height": _px(height)}
        if hatched:
            told["fill"] = f"url(#{self._hatch})"
        SubElement(self._root, "rect", told)

    def ring(self, middle: Point, radius: float, kind: str) -> None:
        """A circle."""
        x, y = middle
        SubElement(
            self._root, "circle", {"class": kind, "cx": _px(x), "cy": _px(y), "r": _px(radius)}
        )

    def words(self, at: Point, text: str, kind: str = "", *, anchor: str = "start") -> None:
        """A text on its base line; control characters of others are written out."""
        x, y = at
        told = {"x": _px(x), "y": _px(y), "text-anchor": anchor}
        if kind:
            told["class"] = kind
        SubElement(self._root, "text", told).text = visible(text)

    def markup(self) -> Markup:
        """The SVG as it stands in a page."""
        return Markup(tostring(self._root, encoding="unicode"))  # noqa: S704 - escaped by ElementTree


def fitting(text: str, room_px: float, size_px: float = TEXT_PX) -> str:
    """As much of a text as has room; what is cut says so by three dots."""
    most = int(room_px / (CHARACTER_EM * size_px))
    return text if len(text) <= most else f"{text[: max(1, most - 3)].rstrip()}..."


def fits(text: str, room_px: float, size_px: float = TEXT_PX) -> bool:
    """Whether a text has room."""
    return len(text) * CHARACTER_EM * size_px <= room_px


def round_ticks(low: float, high: float, *, about: int = 6) -> Sequence[float]:
    """Round values that reach over a range, ends included."""
    wanted = max(high - low, 1e-9) / about
    power = 10.0 ** floor(log10(wanted))
    step = next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= wanted * 0.999)
    first, last = int(low // step), int(-(-high // step))
    return [each * step for each in range(first, last + 1)]


def _px(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
