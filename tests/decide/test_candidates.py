"""What attempts share, and what of them is never looked at, changes nothing that is found."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.arrival import Arrival
from decision.attempt.draw import draw
from decision.decide.attempts import Candidates, JudgedAttempt, JudgedAttempts, preference
from decision.flight.situation import Situation, situation_of
from decision.flight.tried import AS_IT_IS
from decision.recommend import decide_varied
from tests.case.builders import NAMES
from tests.case.loaded import runway as runway_of
from tests.decide.builders import best_of, case_of, judged


class Asked(JudgedAttempts):
    """Attempts that remember who was asked for."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[Situation, Arrival, Candidates]] = []

    def at(self, situation: Situation, arrival: Arrival) -> Candidates:
        candidates = super().at(situation, arrival)
        self.found.append((situation, arrival, candidates))
        return candidates


def asked_in(name: str, changes: dict[str, Any]) -> list[tuple[Situation, Arrival, Candidates]]:
    """The arrivals of a decision, with the candidates that it looked at as far as it had to."""
    attempts, case = Asked(), case_of(name, **changes)
    decide_varied(case, AS_IT_IS, like=situation_of(case), attempts=attempts)
    return attempts.found


def flown_elsewhere(judged: JudgedAttempt, ident: str) -> bool:
    runway = judged.attempt.runway
    return runway is not None and runway.ident != ident


BRAKING = {"icao": "XBRE", "at": "2026-03-14T05:48:00Z", "braking": "medium"}
VARIED: tuple[dict[str, Any], ...] = (
    {},
    {"/policy/alternate_bar": "planning"},
    {"/rulebook": "faa-121"},
    {"/rulebook": "easa", "/observations": [BRAKING]},  # grows old, between one landing and another
)


@pytest.mark.parametrize("changes", VARIED, ids=str)
@pytest.mark.parametrize("name", NAMES)
def test_the_best_of_an_arrival_is_that_of_all_its_attempts_each_by_itself(
    name: str, changes: dict[str, Any]
) -> None:
    """One draw and one judgement of its own for each, against what is shared and left out."""
    asked = asked_in(name, changes)
    assert asked
    for situation, arrival, candidates in asked:
        alone = judged(situation, draw(situation, arrival))
        assert candidates.best() == best_of(alone)
        for runway in arrival.leg.aerodrome.runways:
            others = [each for each in alone if flown_elsewhere(each, runway.ident)]
            best = best_of(others) if others else None
            assert candidates.best_elsewhere(runway.ident) == best
        assert tuple(candidates) == alone


def test_the_longer_runway_is_preferred_and_last_one_of_which_nothing_is_left() -> None:
    longer = runway_of(lda_m=2500.0, length_m=3000.0)
    by_length = runway_of(lda_m=None, length_m=2000.0)
    nothing_left = runway_of(lda_m=0.0, length_m=4000.0)
    given = [nothing_left, by_length, longer]
    assert sorted(given, key=lambda each: preference(None, each, None)) == given[::-1]
