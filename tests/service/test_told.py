"""An answer written by its types is the one made of plain data, to the byte."""

from __future__ import annotations

import msgspec
import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.answer import plain
from decision.answer.figures import number
from decision.case import case_from_mapping
from decision.recommend import recommend_answer
from service.engine import told_at_once, told_of
from service.metrics import tally_of
from tests.case.builders import NAMES, demo

EVERYTHING = ["findings", "steps", "uncertainty", "ahead"]


@pytest.mark.parametrize("include", [[], EVERYTHING], ids=["short", "whole"])
@pytest.mark.parametrize("name", NAMES)
def test_an_answer_is_written_as_its_plain_data_is(name: str, include: list[str]) -> None:
    answer = recommend_answer(case_from_mapping(demo(name) | {"include": include}))
    assert told_at_once(answer) == told_of(plain(answer), tally_of(plain(answer)))


@given(st.floats(-1e15, 1e15) | st.text())
def test_figures_and_words_are_written_alike(value: float | str) -> None:
    shown = value if isinstance(value, str) else number(value)
    assert msgspec.json.encode(shown) == orjson.dumps(shown)
