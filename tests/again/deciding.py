"""Deciding a case, and deciding it again some minutes later."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from decision.again import case_anew
from decision.answer import plain
from decision.case import case_from_mapping, installed_library
from decision.recommend import recommend_answer

Body = dict[str, Any]


def whole(body: Body) -> Body:
    """All that is decided of a body."""
    return plain(recommend_answer(case_from_mapping(body), whole=True))


def later(
    body: Body,
    minutes: float,
    *,
    patch: Body | None = None,
    reports: Sequence[str] = (),
    answer: Body | None = None,
) -> Body:
    """The case so many minutes later."""
    kept = copy.deepcopy(body)
    made = case_anew(
        body,
        whole(body) if answer is None else answer,
        patch=patch or {},
        reports=reports,
        at=case_from_mapping(body).as_of + timedelta(minutes=minutes),
        library=installed_library(),
    )
    assert body == kept, "the stored case is left as it was"
    return made


def assumed(answer: Body) -> dict[str, Body]:
    """What an answer assumed, by field."""
    return {each["field"]: each for each in answer["assumptions"]}
