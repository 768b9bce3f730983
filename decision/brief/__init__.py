"""The answer as plain text for a crew: one screen for the decision, a second for the figures.

Works on the answer's mapping alone and computes nothing; it only chooses, rounds and lays out.
What a terminal would obey in a text of the request is written out.
Eighty columns at most, no colour: words carry the meaning.
"""

from __future__ import annotations

from decision.answer.reading import joined
from decision.brief.first import SCREEN_LINES, first_screen
from decision.brief.layout import WIDTH, Data
from decision.brief.second import ACCURACY_OF, ACCURACY_UNIT, foot, second_screen
from decision.legible import all_on_one_line

__all__ = ["ACCURACY_OF", "ACCURACY_UNIT", "RULER", "SCREEN_LINES", "WIDTH", "brief"]

RULER = "-" * WIDTH


def brief(answer: Data) -> str:
    """The whole brief of a whole answer, of whatever format, ending with a line break."""
    answer = all_on_one_line(joined(answer))
    parts = [part for part in (*second_screen(answer), [*foot(answer)]) if part]
    screens = ["\n".join([*first_screen(answer), RULER]), *("\n".join(part) for part in parts)]
    return "\n\n".join(screens) + "\n"
