"""What a terminal would obey in a text of others is written out, and nothing else is changed."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.legible import all_on_one_line, on_one_line, visible

C0 = [chr(code) for code in range(0x20) if chr(code) != "\n"]
C1 = [chr(code) for code in range(0x80, 0xA0)]
# Of UAX 9: marks, embeddings, overrides and isolates.
BIDIRECTIONAL = [
    *"\u061c\u200e\u200f",
    *"\u202a\u202b\u202c\u202d\u202e",
    *"\u2066\u2067\u2068\u2069",
]


@pytest.mark.parametrize(
    "character", [*C0, "\x7f", *C1, *BIDIRECTIONAL, "\u2028", "\u2029"], ids=ascii
)
def test_a_control_is_written_as_json_writes_it(character: str) -> None:
    told = visible(f"XA{character}101")
    assert told == f"XA\\u{ord(character):04x}101"
    assert told.isprintable()


def test_one_beyond_the_basic_plane_is_written_as_the_pair_that_json_has_for_it() -> None:
    assert visible("\U000e0001") == json.dumps("\U000e0001").strip('"')


@given(st.text())
def test_whatever_is_given_nothing_is_left_that_cannot_be_seen_but_ends_of_lines(text: str) -> None:
    controls = {*C0, "\x7f", *C1, *BIDIRECTIONAL}
    assert not controls & set(visible(text))
    assert "\n" not in on_one_line(text)
    assert visible(text).count("\n") == text.count("\n")


@pytest.mark.parametrize("text", ["XA 101", "Zürich – 3° \u00a0 日本", "two\nlines", ""])
def test_what_can_be_seen_stays_as_it_is(text: str) -> None:
    assert visible(text) == text


def test_ends_of_lines_become_spaces_where_a_text_has_one_line() -> None:
    assert on_one_line("TAF XBBB\r\n  BECMG\n  TEMPO\r") == "TAF XBBB   BECMG   TEMPO\\u000d"


def test_every_text_of_an_answer_is_made_visible_names_of_members_too() -> None:
    answer = {"a\x1b": ["\x9b31m", {"b": ("\n", 1, None, True)}], "c": "\x7f"}
    assert all_on_one_line(answer) == {
        "a\\u001b": ["\\u009b31m", {"b": [" ", 1, None, True]}],
        "c": "\\u007f",
    }


def test_an_answer_without_controls_is_not_copied() -> None:
    answer = {"flight_id": "XA 101", "courses": [{"rank": 1}]}
    assert all_on_one_line(answer) is answer
