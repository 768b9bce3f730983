"""What a figure is: drawings of several widths, a sentence for who does not see it, a table."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from markupsafe import Markup
from msgspec import Struct

Data = Mapping[str, Any]

NARROW_PX: Final = 366
MIDDLE_PX: Final = 500
WIDE_PX: Final = 1200


class NumberTable(Struct, frozen=True, kw_only=True):
    """The numbers of a figure: heads with their units, rows as they are shown."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class PageFigure(Struct, frozen=True, kw_only=True):
    """`said`: the text alternative, with its numbers; `notes`: how it is read, in sentences."""

    name: str
    title: str
    said: str
    drawings: tuple[Markup, ...]
    table: NumberTable
    notes: tuple[str, ...] = ()
    paper: Markup | None = None

    @property
    def on_paper(self) -> Markup:
        """What is printed of it: the narrowest drawing, unless it has one for paper."""
        return self.drawings[0] if self.paper is None else self.paper


def attempts_of(answer: Data) -> Iterator[Data]:
    """Every approach of every course, in the order of the courses; the answer is a joined one."""
    for course in answer["courses"]:
        yield from course["attempts"]


YES_NO: Final = {True: "yes", False: "no", None: "not known"}
"""Whether a course keeps every rule, in a table."""


def mark_of(legal: bool | None, *, chosen: bool) -> str:
    """What stands before its name."""
    return "▸ " if chosen else "✕ " if legal is False else ""


def bar_of(legal: bool | None, *, chosen: bool) -> str:
    """The kind of its bar where nothing is hatched that is chosen."""
    if chosen:
        return "bar-chosen"
    return {True: "bar", False: "bar-broken", None: "bar-open"}[legal]


Drawn = Callable[[Data], PageFigure | None]
"""From an answer to a figure; None where it would explain nothing or its numbers are not there."""
