"""Every rule on every course; what passes, what fails, and what nobody knows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from decision.course import Course
from decision.courses.situation import Situation
from decision.rules import ATTEMPT_CODES, COMMIT_CODES, COURSE_RULES, findings_on
from decision.rules.breach import Breach
from decision.rules.finding import Finding, Outcome
from decision.rules.registry import Context, judge_course


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedCourse:
    """A course with all findings, those on the approach to be missed apart from the rest.

    `breaches`: every binding rule that is broken, the worst first. `legal`: True, False, or None
    when something is UNKNOWN and nothing that binds FAILs. `advised_against`: guidance broken by a
    course that may be legal all the same.
    """

    course: Course
    approach_findings: tuple[Finding, ...]
    escape_findings: tuple[Finding, ...]
    breaches: tuple[Finding, ...]
    advised_against: tuple[Finding, ...]
    legal: bool | None

    @property
    def found(self) -> tuple[Finding, ...]:
        """Everything, as it was found: the approach first, then the way out."""
        return (*self.approach_findings, *self.escape_findings)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything, in the order of rule codes; the destination before the alternate."""
        return tuple(sorted(self.found, key=lambda finding: finding.rule))

    @property
    def worst(self) -> Breach | None:
        """The gravest breach; None where no binding rule is broken."""
        return self.breaches[0].breach if self.breaches else None

    @property
    def endangers(self) -> bool:
        """Whether any breach endangers the aircraft."""
        return bool(self.breaches) and self.breaches[0].breach.endangers


def legality(findings: Iterable[Finding]) -> bool | None:
    """A FAIL of what binds is illegal, whatever else is not known; UNKNOWN alone is None."""
    doubtful = False
    for finding in findings:
        outcome = finding.judgement.outcome
        if outcome is Outcome.FAIL and finding.binds:
            return False
        doubtful = doubtful or outcome is Outcome.UNKNOWN
    return None if doubtful else True


def judge(situation: Situation, courses: Sequence[Course]) -> tuple[JudgedCourse, ...]:
    """Judge each course on its own."""
    context = situation.context
    return tuple(_judged(course, context) for course in courses)


def _judged(course: Course, context: Context) -> JudgedCourse:
    approach: list[Finding] = []
    escape: list[Finding] = []
    for attempt in course.attempts:
        found = findings_on(attempt, context)
        (escape if attempt is course.attempts[-1] else approach).extend(found)
    escape += judge_course(COURSE_RULES, course, context)
    return judged_course(course, approach, escape)


def judged_course(
    course: Course, approach: Sequence[Finding], escape: Sequence[Finding]
) -> JudgedCourse:
    """A course with its findings, and what follows from them."""
    failed = sorted(
        (each for each in (*approach, *escape) if each.judgement.outcome is Outcome.FAIL),
        key=gravest_first,
    )
    return JudgedCourse(
        course=course,
        approach_findings=tuple(approach),
        escape_findings=tuple(escape),
        breaches=tuple(each for each in failed if each.binds),
        advised_against=tuple(each for each in failed if not each.binds),
        legal=legality((*approach, *escape)),
    )


def gravest_first(finding: Finding) -> tuple[Breach, str]:
    """Order of what is broken: by what it means, then by code."""
    return finding.breach, finding.rule


def findings_here(commit: JudgedCourse | None) -> tuple[Finding, ...]:
    """What the rules say of the approach at the destination, the conditions of commitment apart."""
    if commit is None:
        return ()
    return tuple(each for each in commit.found if each.rule in ATTEMPT_CODES - COMMIT_CODES)
