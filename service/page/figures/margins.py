"""Margins of all courses: one bar each from one zero line, the final reserve of its own landing.

The longest bar is often an illegal one, so those that break a rule are hatched, have a cross and
stand under a heading of their own. The stroke across a bar is what nineteen flights of twenty keep.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import floor
from typing import Final

from markupsafe import Markup

from decision.brief.layout import in_tens, room_kg
from decision.brief.reading import breaks_of
from service.page.drawing import Sheet, fitting
from service.page.figures.figure import (
    MIDDLE_PX,
    NARROW_PX,
    Data,
    NumberTable,
    PageFigure,
    mark_of,
)

ROW_PX: Final = 21
HEAD_PX: Final = 24
BAR_PX: Final = 11
FOOT_PX: Final = 26
NAME_PX: Final = {NARROW_PX: 204, MIDDLE_PX: 232}
VALUE_PX: Final = 54
MOST: Final = 12
NAME_MOST: Final = 28

Along = Callable[[float], float]
"""From kilograms to their place on the axis."""

GROUPS: Final = (
    (True, "Keeps every rule"),
    (None, "Not known whether it keeps them"),
    (False, "Breaks a rule, long or short"),
)
NAMES: Final = {
    "approach_then_divert": "approach, miss, then {}",
    "divert_now": "leave now for {}",
    "hold_then_approach": "hold, approach, then {}",
    "second_approach": "miss, second approach {}",
    "commit_to_land": "land at {}, no way out",
}
FROM_CLEAN_POINT: Final = "leave at clean point, {}"


def course_name(course: Data) -> str:
    """A course in the few words that have room beside its bar."""
    clean = course.get("from") == "last_clean_point"
    return (FROM_CLEAN_POINT if clean else NAMES[course["kind"]]).format(course["aerodrome"])


def grouped(answer: Data) -> Iterator[tuple[str, list[Data]]]:
    """Courses by whether they keep the rules; groups without any are left out."""
    for legal, heading in GROUPS:
        found = [each for each in answer["courses"] if each["legal"] is legal]
        if found:
            yield heading, found


def margins_figure(answer: Data) -> PageFigure | None:
    """None where no course has a figure of fuel."""
    if not any(each["fuel"] for each in answer["courses"]):
        return None
    groups = _told(answer)
    said = _said(answer)
    return PageFigure(
        name="margins",
        title="All courses: kg over the final reserve on landing",
        said=said,
        drawings=tuple(
            _drawn(answer, groups, width=width, said=said) for width in (NARROW_PX, MIDDLE_PX)
        ),
        table=_table(answer),
        notes=("Stroke across a bar: what 19 flights in 20 keep.",),
    )


def _told(answer: Data) -> list[tuple[str, list[Data]]]:
    """At most so many: the best of each kind and place where there are more."""
    groups = [*grouped(answer)]
    if sum(len(found) for _, found in groups) <= MOST:
        return groups
    seen: set[tuple[str, str, str]] = set()
    kept: list[tuple[str, list[Data]]] = []
    for heading, found in groups:
        best = []
        for each in found:
            key = (each["kind"], each.get("from", ""), each["aerodrome"])
            if key not in seen and len(seen) < MOST:
                seen.add(key)
                best.append(each)
        kept.append((heading, best))
    return [(heading, found) for heading, found in kept if found]


def _said(answer: Data) -> str:
    told = []
    for heading, found in grouped(answer):
        rooms = ", ".join(f"{course_name(each)} {_room(each)}" for each in found[:4])
        more = f" and {len(found) - 4} more" if len(found) > 4 else ""  # noqa: PLR2004
        told.append(f"{heading}: {rooms}{more}")
    return f"Kilograms over the final reserve on landing. {'; '.join(told)}."


def _room(course: Data) -> str:
    return "not known" if not course["fuel"] else f"{room_kg(course['fuel'])} kg"


def signed(kg: int) -> str:
    """With its sign, the minus as wide as the plus."""
    return f"{kg:+d}".replace("-", "−")


def _drawn(
    answer: Data, groups: Sequence[tuple[str, list[Data]]], *, width: int, said: str
) -> Markup:
    rows = sum(len(found) for _, found in groups)
    left_out = len(answer["courses"]) - rows
    height = len(groups) * HEAD_PX + rows * ROW_PX + FOOT_PX + (ROW_PX if left_out else 0)
    drawing = Sheet(name="margins", width_px=width, height_px=height, said=said)
    low, high = extent(answer)
    left, right = NAME_PX[width], width - VALUE_PX

    def x(kg: float) -> float:
        return left + (right - left) * (kg - low) / (high - low)

    drawing.line([(x(0.0), 8), (x(0.0), height - FOOT_PX + 4)], "upright")
    y = 0.0
    for heading, found in groups:
        drawing.words((0, y + 16), heading, "group")
        y += HEAD_PX
        for course in found:
            _row(drawing, answer, course, y, x)
            y += ROW_PX
    if left_out:
        drawing.words((0, y + 13), f"{left_out} more in the table below", "small")
    drawing.words((x(0.0), height - 6), "final reserve", "label", anchor="middle")
    return drawing.markup()


def _row(drawing: Sheet, answer: Data, course: Data, y: float, x: Along) -> None:
    chosen = course["course"] == answer["action"]["course"]
    mark = mark_of(course["legal"], chosen=chosen)
    kind = "chosen-word" if chosen else "word"
    drawing.words(
        (0, y + 13), mark + fitting(course_name(course), NAME_PX[drawing.width_px] - 16), kind
    )
    if not course["fuel"]:
        drawing.words((drawing.width_px, y + 13), "not known", "small", anchor="end")
        return
    bar(drawing, course, y + 4, x, chosen=chosen)
    drawing.words(
        (drawing.width_px, y + 13), signed(room_kg(course["fuel"])), "strong", anchor="end"
    )


def bar(drawing: Sheet, course: Data, y: float, x: Along, *, chosen: bool) -> None:
    """One bar from the zero line, with the stroke of what 19 in 20 keep."""
    fuel, broken = course["fuel"], course["legal"] is False
    kind = "bar-chosen" if chosen else "bar-open" if course["legal"] is None else "bar"
    start, end = sorted((x(0.0), x(fuel["margin_kg"])))
    drawing.box(
        (start, y), max(end - start, 1.0), BAR_PX, "bar-broken" if broken else kind, hatched=broken
    )
    p95 = fuel["margin_p95_kg"]
    if p95 is not None and p95 != fuel["margin_kg"]:
        drawing.line([(x(p95), y - 3), (x(p95), y + BAR_PX + 3)], "stroke-halo")
        drawing.line([(x(p95), y - 3), (x(p95), y + BAR_PX + 3)], "stroke")
        if p95 < 0.0 or broken:
            middle = y + BAR_PX / 2
            drawing.line([(x(p95), middle), (x(min(0.0, fuel["margin_kg"])), middle)], "axis")


def extent(answer: Data) -> tuple[float, float]:
    """From the least to the largest figure, zero always among them, kilograms."""
    figures = [0.0]
    for course in answer["courses"]:
        if course["fuel"]:
            p95 = course["fuel"]["margin_p95_kg"]
            figures += [course["fuel"]["margin_kg"], *([] if p95 is None else [p95])]
    low, high = min(figures), max(figures)
    return low, high if high > low else low + 1.0


def _table(answer: Data) -> NumberTable:
    rows = []
    for heading, found in grouped(answer):
        for each in found:
            fuel = each["fuel"]
            p95 = None if not fuel else fuel["margin_p95_kg"]
            rows.append(
                (
                    course_name(each),
                    heading,
                    "not known" if not fuel else str(room_kg(fuel)),
                    "not known" if p95 is None else str(in_tens(p95, floor)),
                    "; ".join(breaks_of(each)[:2])[: NAME_MOST * 6],
                )
            )
    return NumberTable(
        caption="Over the final reserve of its own landing, rounded down to 10 kg.",
        heads=("course", "rules", "over reserve, kg", "19 in 20 keep, kg", "breaks"),
        rows=tuple(rows),
    )
