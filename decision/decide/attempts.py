"""Attempts with what the rules find on them: each judged once, and the best of them at a place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import msgspec

from decision.attempt.arrival import Arrival
from decision.attempt.attempt import Attempt
from decision.attempt.draw import draw
from decision.attempt.site import Sites, tried_at
from decision.decide.work import Work
from decision.flight.situation import Situation
from decision.rules import findings_on
from decision.rules.finding import Finding, Outcome
from decision.rules.registry import Scenes
from decision.rules.row import Breach

Badness = tuple[int, int, int, int, float, float, float, str]


class JudgedAttempt(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """An attempt and every finding on it, in the order of codes."""

    attempt: Attempt
    findings: tuple[Finding, ...]


class JudgedAttempts:
    """The attempts of one case and of what varies it, each drawn and judged once.

    They are found by what they depend on: where, when, what for, how heavy, by which procedure, and
    what is tried out there. All else is the same in a case and in its variations (`Situation`).
    `work` counts them.
    """

    def __init__(self, work: Work | None = None) -> None:
        self.work = Work() if work is None else work
        self._found: dict[tuple[object, ...], tuple[JudgedAttempt, ...]] = {}
        self._sites, self._scenes = Sites(), Scenes()

    def at_each(
        self, situation: Situation, arrivals: Iterable[Arrival]
    ) -> tuple[tuple[JudgedAttempt, ...], ...]:
        """The attempts of each arrival: all that are new are drawn first, then judged."""
        asked = [(_key(situation, arrival), arrival) for arrival in arrivals]
        new = {key: arrival for key, arrival in asked if key not in self._found}
        drawn = {key: draw(situation, arrival, self._sites) for key, arrival in new.items()}
        for key, attempts in drawn.items():
            self._found[key] = judged(situation, attempts, self._scenes)
            self.work.judged(len(attempts))
        return tuple(self._found[key] for key, _ in asked)

    def at(self, situation: Situation, arrival: Arrival) -> tuple[JudgedAttempt, ...]:
        """The attempts of one arrival."""
        return self.at_each(situation, (arrival,))[0]


def _key(situation: Situation, arrival: Arrival) -> tuple[object, ...]:
    return (
        arrival.leg.aerodrome.icao,
        tried_at(situation, arrival.leg),
        arrival.role,
        arrival.at,
        arrival.window,
        arrival.mass_kg,
        arrival.approach_id,
        arrival.runway_ident,
    )


def judged(
    situation: Situation, attempts: Sequence[Attempt], scenes: Scenes | None = None
) -> tuple[JudgedAttempt, ...]:
    """Every rule on each attempt; `scenes`: what was found of those of this case before."""
    scenes = Scenes() if scenes is None else scenes
    return tuple(
        JudgedAttempt(attempt=each, findings=findings_on(each, situation, scenes))
        for each in attempts
    )


def best_of(candidates: Sequence[JudgedAttempt]) -> JudgedAttempt:
    """The candidate that a crew would choose: it breaks least, then has the wind and length.

    Raises ValueError without candidates.
    """
    return candidates[0] if len(candidates) == 1 else min(candidates, key=_badness)


def _badness(judged: JudgedAttempt) -> Badness:
    """Worst breach, number of breaches, of unknowns, of what is advised against; then the runway.

    Only what binds is a breach. Of runways alike in that the one with more headwind, then the
    longer one; of procedures on it the one with the lower minimum. The name makes the order total.
    """
    breaches: list[Breach] = []
    unknowns = advised = 0
    for finding in judged.findings:
        outcome = finding.judgement.outcome
        if outcome is Outcome.UNKNOWN:
            unknowns += 1
        elif outcome is Outcome.FAIL and finding.binds:
            breaches.append(finding.breach)
        elif outcome is Outcome.FAIL:
            advised += 1
    worst = min(breaches, default=None)
    severity = 0 if worst is None else len(Breach) - worst
    attempt, approach = judged.attempt, judged.attempt.approach
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
