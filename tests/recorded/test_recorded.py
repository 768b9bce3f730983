"""What is decided of the demo cases and of 500 cases by chance stays what it was."""

from __future__ import annotations

import pytest

from tests.counts import PROPERTY_CASES, QUICK
from tests.recorded.facts import differences
from tests.recorded.keep import decided, names, recorded

SHARE = 1 if PROPERTY_CASES > QUICK else 5  # in the quick tier every fifth case by chance
TRIED = [name for name in names() if not name.isdigit() or int(name) % SHARE == 0]


@pytest.mark.parametrize("name", TRIED)
def test_the_decision_is_the_recorded_one(name: str) -> None:
    assert not list(differences(recorded(name), decided(name)))


def test_a_change_of_any_member_is_told() -> None:
    facts = recorded("clean")
    assert facts
    for name in facts:
        assert list(differences(facts, {**facts, name: "other"})), name
