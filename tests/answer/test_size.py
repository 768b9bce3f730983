"""An answer is small, and says once what it says."""

from __future__ import annotations

import json
from typing import Any

import pytest

from decision.answer.reading import as_sent, joined
from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from tests.answer.told import whole
from tests.case.builders import NAMES, demo
from tests.case.flights import FIVE

RECORDED_ID = "0190a1b2-c3d4-7e5f-8a6b-7c8d9e0f1a2b"  # an answer that is recorded has one
DEMOS = {name: {**demo(name), "include": [], "compare_rulebooks": False} for name in NAMES}
TWO_ALTERNATES = 2


def compact(answer: Any) -> bytes:
    """As it is sent."""
    return json.dumps(answer, separators=(",", ":"), ensure_ascii=False).encode()


def bytes_of(body: dict[str, Any]) -> int:
    answer = recommend_mapping(case_from_mapping(body))
    return len(compact({**answer, "id": RECORDED_ID}))


@pytest.mark.parametrize("name", NAMES)
def test_an_answer_with_two_alternates_has_20_kB_at_most(name: str) -> None:
    assert len(DEMOS[name]["alternates"]) <= TWO_ALTERNATES
    assert bytes_of(DEMOS[name]) <= 20_000


def test_an_answer_with_five_alternates_has_40_kB_at_most() -> None:
    assert len(FIVE["alternates"]) == 5
    assert bytes_of(FIVE) <= 40_000


@pytest.mark.parametrize("include", [[], ["steps"], ["findings"], ["findings", "steps"], ["ahead"]])
def test_what_is_sent_of_a_whole_answer_is_what_was_asked_for(include: list[str]) -> None:
    case = case_from_mapping({**DEMOS["gear-stuck"], "include": include})
    assert compact(as_sent(whole(case))) == compact(recommend_mapping(case))


def test_every_finding_is_told_once() -> None:
    answer = whole(case_from_mapping(DEMOS["gear-stuck"]))
    told = [(each["subject"], each["rule"]) for each in answer["findings"]]
    assert len(told) == len({*told})
    subjects = {*answer["attempts"], *(each["course"] for each in answer["courses"])}
    assert {subject for subject, _ in told} <= subjects
    assert {each["rule"] for each in answer["findings"]} <= {*answer["rules"]}


def test_a_course_lists_what_it_breaks_what_is_open_and_what_is_tight() -> None:
    answer = joined(whole(case_from_mapping(DEMOS["alternate-report-unreadable"])))
    for course in answer["courses"]:
        found = {(each["rule"], each["at"]): each["outcome"] for each in course["findings"]}
        assert all(found[each["rule"], each["at"]] == "FAIL" for each in course["breaks"])
        unknown = [key for key, outcome in found.items() if outcome == "UNKNOWN"]
        assert sorted((each["rule"], each["at"]) for each in course["open"]) == sorted(unknown)
        assert len(course["tightest"]) <= 3
        assert all(each["margin"] >= 0 for each in course["tightest"])
    assert any(course["open"] for course in answer["courses"])
