"""Every rule on every course; what passes, what fails, and what nobody knows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from decision.course import Course
from decision.courses.situation import Situation
from decision.rules import COURSE_RULES, attempt_breach, course_breach, findings_on
from decision.rules.finding import Finding, Outcome
from decision.rules.registry import Breach, Context, judge_course


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedCourse:
    """A course with all findings, those on the approach to be missed apart from the rest.

    `breaches` pairs every broken rule with what the breach means, the worst first. `legal`: True,
    False, or None when something is UNKNOWN and nothing FAILs.
    """

    course: Course
    approach_findings: tuple[Finding, ...]
    escape_findings: tuple[Finding, ...]
    breaches: tuple[tuple[Breach, Finding], ...]
    legal: bool | None

    @property
    def found(self) -> tuple[Finding, ...]:
        """Everything, as it was found: the approach first, then the way out."""
        return (*self.approach_findings, *self.escape_findings)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything, in the order of rule codes; the destination before the alternate."""
        return tuple(sorted(self.found, key=lambda finding: finding.rule))

    def legal_if(self, *, unknown: bool) -> bool:
        """Legality when everything UNKNOWN turned out well, or badly."""
        return unknown if self.legal is None else self.legal


def legality(findings: Iterable[Finding]) -> bool | None:
    """FAIL and UNKNOWN is FAIL; UNKNOWN alone is None."""
    outcomes = {finding.judgement.outcome for finding in findings}
    if Outcome.FAIL in outcomes:
        return False
    return None if Outcome.UNKNOWN in outcomes else True


def judge(situation: Situation, courses: Sequence[Course]) -> tuple[JudgedCourse, ...]:
    """Judge each course on its own."""
    context = situation.context
    return tuple(_judged(course, context) for course in courses)


def _judged(course: Course, context: Context) -> JudgedCourse:
    approach: list[Finding] = []
    escape: list[Finding] = []
    breaches: list[tuple[Breach, Finding]] = []
    for attempt in course.attempts:
        found = findings_on(attempt, context)
        (escape if attempt is course.attempts[-1] else approach).extend(found)
        breaches += [
            (attempt_breach(finding, attempt, context), finding) for finding in _failed(found)
        ]
    found = judge_course(COURSE_RULES, course, context)
    escape += found
    breaches += [(course_breach(finding, course), finding) for finding in _failed(found)]
    return JudgedCourse(
        course=course,
        approach_findings=tuple(approach),
        escape_findings=tuple(escape),
        breaches=tuple(sorted(breaches, key=lambda pair: (pair[0], pair[1].rule))),
        legal=legality((*approach, *escape)),
    )


def _failed(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    return tuple(finding for finding in findings if finding.outcome is Outcome.FAIL)
