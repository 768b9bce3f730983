"""Words that each action may and may not use: a table, read over what is said of the action.

Looked at are the headline, the messages and the lines of the first screen that are about the action
itself; other courses (INSTEAD, PLACES) have words of their own. `wrong_words` is for any answer.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings

from decision.brief import RULER, brief
from decision.case import case_from_mapping
from decision.decide.decision import Do
from decision.tables import rows
from tests.answer.told import told_of
from tests.case.builders import NAMES, demo
from tests.recommend.generated import answered, flights

FILE = "words_by_action.csv"
COLUMNS = frozenset({"action", "word", "allowed", "note"})
OTHER_COURSES = ("INSTEAD", "PLACES")
LABEL_WIDTH = 11


@cache
def words() -> dict[Do, dict[bool, tuple[str, ...]]]:
    """By action: the words of its own, one of which a headline has, and those it never uses."""
    found: dict[Do, dict[bool, list[str]]] = {do: {True: [], False: []} for do in Do}
    for row in rows(FILE, columns=COLUMNS):
        allowed = {"yes": True, "no": False}[row.text("allowed")]
        found[row.kind("action", Do)][allowed].append(row.text("word"))
    return {do: {key: tuple(each) for key, each in both.items()} for do, both in found.items()}


def said_of_the_action(answer: dict[str, Any]) -> str:
    """Everything that is said of what is done, in small letters and on one line."""
    first = brief(answer).split(RULER)[0].splitlines()
    label, kept = "", []
    for line in first:
        label = line[:LABEL_WIDTH].strip() or label
        if label not in OTHER_COURSES:
            kept.append(line)
    messages = [message["text"] for message in answer["messages"]]
    return " ".join(" ".join([answer["headline"], *messages, *kept]).split()).lower()


def wrong_words(answer: dict[str, Any]) -> list[str]:
    """Words that the action of an answer may not use, and the lack of one of its own."""
    do = Do(answer["action"]["do"])
    said, headline = said_of_the_action(answer), answer["headline"].lower()
    wrong = [f"{do}: says {word!r}" for word in words()[do][False] if word in said]
    if not any(word in headline for word in words()[do][True]):
        wrong.append(f"{do}: the headline names no deed of it: {answer['headline']}")
    return wrong


def told(name: str) -> dict[str, Any]:
    return told_of(case_from_mapping(demo(name)))


def test_every_action_has_words_of_its_own_and_words_that_it_never_uses() -> None:
    for do in Do:
        assert words()[do][True]
        assert words()[do][False]
    assert {"committed", "no diversion is left"} <= set(words()[Do.DIVERT][False])


def test_no_action_may_use_a_word_that_another_row_forbids_it() -> None:
    assert words().keys() == set(Do)
    for both in words().values():
        assert not set(both[True]) & set(both[False])


@pytest.mark.parametrize("name", NAMES)
def test_a_demo_case_says_nothing_that_its_action_may_not_say(name: str) -> None:
    assert wrong_words(told(name)) == []


@given(flights())
@settings(max_examples=40)
def test_no_answer_says_what_its_action_may_not_say(body: dict[str, Any]) -> None:
    assert wrong_words(answered(body)) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("gear-stuck", "The landing is committed."),
        ("gear-stuck", "No diversion is left."),
        ("clean", "Request diversion to XTOR."),
        ("only-runway", "Request diversion to XTOR."),
    ],
)
def test_a_wrong_word_is_found_wherever_it_is_said(name: str, text: str) -> None:
    in_headline, in_message = told(name), told(name)
    in_headline["headline"] += f" {text}"
    in_message["messages"][0]["text"] += f" {text}"
    assert wrong_words(in_headline)
    assert wrong_words(in_message)


def test_a_headline_of_another_deed_is_found() -> None:
    answer = told("gear-stuck")
    answer["headline"] = "Approach XKAL runway 27R."
    assert wrong_words(answer) == [
        f"DIVERT: the headline names no deed of it: {answer['headline']}"
    ]
