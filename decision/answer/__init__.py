"""The answer: its types are the published format; words and rounding, no physics."""

from __future__ import annotations

from typing import Any

import msgspec

from decision.answer.courses import EVERYTHING, MOST_FINDINGS
from decision.answer.row import RowTold, row_told
from decision.answer.tell import tell
from decision.answer.tried import TriedTold, tried_told
from decision.answer.types import Answer

__all__ = [
    "EVERYTHING",
    "MOST_FINDINGS",
    "Answer",
    "RowTold",
    "TriedTold",
    "plain",
    "row_told",
    "tell",
    "tried_told",
]


def plain(answer: Answer | RowTold | TriedTold) -> dict[str, Any]:
    """The answer as plain data, the same for the same answer to the byte."""
    told: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(answer))
    return told
