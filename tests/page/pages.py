"""Pages of the demo cases, as the service makes them, and what is read back from them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from functools import cache
from html.parser import HTMLParser
from typing import Any

from decision.answer.reading import joined
from decision.case.demos import installed_demos
from service.engine import installed_engine
from service.page import DecisionPage, decision_page

Data = dict[str, Any]
DEMOS = {each.name: each for each in installed_demos()}
NAMES = sorted(DEMOS)


@cache
def whole(name: str) -> Data:
    """Everything that is computed for a demo case."""
    body = {**DEMOS[name].request(), "include": ["ahead", "flip_points", "uncertainty"]}
    answer: Data = json.loads(json.dumps(installed_engine().whole(body), default=list))
    return answer


def read(name: str) -> Mapping[str, Any]:
    """The same with each course's findings and approaches beside it."""
    return joined(whole(name))


@cache
def page_of(name: str, minutes: int = 1) -> DecisionPage:
    """Its page, so many minutes after it was decided."""
    answer = whole(name)
    return decision_page(
        answer, now=datetime.fromisoformat(answer["as_of"]) + timedelta(minutes=minutes)
    )


class _Texts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)


def texts(markup: str) -> str:
    """The words of some markup, with single spaces."""
    parser = _Texts()
    parser.feed(markup)
    return re.sub(r"\s+", " ", " ".join(parser.found))
