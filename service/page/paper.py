"""How much of a decision has room on one sheet: A4, the sizes of the style sheet for print.

Heights are counted from lengths of texts, since no browser is asked. They are for a face as wide
as Arial, set by what Chromium needs for the demo cases, with some to spare; a test prints them.
What has no room is folded into a line that says so: courses from the last on, then cautions.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from math import ceil
from typing import Final, TypeVar

from markupsafe import Markup

Row = TypeVar("Row")

SHEET_PX: Final = 1047.0  # 277 mm, what the margins leave of A4
SPARE_PX: Final = 24.0
HEAD_PX: Final = 40.0  # strip and advice
FOOT_PX: Final = 62.0  # disclaimer and identity, with what is above them
COURSES_PX: Final = 82.0  # heading, head of the table, note
CAUTIONS_PX: Final = 38.0  # their heading
GROUP_PX: Final = 27.0
ROW_PX: Final = 18.0
BREACH_PX: Final = 14.0
CAUTION_PX: Final = 15.5
FACT_PX: Final = 16.0
FACT_GAP_PX: Final = 1.5
FACT_CHARACTERS: Final = 104
LINE_CHARACTERS: Final = 118
MOST_ROWS: Final = 10
LEAST_ROWS: Final = 3
LEAST_CAUTIONS: Final = 3
FIGURE_SCALE: Final = 276.0 / 366.0  # 23 rem of 12 px, of the narrow drawing
FIGURE_HEAD_PX: Final = 26.0
HEIGHT: Final = re.compile(r'\bheight="([\d.]+)"')

ACTION_PX: Final = 36.0
LANDING_PX: Final = 24.0
LANDING_CHARACTERS: Final = 42
FRAME_PX: Final = 80.0
FRAME_ROW_PX: Final = 20.0
FRAME_ROW_GAP_PX: Final = 12.0
FRAME_CHARACTERS: Final = 56
BECAUSE_PX: Final = 20.0
BECAUSE_GAP_PX: Final = 12.0
BECAUSE_CHARACTERS: Final = 54


def lines_of(text: str, characters: int) -> int:
    """How many lines a text takes, at least one."""
    return max(1, ceil(len(text) / characters))


def action_px(*, landing: str, frame_rows: Sequence[str], because: str) -> float:
    """Height of what stands beside the first figure."""
    rows = [lines_of(each, FRAME_CHARACTERS) for each in frame_rows if each]
    return (
        ACTION_PX
        + LANDING_PX * lines_of(landing, LANDING_CHARACTERS)
        + FRAME_PX
        + sum(each * FRAME_ROW_PX + FRAME_ROW_GAP_PX for each in rows)
        + BECAUSE_PX * lines_of(because, BECAUSE_CHARACTERS)
        + BECAUSE_GAP_PX
    )


def figure_px(drawing: Markup | None) -> float:
    """Height of the drawing that is printed, with its heading; 0 without one."""
    found = None if drawing is None else HEIGHT.search(drawing)
    return 0.0 if found is None else float(found[1]) * FIGURE_SCALE + FIGURE_HEAD_PX


def facts_px(facts: Sequence[tuple[str, str]]) -> float:
    """Height of the facts of the first screen."""
    return sum(lines_of(text, FACT_CHARACTERS) * FACT_PX + FACT_GAP_PX for _, text in facts)


def fitted(
    groups: Sequence[tuple[str, Sequence[Row]]],
    cautions: Sequence[str],
    *,
    first_px: float,
    below: Callable[[Row], Sequence[str]],
    kept: Callable[[Row], bool],
) -> tuple[frozenset[int], int]:
    """Which courses have room, by their place among all of them, and how many cautions.

    `first_px`: height of the first screen. `below`: what stands under the name of a course on
    paper. `kept`: a course that is printed whatever there is (the chosen one).
    """
    room = SHEET_PX - SPARE_PX - HEAD_PX - FOOT_PX - COURSES_PX - CAUTIONS_PX - first_px
    heights = [lines_of(each, LINE_CHARACTERS) * CAUTION_PX for each in cautions]
    for many in range(len(cautions), -1, -1):
        least = many <= min(LEAST_CAUTIONS, len(cautions))
        found = _rows(groups, room - sum(heights[:many]), below=below, kept=kept)
        total = sum(len(rows) for _, rows in groups)
        if len(found) >= min(LEAST_ROWS, total) or least:
            return found, many
    return frozenset(), 0


def _rows(
    groups: Sequence[tuple[str, Sequence[Row]]],
    room_px: float,
    *,
    below: Callable[[Row], Sequence[str]],
    kept: Callable[[Row], bool],
) -> frozenset[int]:
    """The first that fit, those that are kept before all others."""
    rows = [*_numbered(groups)]
    found: set[int] = set()
    headed: set[int] = set()
    for number, group, row in sorted(rows, key=lambda each: not kept(each[2])):
        needs = ROW_PX + sum(lines_of(each, LINE_CHARACTERS) * BREACH_PX for each in below(row))
        needs += 0.0 if group in headed else GROUP_PX
        if (needs > room_px or len(found) >= MOST_ROWS) and not kept(row):
            break
        room_px -= needs
        found.add(number)
        headed.add(group)
    return frozenset(found)


def _numbered(groups: Sequence[tuple[str, Sequence[Row]]]) -> Iterator[tuple[int, int, Row]]:
    number = 0
    for group, (_, rows) in enumerate(groups):
        for row in rows:
            yield number, group, row
            number += 1
