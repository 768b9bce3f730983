"""The answer: its types are the published format; words and rounding, no physics."""

from __future__ import annotations

from decision.answer.tell import tell
from decision.answer.types import Answer

__all__ = ["Answer", "tell"]
