"""However large a case is, its answer is worked out within bounds, the same on every machine."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.case.types import MAX_ALTERNATES, MAX_APPROACHES, MAX_REPORTS
from decision.decide import work
from decision.decide.attempts import JudgedAttempts
from decision.decide.work import MOST, Work
from decision.errors import InvalidCase
from decision.flight.tried import AS_IT_IS
from decision.recommend import decide_varied, recommend, recommend_mapping
from decision.what_if.flip import flip_points
from decision.what_if.vary import INPUTS
from tests.case.builders import demo
from tests.case.flights import EVERYTHING, large

MOST_BYTES = 1_000_000


@cache
def largest() -> dict[str, Any]:
    """The largest case that is accepted, with everything that can be asked for."""
    body = large(
        alternates=MAX_ALTERNATES,
        approaches=MAX_APPROACHES,
        number=MAX_REPORTS,
        include=list(EVERYTHING),
        compare_rulebooks=True,
    )
    return recommend_mapping(case_from_mapping(body))


def left_out(answer: dict[str, Any]) -> str:
    """What the answer says that it does not have."""
    return " ".join(each["text"] for each in answer["cautions"] if each["code"] == "LEFT_OUT")


def test_the_largest_case_is_answered_and_says_what_it_leaves_out() -> None:
    answer = largest()
    assert answer["verdict"]
    assert len(answer["rulebooks_compared"]) == 3
    assert "flip point of destination temperature degc" in left_out(answer)
    assert len(answer["flip_points"]) < len(INPUTS)
    assert len(json.dumps(answer, separators=(",", ":"))) <= MOST_BYTES


def test_with_less_room_the_other_rulebooks_are_left_out_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    body = demo("gear-stuck") | {"include": ["flip_points"], "compare_rulebooks": True}
    monkeypatch.setattr(work, "MOST", 100)
    answer = recommend_mapping(case_from_mapping(body))
    assert answer["rulebooks_compared"] is None
    assert answer["flip_points"] == []
    told = left_out(answer)
    assert "rulebooks compared" in told
    assert all(f"flip point of {each.name.replace('_', ' ')}" in told for each in INPUTS)


def test_what_is_left_out_weighs_nothing() -> None:
    weights = {each["weight"] for each in largest()["cautions"] if each["code"] == "LEFT_OUT"}
    assert weights == {"info"}


def test_of_an_ordinary_case_nothing_is_left_out() -> None:
    body = demo("gear-stuck") | {"include": list(EVERYTHING), "compare_rulebooks": True}
    answer = recommend_mapping(case_from_mapping(body))
    assert left_out(answer) == ""
    assert [each["input"] for each in answer["flip_points"]] == [each.name for each in INPUTS]
    assert len(answer["rulebooks_compared"]) == 3


@pytest.mark.parametrize(
    ("alternates", "approaches", "number", "pointer"),
    [
        (MAX_ALTERNATES + 1, 2, 0, "/alternates"),
        (2, MAX_APPROACHES + 1, 0, "/destination/approaches"),
        (2, 2, MAX_REPORTS + 1, "/weather/reports"),
    ],
)
def test_a_larger_case_is_refused(
    alternates: int, approaches: int, number: int, pointer: str
) -> None:
    body = large(alternates=alternates, approaches=approaches, number=number)
    with pytest.raises(InvalidCase) as refused:
        case_from_mapping(body)
    assert pointer in {fault.pointer for fault in refused.value.faults}


def test_the_count_is_the_same_however_often_the_case_was_seen_before() -> None:
    counts = []
    for _ in range(2):
        attempts = JudgedAttempts()
        decide_varied(case_from_mapping(demo("choice")), AS_IT_IS, attempts=attempts)
        counts.append(attempts.work.done)
    assert counts[0] == counts[1] > 0


def test_what_is_found_within_the_bound_is_what_is_found_without(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    given = recommend(case_from_mapping(demo("gear-stuck")))
    free = flip_points(given, decide_varied)
    probes = iter(range(1000))
    bound = flip_points(given, decide_varied, lambda: next(probes) < 12)
    assert free.left_out == ()
    assert 0 < len(bound.found) < len(INPUTS)
    assert bound.found == free.found[: len(bound.found)]
    assert bound.left_out == tuple(each.name for each in INPUTS[len(bound.found) :])
    monkeypatch.setattr(work, "MOST", 10)
    counted = Work()
    counted.flown(2)
    assert counted.has_room_for(1)
    assert not counted.has_room_for(2)
    counted.judged(2)
    assert not counted.has_room_for()
    assert MOST > 1000
