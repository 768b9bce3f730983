"""Every failure of the catalogue, alone and with every other one, through a whole decision."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from decision.recommend import recommend_mapping
from tests.case.builders import demo, with_changes
from tests.recommend.generated import FAILURE_IDS, failure

# Reports that must say where something stands, here at the lever; a state that one failure needs.
DETAIL = {"flaps-asymmetric": {"detent": "0"}, "flaps-limited": {"detent": "0"}}
STATE: dict[str, dict[str, Any]] = {"gear-alternate-extension-used": {"/aircraft/gear": "down"}}
BEST_FIRST = ("GO", "GO_WITH_CAUTION", "INSUFFICIENT_DATA", "NO_GO")
ONE_ALTERNATE = {"/alternates/0": demo("clean")["alternates"][1], "/fuel/on_board_kg": 5500}


def state_of(*ids: str) -> dict[str, Any]:
    """The state of the aircraft that the failures need; the later one wins."""
    return {place: value for id_ in ids for place, value in STATE.get(id_, {}).items()}


def decided(*ids: str, state: dict[str, Any]) -> Any:
    changes = {
        "/failures": [{**failure(id_), **DETAIL.get(id_, {})} for id_ in ids],
        **ONE_ALTERNATE,
        **state,
    }
    body = with_changes(demo("clean"), changes)
    body["aircraft"]["mass_kg"] = 62_350
    body["alternates"] = body["alternates"][:1]
    return recommend_mapping(case_from_mapping(body))


@cache
def alone(id_: str, state: tuple[tuple[str, Any], ...]) -> str:
    return str(decided(id_, state=dict(state))["verdict"])


def assert_explains_itself(told: Any) -> None:
    assert told["headline"]
    assert told["courses"]
    for lost in told["capability"]["lost"]:
        assert lost["because"], lost["function"]
    for limit in told["capability"]["limits"]:
        assert limit["because"], limit["name"]
    for course in told["courses"]:
        assert course["findings"]
        if course["legal"] is not True:
            assert any(each["outcome"] in {"FAIL", "UNKNOWN"} for each in course["findings"])


@pytest.mark.parametrize("first", FAILURE_IDS)
def test_a_failure_with_any_other_is_decided_explained_and_never_better_than_alone(
    first: str,
) -> None:
    for second in FAILURE_IDS[FAILURE_IDS.index(first) :]:
        state = state_of(first, second)
        if (first, second) in CONTRADICTORY:
            with pytest.raises(InvalidCase, match="contradicts failure"):
                decided(first, second, state=state)
            continue
        told = decided(first, second, state=state)
        assert_explains_itself(told)
        key = tuple(sorted(state.items()))
        worst = max(BEST_FIRST.index(alone(id_, key)) for id_ in (first, second))
        go = BEST_FIRST.index("GO_WITH_CAUTION")
        rank = BEST_FIRST.index(told["verdict"])
        assert rank >= worst or min(rank, worst) > go, (first, second)


# One says that the gear is down by the alternate system, the other that a main leg is up.
CONTRADICTORY = {
    ("gear-alternate-extension-used", "gear-main-leg-stuck"),
    ("gear-alternate-extension-used", "gear-nose-leg-stuck"),
}
