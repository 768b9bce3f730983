"""What is lost: from each failure to the functions that it takes, through what stands between.

Drawn from three lost functions; below that a sentence each says it better.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from service.page.drawing import Sheet, fitting
from service.page.figures.figure import WIDE_PX, Data, NumberTable, PageFigure

FROM: Final = 3
ROW_PX: Final = 26
TOP_PX: Final = 8
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
        drawings=(_drawn(rows, said),),
        table=lost_table(answer),
        notes=("Full square: lost. Half square: less than before.",),
    )


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
            drawing.words((SUPPLY_X, y + 5), fitting(between, FUNCTION_X - SUPPLY_X - 20), "halo")
        full = how.startswith("lost")
        drawing.box((FUNCTION_X, y - 6), 12, 12, "square")
        if full:
            drawing.box((FUNCTION_X, y - 6), 12, 12, "bar")
        else:
            drawing.area(
                [(FUNCTION_X, y + 6), (FUNCTION_X + 12, y - 6), (FUNCTION_X + 12, y + 6)], "bar"
            )
        final = how.endswith("undone")
        drawing.words(
            (FUNCTION_X + 20, y + 5),
            fitting(what, WORD_X - FUNCTION_X - 30),
            "strong" if final else "word",
        )
        drawing.words((WORD_X, y + 5), how, "strong" if final else "word")
    return drawing.markup()
