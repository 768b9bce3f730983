"""The best procedure and runway at one aerodrome: it breaks least, then has the wind and length."""

from __future__ import annotations

import math
from collections.abc import Sequence

from decision.course import Attempt
from decision.courses.situation import Situation
from decision.rules import findings_on
from decision.rules.breach import Breach
from decision.rules.finding import Outcome
from decision.rules.registry import Context

Badness = tuple[int, int, int, int, float, float, float, str]


def best_attempt(situation: Situation, candidates: Sequence[Attempt]) -> Attempt:
    """The candidate that a crew would choose. Raises ValueError without candidates."""
    if len(candidates) == 1:
        return candidates[0]
    context = situation.context
    return min(candidates, key=lambda attempt: _badness(attempt, context))


def _badness(attempt: Attempt, context: Context) -> Badness:
    """Worst breach, number of breaches, of unknowns, of what is advised against; then the runway.

    Only what binds is a breach. Of runways alike in that the one with more headwind, then the
    longer one; of procedures on it the one with the lower minimum. The name makes the order total.
    """
    breaches: list[Breach] = []
    unknowns = advised = 0
    for finding in findings_on(attempt, context):
        outcome = finding.judgement.outcome
        if outcome is Outcome.UNKNOWN:
            unknowns += 1
        elif outcome is Outcome.FAIL and finding.binds:
            breaches.append(finding.breach)
        elif outcome is Outcome.FAIL:
            advised += 1
    worst = min(breaches, default=None)
    severity = 0 if worst is None else len(Breach) - worst
    approach = attempt.approach
    minimum_ft = None if approach is None else approach.minimum_height_ft
    return (
        severity,
        len(breaches),
        unknowns,
        advised,
        math.inf if attempt.wind is None else -attempt.wind.headwind_kt,
        math.inf if attempt.runway is None else -attempt.runway.lda_m,
        math.inf if minimum_ft is None else minimum_ft,
        "" if approach is None else approach.id,
    )
