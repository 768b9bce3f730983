"""Nothing gets better by guessing where the aircraft is: laws over cases by chance."""

from __future__ import annotations

import pytest

from tests.again.deciding import later, whole
from tests.counts import PROPERTY_CASES
from tests.outside.drawn import drawn

WORST_FIRST = ("NO_GO", "INSUFFICIENT_DATA", "GO_WITH_CAUTION", "GO")
CASES = range(max(20, PROPERTY_CASES // 3))


@pytest.mark.parametrize("number", CASES)
def test_without_news_no_verdict_is_better_and_no_deadline_later(number: int) -> None:
    case = drawn(number)
    before = whole(case.body)
    minutes = 1 + number % 10
    after = whole(later(case.body, minutes, answer=before))
    assert WORST_FIRST.index(after["verdict"]) <= WORST_FIRST.index(before["verdict"])
    deadlines = [each["deadline"]["at"] for each in (before, after) if each["deadline"]]
    assert deadlines == sorted(deadlines, reverse=True)


@pytest.mark.parametrize("number", CASES)
def test_carrying_twice_is_no_better_than_carrying_once_and_ages_add_up(number: int) -> None:
    case = drawn(number)
    before = whole(case.body)
    first = later(case.body, 2, answer=before)
    middle = whole(first)
    second = later(first, 3, answer=middle)
    after = whole(second)
    assert WORST_FIRST.index(after["verdict"]) <= WORST_FIRST.index(before["verdict"])
    ages = {each["field"]: each["given_at"] for each in second["carried"]["values"]}
    assert ages["/fuel/on_board_kg"] == case.body["as_of"]
    assert second["fuel"]["on_board_kg"] <= first["fuel"]["on_board_kg"]


@pytest.mark.parametrize("number", CASES)
def test_at_the_same_moment_with_nothing_new_the_case_is_the_same(number: int) -> None:
    body = drawn(number).body
    assert later(body, 0) == body
    moved = later(body, 4)
    assert later(moved, 0) == moved
