"""Attempts with what the rules find on them: each judged once, and the best of them at a place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import msgspec

from decision.attempt.arrival import Arrival
from decision.attempt.attempt import Attempt, RunwayWind
from decision.attempt.draw import Drawing
from decision.attempt.site import Sites, tried_at
from decision.case import Approach, Runway
from decision.decide.work import Work
from decision.flight.situation import Situation
from decision.rules import findings_on
from decision.rules.finding import FAIL, UNKNOWN, Finding
from decision.rules.registry import Scenes
from decision.rules.row import Breach

Broken = tuple[int, int, int, int]
Preference = tuple[float, float, float, str]


class JudgedAttempt(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """An attempt and every finding on it, in the order of codes."""

    attempt: Attempt
    findings: tuple[Finding, ...]


class Candidates:
    """The attempts of one arrival, each drawn and judged when it is looked at, and then kept.

    `work` counts them.
    """

    def __init__(self, situation: Situation, drawing: Drawing, scenes: Scenes, work: Work) -> None:
        self._situation, self._drawing, self._scenes, self._work = situation, drawing, scenes, work
        self._judged: list[JudgedAttempt | None] = [None] * len(drawing.procedures)

    def __len__(self) -> int:
        return len(self._judged)

    def __iter__(self) -> Iterator[JudgedAttempt]:
        return map(self._at, range(len(self)))

    def _at(self, number: int) -> JudgedAttempt:
        found = self._judged[number]
        if found is None:
            attempt = self._drawing.attempt(self._drawing.procedures[number])
            findings = findings_on(attempt, self._situation, self._scenes)
            found = self._judged[number] = JudgedAttempt(attempt=attempt, findings=findings)
            self._work.judged(1)
        return found

    def best(self) -> JudgedAttempt:
        """The one that a crew would choose: it breaks least, then has the wind and length. What is
        preferred is judged first: if nothing is wrong with it, it is the best, and nobody need know
        what is wrong with the others.
        """
        return self._best_among(range(len(self)))

    def best_elsewhere(self, ident: str) -> JudgedAttempt | None:
        """The best to a runway of another name; None where there is none."""
        on = [self._drawing.runway(each)[0] for each in self._drawing.procedures]
        others = [i for i, each in enumerate(on) if each is not None and each.ident != ident]
        return self._best_among(others) if others else None

    def _best_among(self, numbers: Sequence[int]) -> JudgedAttempt:
        if len(numbers) == 1:
            return self._at(numbers[0])
        preferred = iter(sorted(numbers, key=self._preference))
        best = self._at(next(preferred))
        least = breaks_of(best)
        while any(least) and (number := next(preferred, None)) is not None:
            broken = breaks_of(self._at(number))
            if broken < least:
                best, least = self._at(number), broken
        return best

    def _preference(self, number: int) -> Preference:
        approach = self._drawing.procedures[number]
        return preference(approach, *self._drawing.runway(approach))


class JudgedAttempts:
    """The attempts of one case and of what varies it, each drawn and judged once.

    They are found by what they depend on: where, when, what for, how heavy, by which procedure, and
    what is tried out there. All else is the same in a case and in its variations (`Situation`).
    `work` counts the arrivals that are drawn, and the attempts that are judged.
    """

    def __init__(self, work: Work | None = None) -> None:
        self.work = Work() if work is None else work
        self._found: dict[tuple[object, ...], Candidates] = {}
        self._sites, self._scenes = Sites(), Scenes()

    def at_each(self, situation: Situation, arrivals: Iterable[Arrival]) -> tuple[Candidates, ...]:
        """The attempts of each arrival."""
        return tuple([self.at(situation, arrival) for arrival in arrivals])

    def at(self, situation: Situation, arrival: Arrival) -> Candidates:
        """The attempts of one arrival."""
        key = _key(situation, arrival)
        found = self._found.get(key)
        if found is None:
            drawing = Drawing(situation, arrival, self._sites)
            found = self._found[key] = Candidates(situation, drawing, self._scenes, self.work)
            self.work.drawn()
        return found


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


def preference(
    approach: Approach | None, runway: Runway | None, wind: RunwayWind | None
) -> Preference:
    """Of what is alike in what it breaks the runway with more headwind, then the longer one.

    Of procedures on it the one with the lower minimum. The name makes the order total.
    """
    minimum_ft = None if approach is None else approach.minimum_height_ft
    return (
        math.inf if wind is None else -wind.headwind_kt,
        math.inf if runway is None else -(runway.longest_m or 0.0),
        math.inf if minimum_ft is None else minimum_ft,
        "" if approach is None else approach.id,
    )


def breaks_of(judged: JudgedAttempt) -> Broken:
    """Worst breach, number of breaches, of unknowns, of what is advised against.

    Only what binds is a breach.
    """
    breaches: list[Breach] = []
    unknowns = advised = 0
    for finding in judged.findings:
        outcome = finding.judgement.outcome
        if outcome is UNKNOWN:
            unknowns += 1
        elif outcome is FAIL and finding.binds:
            breaches.append(finding.breach)
        elif outcome is FAIL:
            advised += 1
    worst = min(breaches, default=None)
    severity = 0 if worst is None else len(Breach) - worst
    return severity, len(breaches), unknowns, advised
