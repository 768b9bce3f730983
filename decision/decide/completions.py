"""Unknowns turned one way or the other, to see whether they matter to the answer.

A completion turns every UNKNOWN of one cause together to PASS or to FAIL. Tried are all good, all
bad, and each cause against all the others. Where they all lead to the same verdict, action and
place, what is not known does not matter; where they do not, those causes are what to ask for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from msgspec.structs import replace

from decision.decide.judge import JudgedCourse, judged_course
from decision.rules.finding import FAIL, PASS, UNKNOWN, Cause, Finding, Outcome
from decision.rules.row import ROUTE, Topic

EVERYWHERE: Final = ""  # of a cause that is no place's
OXYGEN: Final = "oxygen"
AIR: Final = frozenset({"QNH", "surface temperature", "wind"})  # what any report tells
DISTANCE: Final = "distance to "


@dataclass(frozen=True, slots=True, kw_only=True)
class Completion:
    """Everything unknown turned well (`good`) or badly, but for one cause that turns otherwise."""

    good: bool
    apart: Cause | None = None

    def turns(self, cause: Cause) -> bool:
        """Whether what is not known of a cause turns out well."""
        return self.good is not (cause == self.apart)


def cause_of(finding: Finding) -> Cause:
    """What would settle a finding: fuel is one thing for all places, a report for all its rules."""
    place, *lacks = finding.cause
    if any(each.startswith(DISTANCE) for each in lacks):
        return (place, ROUTE)
    if finding.by.asked is Topic.FUEL:
        return (EVERYWHERE, *lacks)
    if not AIR.isdisjoint(lacks):
        return (place, *(each for each in lacks if each in AIR))
    return (EVERYWHERE, OXYGEN) if OXYGEN in lacks else (place, *lacks)


def causes_of(courses: Iterable[JudgedCourse]) -> tuple[Cause, ...]:
    """Every cause, in the order of the courses."""
    return tuple(
        dict.fromkeys(
            cause_of(finding)
            for judged in courses
            if judged.legal is not True  # in a legal one nothing is
            for finding in judged.found
            if finding.judgement.outcome is UNKNOWN
        )
    )


def completions_of(causes: Sequence[Cause]) -> tuple[Completion, ...]:
    """All that have to be tried; one where nothing is unknown."""
    if not causes:
        return (Completion(good=True),)
    both = (Completion(good=False), Completion(good=True))
    if len(causes) == 1:
        return both
    apart = (Completion(good=good, apart=cause) for cause in causes for good in (False, True))
    return (*both, *apart)


class Turning:
    """Findings turned: each once, since courses share those on their approaches."""

    def __init__(self) -> None:
        self._seen: dict[int, tuple[Finding, Cause, Finding, Finding]] = {}

    def completed(self, judged: JudgedCourse, completion: Completion) -> JudgedCourse:
        """A course in which nothing is unknown any more."""
        if judged.legal is True or not judged.of_outcome(UNKNOWN):
            return judged
        return judged_course(
            judged.course,
            self._turned(judged.approach_findings, completion),
            self._turned(judged.escape_findings, completion),
            self._turned(judged.own_findings, completion),
        )

    def _turned(self, findings: Sequence[Finding], completion: Completion) -> list[Finding]:
        return [
            self._either(each, completion) if each.judgement.outcome is UNKNOWN else each
            for each in findings
        ]

    def _either(self, finding: Finding, completion: Completion) -> Finding:
        seen = self._seen.get(id(finding))
        if seen is None:
            good, bad = _with(finding, PASS), _with(finding, FAIL)
            seen = self._seen[id(finding)] = finding, cause_of(finding), good, bad
        _, cause, good, bad = seen
        return good if completion.turns(cause) else bad


def _with(finding: Finding, outcome: Outcome) -> Finding:
    return replace(finding, judgement=replace(finding.judgement, outcome=outcome))
