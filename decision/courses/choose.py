"""The best procedure and runway at one aerodrome: it breaks least, then stops shortest."""

from __future__ import annotations

import math
from collections.abc import Sequence

from decision.course import Attempt
from decision.courses.situation import Situation
from decision.rules import findings_on
from decision.rules.breach import Breach
from decision.rules.finding import Outcome
from decision.rules.registry import Context


def best_attempt(situation: Situation, candidates: Sequence[Attempt]) -> Attempt:
    """The candidate that a crew would choose. Raises ValueError without candidates."""
    if len(candidates) == 1:
        return candidates[0]
    context = situation.context
    return min(candidates, key=lambda attempt: _badness(attempt, context))


def _badness(attempt: Attempt, context: Context) -> tuple[int, int, int, float, str]:
    """Worst breach, number of breaches, unknowns, landing room wanting, name: a total order."""
    breaches: list[Breach] = []
    unknowns = 0
    for finding in findings_on(attempt, context):
        outcome = finding.judgement.outcome
        if outcome is Outcome.FAIL:
            breaches.append(finding.breach)
        elif outcome is Outcome.UNKNOWN:
            unknowns += 1
    worst = min(breaches, default=None)
    severity = 0 if worst is None else len(Breach) - worst
    name = "" if attempt.approach is None else attempt.approach.id
    return severity, len(breaches), unknowns, -_room_m(attempt, context), name


def _room_m(attempt: Attempt, context: Context) -> float:
    distance_m = None if attempt.landing is None else attempt.landing.distance_m
    if distance_m is None or attempt.runway is None:
        return -math.inf
    return attempt.runway.lda_m - distance_m * context.case.policy.landing_factor
