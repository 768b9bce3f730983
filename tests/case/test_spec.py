"""The shape vocabulary: what each shape refuses, and where it says the fault lies."""

from __future__ import annotations

import math
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import Struct

from decision.case.derive import record_of
from decision.case.spec import (
    AnyOf,
    BodyReading,
    Choice,
    Instant,
    ListOf,
    Number,
    Spec,
    Text,
    TrueOrFalse,
    escape,
    read_instant,
    shown,
)
from decision.fields import about

MASS = Number(low=0, high=10, unit="kg")
WHOLE = Number(low=0, high=6, whole=True)
WORD = Text(max_length=4, min_length=2, pattern="[A-Z]+", means="capitals")


class Point(Struct, frozen=True, kw_only=True, gc=False):
    x: Annotated[float, about(".", low=0, high=10, unit="kg")]
    y: Annotated[float | None, about(".", low=0, high=10, unit="kg")] = None


POINT = record_of(Point)


@pytest.mark.parametrize(
    ("spec", "value"),
    [
        (MASS, 0),
        (MASS, 10.0),
        (WHOLE, 5.0),
        (WORD, "AB"),
        (Choice(values=("a", "b")), "b"),
        (TrueOrFalse(), False),
        (Instant(), "2026-03-14T06:10:00Z"),
        (Instant(), "2026-03-14T06:10+00:00"),
        (ListOf(item=MASS, max_items=2), [1, 2]),
        (POINT, {"x": 1}),
        (POINT, {"x": 1, "y": None}),
        (AnyOf(choices=(MASS, WORD)), "ABC"),
        (AnyOf(choices=(AnyOf(choices=(TrueOrFalse(),)), ListOf(item=MASS, max_items=1))), [3]),
    ],
)
def test_a_value_of_the_shape_has_no_faults(spec: Spec, value: object) -> None:
    assert spec.admits(value)
    assert spec.faults(value) == ()


@pytest.mark.parametrize(
    ("letters", "told"), [(58, "'" + 58 * "x" + "'"), (59, "'" + 59 * "x" + "...")]
)
def test_a_long_value_is_shown_by_its_first_sixty_characters(letters: int, told: str) -> None:
    """Two of them are the quotation marks."""
    assert shown(letters * "x") == told


@pytest.mark.parametrize(
    ("spec", "value", "code"),
    [
        (MASS, "5", "type"),
        (MASS, True, "type"),
        (MASS, math.nan, "type"),
        (MASS, math.inf, "type"),
        (MASS, None, "type"),
        (MASS, -0.1, "range"),
        (MASS, 10.1, "range"),
        (WHOLE, 5.5, "type"),
        (WORD, 5, "type"),
        (WORD, "A", "length"),
        (WORD, "ABCDE", "length"),
        (WORD, "ab", "pattern"),
        (Choice(values=("a", "b")), "c", "choice"),
        (Choice(values=("a", "b")), 1, "choice"),
        (TrueOrFalse(), 1, "type"),
        (TrueOrFalse(), "true", "type"),
        (Instant(), "2026-03-14T06:10:00", "instant"),
        (Instant(), "2026-03-14T06:10:00+01:00", "instant"),
        (Instant(), "2026-02-30T06:10:00Z", "instant"),
        (Instant(), "1899-12-31T23:59:59Z", "instant"),
        (Instant(), "9999-12-31T23:59:59Z", "instant"),
        (Instant(), 5, "instant"),
        (ListOf(item=MASS, max_items=1), {}, "type"),
        (ListOf(item=MASS, max_items=1), [1, 2], "length"),
        (POINT, [], "type"),
        (POINT, {}, "required"),
        (POINT, {"x": None}, "required"),
        (POINT, {"x": 1, "z": 2}, "unknown_field"),
        (AnyOf(choices=(MASS, WORD)), [], "type"),
    ],
)
def test_a_wrong_value_is_named_with_what_would_be_accepted(
    spec: Spec, value: object, code: str
) -> None:
    (fault,) = spec.faults(value, "/here")
    assert fault.code == code
    assert fault.pointer.startswith("/here")
    assert fault.accepted


def test_every_fault_of_an_object_is_found_with_its_pointer() -> None:
    spec = ListOf(item=POINT, max_items=3)
    faults = spec.faults([{"x": -1, "y": "2"}, {"a/b~c": 0}], "/points")
    assert [(fault.pointer, fault.code) for fault in faults] == [
        ("/points/0/x", "range"),
        ("/points/0/y", "type"),
        ("/points/1/a~1b~0c", "unknown_field"),
        ("/points/1/x", "required"),
    ]


def test_messages_never_echo_a_long_value() -> None:
    (fault,) = MASS.faults("x" * 500)
    assert len(fault.message) < 100


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ({}, "an object"),
        ([1], "a list of 1 items"),
        (None, "null"),
        (True, "true"),
        (False, "false"),
    ],
)
def test_containers_and_constants_are_named_and_not_printed(value: object, words: str) -> None:
    (fault,) = WORD.faults(value)
    assert fault.message.startswith(words)


@given(st.text(max_size=30))
def test_reading_an_instant_never_raises(text: str) -> None:
    at = read_instant(text)
    assert at is None or at.tzinfo is not None


@given(st.text(max_size=10))
def test_escaped_tokens_have_no_bare_separators(token: str) -> None:
    escaped = escape(token)
    assert "/" not in escaped
    assert escaped.replace("~1", "/").replace("~0", "~") == token


def test_every_shape_says_in_words_what_it_accepts() -> None:
    assert MASS.accepted == "a number from 0 to 10 kg"
    assert WHOLE.accepted == "a whole number from 0 to 6"
    assert Text(max_length=4, min_length=4).accepted == "text, 4 characters"
    assert WORD.accepted == "capitals, 2 to 4 characters"
    assert Choice(values=("a", "b")).accepted == 'one of "a", "b"'
    assert (
        AnyOf(choices=(MASS, TrueOrFalse())).accepted == "a number from 0 to 10 kg or true or false"
    )
    assert ListOf(item=MASS, max_items=2).accepted == "a list of 0 to 2 items"


def test_an_instant_that_the_check_should_have_refused_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="the shape let a wrong instant through"):
        Instant().read("yesterday", "", BodyReading())
