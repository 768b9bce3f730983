"""The figures of the page of a decision as files: `python -m tests.bench.gallery` draws them all.

They are what the page draws of demo cases, for README and documents. A file has no style sheet
above it, so each element carries what the page's would give it (in the light style), on a ground of
its own, and is the same wherever it is shown.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import Element, SubElement, fromstring, register_namespace, tostring

from msgspec import Struct

from decision.answer.reading import joined
from decision.case.demos import installed_demos
from service.documents import FIGURES
from service.engine import installed_engine
from service.page.figures.climb import climb_figure
from service.page.figures.figure import Drawn
from service.page.figures.fuel import fuel_figure
from service.page.figures.lost import lost_figure
from service.page.figures.margins import margins_figure
from service.page.figures.runway import runway_figure
from service.page.figures.touchdown import touchdown_figure
from service.page.figures.windows import windows_figure

SHEET: Final = Path(__file__).parents[2] / "service" / "templates" / "page.css"
SVG: Final = "http://www.w3.org/2000/svg"
FAMILY: Final = "Arial, 'Liberation Sans', Helvetica, sans-serif"
GROUND: Final = "--ground"
MARGIN_PX: Final = 12
VARIABLE: Final = re.compile(r"(--[a-z]+): (#[0-9a-f]{6})")
RULE: Final = re.compile(
    r"^(?P<selectors>\.drawing [^{}@]+) \{ (?P<declared>[^{}]+) \}$", re.MULTILINE
)
PART: Final = re.compile(r"^\.drawing (?P<part>\.?[a-z-]+)$")
QUOTED: Final = re.compile(r"^(?P<size>[0-9]+px) (?P<family>.+)$")


class Shown(Struct, frozen=True, kw_only=True):
    """A figure of the gallery: of which demo case, and the last of its widths unless narrower."""

    name: str
    case: str
    drawn: Drawn


GALLERY: Final = (
    Shown(name="fuel", case="gear-stuck", drawn=fuel_figure),
    Shown(name="margins", case="gear-stuck", drawn=margins_figure),
    Shown(name="windows", case="wait-for-fog", drawn=windows_figure),
    Shown(name="climb", case="engine-out-gradient", drawn=climb_figure),
    Shown(name="runway", case="flaps-jammed-short-wet", drawn=runway_figure),
    Shown(name="lost", case="engine-out-gradient", drawn=lost_figure),
    Shown(name="touchdown", case="smoke-nearer-runway", drawn=touchdown_figure),
)


def drawings() -> Iterator[tuple[str, str]]:
    """Every figure of the gallery, by file name."""
    requests = {each.name: each.request() for each in installed_demos()}
    for each in GALLERY:
        body = {**requests[each.case], "include": ["ahead"]}
        figure = each.drawn(joined(installed_engine().whole(body)))
        if figure is None:
            raise ValueError(f"{each.case} has no figure {each.name}")
        yield f"page-{each.name}.svg", standing_alone(figure.drawings[-1])


def standing_alone(markup: str) -> str:
    """A drawing of the page as a file: classes become what they stand for, on a ground."""
    colours, rules = _sheet()
    root = fromstring(markup)  # noqa: S314 - our own
    for each in root.iter():
        wanted = (each.tag, *(f".{name}" for name in each.attrib.pop("class", "").split()))
        for part, declared in rules:
            if part in wanted:
                each.attrib.update(declared)
        each.tag = f"{{{SVG}}}{each.tag}"
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    root.set("font-family", FAMILY)
    root.set("width", f"{width + 2 * MARGIN_PX:g}")
    root.set("height", f"{height + 2 * MARGIN_PX:g}")
    box = (-MARGIN_PX, -MARGIN_PX, width + 2 * MARGIN_PX, height + 2 * MARGIN_PX)
    root.set("viewBox", " ".join(f"{each:g}" for each in box))
    ground = SubElement(
        root, f"{{{SVG}}}rect", dict(zip(("x", "y", "width", "height"), map(str, box), strict=True))
    )
    ground.set("fill", colours[GROUND])
    root.remove(ground)
    root.insert(0, ground)
    _titled(root)
    register_namespace("", SVG)
    return tostring(root, encoding="unicode") + "\n"


def _titled(root: Element) -> None:
    """The text alternative where a file has it."""
    title = Element(f"{{{SVG}}}title")
    title.text = root.attrib.pop("aria-label")
    root.insert(0, title)


@cache
def _sheet() -> tuple[Mapping[str, str], Sequence[tuple[str, Mapping[str, str]]]]:
    """Colours of the light style, and what each class of a drawing declares, in the sheet's order;
    classes after elements, since they weigh more.
    """
    text = SHEET.read_text(encoding="utf-8")
    colours = dict(VARIABLE.findall(text.partition("@media")[0]))
    found = []
    for rule in RULE.finditer(text):
        declared = dict(_declared(rule["declared"], colours))
        parts = (PART.match(each.strip()) for each in rule["selectors"].split(","))
        found += [(part["part"], declared) for part in parts if part is not None]
    return colours, sorted(found, key=lambda each: each[0].startswith("."))


def _declared(text: str, colours: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for each in filter(None, map(str.strip, text.split(";"))):
        name, _, value = each.partition(": ")
        value = re.sub(r"var\((--[a-z]+)\)", lambda found: colours[found[1]], value)
        quoted = QUOTED.match(value) if name == "font" else None
        if quoted is None:
            yield name, value
        else:
            yield "font-size", quoted["size"]
            yield "font-family", quoted["family"]


def draw() -> None:
    """Write all of them."""
    for name, svg in drawings():
        (FIGURES / name).write_text(svg, encoding="utf-8")
        sys.stdout.write(f"{name} written\n")


if __name__ == "__main__":
    draw()
