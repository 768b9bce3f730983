"""Answers as tests read them: whole, every course with its own findings and approaches."""

from __future__ import annotations

from typing import Any

from decision.answer import plain
from decision.answer.reading import joined
from decision.case import Case, case_from_mapping
from decision.recommend import recommend_answer


def whole(case: Case) -> dict[str, Any]:
    """The whole answer, as it is stored."""
    return plain(recommend_answer(case, whole=True))


def told_of(case: Case) -> dict[str, Any]:
    """The whole answer to a case, joined."""
    return joined(whole(case))


def told(body: dict[str, Any]) -> dict[str, Any]:
    """The whole answer to a request, joined."""
    return told_of(case_from_mapping(body))
