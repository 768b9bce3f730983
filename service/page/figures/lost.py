"""What is lost: from each failure to the functions that it takes, through what stands between.

Drawn from three lost functions; below that a sentence each says it better.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from service.page.drawing import Point, Sheet, fitting
from service.page.figures.figure import (
    MIDDLE_PX,
    NARROW_PX,
    WIDE_PX,
    Data,
    NumberTable,
    PageFigure,
)

FROM: Final = 3
ROW_PX: Final = 26
TOP_PX: Final = 8
ENTRY_PX: Final = 42
INDENT_PX: Final = 4
CAUSE_PX: Final = 250
SUPPLY_X: Final = 300
FUNCTION_X: Final = 560
WORD_X: Final = 860


def lost_rows(answer: Data) -> tuple[tuple[str, str, str, str], ...]:
    """Failure, what stands between, function, lost or less: those that cannot be undone first."""
    capability = answer["capability"]
    undone = {name for each in capability.get("irreversible") or () for name in each["because"]}
    rows = []
    for each in capability["lost"]:
        path = list(each["because"]) or ["not told"]
        final = bool(undone & {*path, each["function"]})
        rows.append(
            (
                not final,
                _words(path[0]),
                ", ".join(_words(between) for between in path[1:] if between != each["function"]),
                _words(each["function"]),
                "less than before" if each["degraded"] else "lost",
                "cannot be undone" if final else "",
            )
        )
    rows.sort(key=lambda row: row[0])
    return tuple(
        (cause, between, what, f"{how}{f', {end}' if end else ''}")
        for _, cause, between, what, how, end in rows
    )


def lost_table(answer: Data) -> NumberTable:
    """The same as a table."""
    return NumberTable(
        caption="Each function with what takes it.",
        heads=("failure", "by way of", "function", "left"),
        rows=lost_rows(answer),
    )


def _words(identifier: str) -> str:
    return identifier.replace("-", " ").replace("_", " ")


def lost_figure(answer: Data) -> PageFigure | None:
    """None where little is lost."""
    rows = lost_rows(answer)
    if len(rows) < FROM:
        return None
    said = "; ".join(f"{cause}: {what} {how}" for cause, _, what, how in rows) + "."
    return PageFigure(
        name="lost",
        title="From failure to lost function",
        said=said,
        drawings=(
            *(_listed(rows, said, width) for width in (NARROW_PX, MIDDLE_PX)),
            _drawn(rows, said),
        ),
        table=lost_table(answer),
        notes=("Full square: lost. Half square: less than before.",),
    )


def _listed(rows: Sequence[tuple[str, str, str, str]], said: str, width: int) -> Markup:
    """Where there is no room for paths: each failure, and below it what it takes."""
    causes = [*dict.fromkeys(row[0] for row in rows)]
    height = TOP_PX + len(causes) * ROW_PX + len(rows) * ENTRY_PX
    drawing = Sheet(name="lost", width_px=width, height_px=height, said=said)
    y = float(TOP_PX)
    for cause in causes:
        drawing.words((0, y + 14), fitting(f"{cause} takes", width), "strong")
        y += ROW_PX
        for row in rows:
            if row[0] == cause:
                _entry(drawing, row, y)
                y += ENTRY_PX
    return drawing.markup()


def _entry(drawing: Sheet, row: tuple[str, str, str, str], y: float) -> None:
    """One function with its square, and below it how it is lost and by way of what."""
    _, between, what, how = row
    kind = "strong" if how.endswith("undone") else "word"
    _square(drawing, (INDENT_PX, y + 3), full=how.startswith("lost"))
    room = drawing.width_px - INDENT_PX - 20
    drawing.words((INDENT_PX + 20, y + 14), fitting(what, room), kind)
    way = f"; by way of {between}" if between else ""
    drawing.words((INDENT_PX + 20, y + 30), fitting(f"{how}{way}", room), "small")


def _square(drawing: Sheet, corner: Point, *, full: bool) -> None:
    """Full where the function is lost, half where less of it is left."""
    x, y = corner
    drawing.box(corner, 12, 12, "square")
    if full:
        drawing.box(corner, 12, 12, "bar")
    else:
        drawing.area([(x, y + 12), (x + 12, y), (x + 12, y + 12)], "bar")


def _drawn(rows: Sequence[tuple[str, str, str, str]], said: str) -> Markup:
    height = TOP_PX * 2 + len(rows) * ROW_PX
    drawing = Sheet(name="lost", width_px=WIDE_PX, height_px=height, said=said)
    at = {id(row): TOP_PX + (index + 0.5) * ROW_PX for index, row in enumerate(rows)}
    causes: dict[str, list[float]] = {}
    for row in rows:
        causes.setdefault(row[0], []).append(at[id(row)])
    placed: list[float] = []
    for cause, ends in causes.items():
        y = sum(ends) / len(ends)
        while any(abs(y - other) < ROW_PX * 1.3 for other in placed):
            y += ROW_PX * 0.5
        placed.append(y)
        drawing.box((2, y - 13), CAUSE_PX, 26, "frame")
        drawing.words((12, y + 5), fitting(cause, CAUSE_PX - 20), "strong")
        for end in ends:
            drawing.line(
                [
                    (CAUSE_PX + 2, y),
                    (CAUSE_PX + 22, y),
                    (CAUSE_PX + 22, end),
                    (FUNCTION_X - 8, end),
                ],
                "axis",
            )
    for row in rows:
        _, between, what, how = row
        y = at[id(row)]
        if between:
            drawing.words((SUPPLY_X, y - 4), fitting(between, FUNCTION_X - SUPPLY_X - 20), "small")
        _square(drawing, (FUNCTION_X, y - 6), full=how.startswith("lost"))
        final = how.endswith("undone")
        drawing.words(
            (FUNCTION_X + 20, y + 5),
            fitting(what, WORD_X - FUNCTION_X - 30),
            "strong" if final else "word",
        )
        drawing.words((WORD_X, y + 5), how, "strong" if final else "word")
    return drawing.markup()
