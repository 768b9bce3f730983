"""Touchdown of each place: which runway is reached first, where the clock decides."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Final

from markupsafe import Markup

from decision.brief.layout import clock_up
from decision.brief.reading import is_straight, touchdown_of
from service.page.drawing import Sheet
from service.page.figures.figure import (
    MIDDLE_PX,
    NARROW_PX,
    YES_NO,
    Data,
    NumberTable,
    PageFigure,
    mark_of,
)

ROW_PX: Final = 30
TOP_PX: Final = 8
FOOT_PX: Final = 24
NAME_PX: Final = 92
MOST: Final = 6


def touchdown_figure(answer: Data) -> PageFigure | None:
    """None where no place has a time."""
    ways = _earliest(answer)
    if not ways:
        return None
    told = ", ".join(
        f"{each['aerodrome']} in {_minutes(each)} min at {clock_up(touchdown_of(each))}"
        for each in ways
    )
    said = f"Touchdown, the earliest first: {told}."
    return PageFigure(
        name="touchdown",
        title="Minutes to touchdown",
        said=said,
        drawings=tuple(_drawn(answer, ways, width, said) for width in (NARROW_PX, MIDDLE_PX)),
        table=NumberTable(
            caption="Minutes are rounded up.",
            heads=("place", "runway", "minutes", "touchdown", "keeps every rule"),
            rows=tuple(
                (
                    each["aerodrome"],
                    each["runway"] or "not known",
                    str(_minutes(each)),
                    clock_up(touchdown_of(each)),
                    YES_NO[each["legal"]],
                )
                for each in ways
            ),
        ),
        notes=("Hatched with ✕: breaks a rule.",)
        if any(each["legal"] is False for each in ways)
        else (),
    )


def _earliest(answer: Data) -> Sequence[Data]:
    """The quickest straight way to each place."""
    found: dict[str, Data] = {}
    for each in answer["courses"]:
        if is_straight(each) and each.get("minutes_to_touchdown") is not None:
            found.setdefault(each["aerodrome"], each)
    return sorted(found.values(), key=lambda each: float(each["minutes_to_touchdown"]))[:MOST]


def _minutes(course: Data) -> int:
    return ceil(max(0.0, float(course["minutes_to_touchdown"])))


def _drawn(answer: Data, ways: Sequence[Data], width: int, said: str) -> Markup:
    height = TOP_PX + len(ways) * ROW_PX + FOOT_PX
    drawing = Sheet(name="touchdown", width_px=width, height_px=height, said=said)
    longest = max(each["minutes_to_touchdown"] for each in ways) or 1.0
    room = width - NAME_PX - 150
    for row, each in enumerate(ways):
        y = TOP_PX + row * ROW_PX
        chosen = each["aerodrome"] == answer["action"]["aerodrome"]
        broken = each["legal"] is False
        mark = mark_of(each["legal"], chosen=chosen)
        drawing.words(
            (0, y + 18), f"{mark}{each['aerodrome']}", "chosen-word" if chosen else "word"
        )
        long = max(2.0, room * each["minutes_to_touchdown"] / longest)
        kind = "bar-broken" if broken else "bar-chosen" if chosen else "bar"
        drawing.box((NAME_PX, y + 6), long, 16, kind, hatched=broken)
        text = f"{_minutes(each)} min, {clock_up(touchdown_of(each))}"
        drawing.words((NAME_PX + long + 8, y + 19), text, "strong" if chosen else "word")
    drawing.line([(NAME_PX, TOP_PX), (NAME_PX, height - FOOT_PX + 4)], "upright")
    drawing.words((NAME_PX, height - 6), "minutes from now", "label")
    return drawing.markup()
