from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

import pytest
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st

from decision.windows import Window
from service.jsontext import StrictJsonProvider, read_json, write_json
from service.plain import plain

NUMBERS = st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False)
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=10,
)


@given(VALUES)
def test_what_is_written_is_read_back(value: object) -> None:
    assert read_json(write_json(value)) == value


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -float("inf")])
def test_a_number_that_is_not_finite_is_refused_wherever_it_is(bad: float) -> None:
    for value in (bad, [bad], (1, bad), {"a": {"b": [bad]}}):
        with pytest.raises(ValueError, match="not a finite number"):
            write_json(value)


def test_the_order_of_members_is_kept() -> None:
    assert write_json({"b": 1, "a": 2}) == b'{"b":1,"a":2}\n'


def test_the_last_of_two_members_of_one_name_counts() -> None:
    assert read_json(b'{"a": 1, "a": 2}') == {"a": 2}


def test_the_framework_uses_the_same_json() -> None:
    provider = StrictJsonProvider(Flask(__name__))
    assert provider.loads(provider.dumps({"b": 1, "a": [2.5]})) == {"b": 1, "a": [2.5]}
    with pytest.raises(ValueError, match="not a finite number"):
        provider.dumps(float("nan"))


class Colour(StrEnum):
    RED = "red"


@dataclass(frozen=True)
class Thing:
    colour: Colour
    at: datetime
    spans: tuple[Window, ...]
    names: frozenset[str]
    by_colour: dict[Colour, float | None]


def test_values_of_the_core_become_plain_data() -> None:
    at = datetime(2026, 1, 31, 6, tzinfo=UTC)
    thing = Thing(
        colour=Colour.RED,
        at=at,
        spans=(Window(at, at.replace(hour=7)),),
        names=frozenset({"b", "a"}),
        by_colour={Colour.RED: None},
    )
    assert plain(thing) == {
        "colour": "red",
        "at": "2026-01-31T06:00:00Z",
        "spans": [{"start": "2026-01-31T06:00:00Z", "end": "2026-01-31T07:00:00Z"}],
        "names": ["a", "b"],
        "by_colour": {"red": None},
    }


def test_a_value_of_another_kind_is_refused() -> None:
    with pytest.raises(TypeError, match="no JSON for object"):
        plain(object())
