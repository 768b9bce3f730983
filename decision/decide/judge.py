"""Every rule on every course, each on its own and then beside the others."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.course import Course, CourseKind
from decision.decide.attempts import JudgedAttempt
from decision.flight.ways import Origin
from decision.rules import AMONG_RULES, COURSE_RULES
from decision.rules.engine_out import ALL_RUN, engine_out
from decision.rules.finding import FAIL, UNKNOWN, Finding, Outcome
from decision.rules.registry import Beside, Context, Standing, judge_among, judge_course, silent
from decision.rules.row import Breach, Topic
from decision.windows import minutes_between

COMMIT: Final = Topic.COMMIT


class JudgedCourse(Struct, frozen=True, kw_only=True, gc=False):
    """A course with all findings: on the approach to be missed, on that at its end, on itself.

    `breaches`: every binding rule that is broken, the worst first. `legal`: True, False, or None
    when something is UNKNOWN and nothing that binds FAILs. `advised_against`: guidance broken by a
    course that may be legal all the same.
    """

    course: Course
    approach_findings: tuple[Finding, ...]
    escape_findings: tuple[Finding, ...]
    own_findings: tuple[Finding, ...]
    breaches: tuple[Finding, ...]
    advised_against: tuple[Finding, ...]
    legal: bool | None

    @property
    def found(self) -> tuple[Finding, ...]:
        """Everything, as it was found: the approach first, then the way out, then the course."""
        return (*self.approach_findings, *self.escape_findings, *self.own_findings)

    def of_outcome(self, outcome: Outcome) -> list[Finding]:
        """Findings of one outcome, in the order of rule codes; the destination before the other."""
        return sorted(
            [each for each in self.found if each.judgement.outcome is outcome],
            key=lambda finding: finding.stated.by.code,
        )

    @property
    def worst(self) -> Breach | None:
        """The gravest breach; None where no binding rule is broken."""
        return self.breaches[0].breach if self.breaches else None

    @property
    def endangers(self) -> bool:
        """Whether any breach endangers the aircraft."""
        return bool(self.breaches) and self.breaches[0].breach.endangers


def first_of(courses: Iterable[JudgedCourse], kind: CourseKind) -> JudgedCourse | None:
    """The first course of a kind; the best of it where they are ranked."""
    return next((each for each in courses if each.course.kind is kind), None)


def legality(findings: Iterable[Finding]) -> bool | None:
    """A FAIL of what binds is illegal, whatever else is not known; UNKNOWN alone is None."""
    doubtful = False
    for finding in findings:
        outcome = finding.judgement.outcome
        if outcome is FAIL and finding.binds:
            return False
        doubtful = doubtful or outcome is UNKNOWN
    return None if doubtful else True


def judge(course: Course, attempts: Sequence[JudgedAttempt], context: Context) -> JudgedCourse:
    """A course on its own, that of attempts which have been judged: the last is the one at its end.

    The attempts are those of the course.
    """
    escape = attempts[-1].findings if attempts else ()
    return judged_course(
        course,
        [finding for each in attempts[:-1] for finding in each.findings],
        escape,
        judge_course(COURSE_RULES, course, context),
    )


def judged_course(
    course: Course,
    approach: Sequence[Finding],
    escape: Sequence[Finding],
    own: Sequence[Finding],
) -> JudgedCourse:
    """A course with its findings, and what follows from them."""
    failed, doubtful = [], False
    for finding in (*approach, *escape, *own):
        outcome = finding.judgement.outcome
        if outcome is FAIL:
            failed.append(finding)
        elif outcome is UNKNOWN:
            doubtful = True
    failed.sort(key=gravest_first)
    breaches = tuple([each for each in failed if each.binds])
    return JudgedCourse(
        course=course,
        approach_findings=tuple(approach),
        escape_findings=tuple(escape),
        own_findings=tuple(own),
        breaches=breaches,
        advised_against=tuple([each for each in failed if not each.binds]),
        legal=False if breaches else None if doubtful else True,
    )


def gravest_first(finding: Finding) -> tuple[Breach, str]:
    """Order of what is broken: by what it means, then by code."""
    return finding.breach, finding.rule


def findings_here(commit: JudgedCourse | None) -> tuple[Finding, ...]:
    """What the rules say of the approach at the destination, the conditions of commitment apart."""
    if commit is None:
        return ()
    return tuple(
        each
        for each in (*commit.approach_findings, *commit.escape_findings)
        if each.by.topic is not COMMIT
    )


def compared(judged: Sequence[JudgedCourse], context: Context) -> tuple[JudgedCourse, ...]:
    """Each course with what the rules find of it among all of them."""
    if not any(engine_out(each.course, context) for each in judged):
        book, adopt = context.rulebook, context.case.policy.adopt
        return tuple(
            [
                replace(
                    each,
                    own_findings=(
                        *each.own_findings,
                        *silent(AMONG_RULES, each.course.icao, book, adopt, ALL_RUN),
                    ),
                )
                for each in judged
            ]
        )
    standings = _standings(judged)
    return tuple(
        _with(each, judge_among(AMONG_RULES, Beside(standing=own, everybody=standings), context))
        for each, own in zip(judged, standings, strict=True)
    )


def _with(judged: JudgedCourse, found: tuple[Finding, ...]) -> JudgedCourse:
    return judged_course(
        judged.course,
        judged.approach_findings,
        judged.escape_findings,
        (*judged.own_findings, *found),
    )


def _standings(judged: Sequence[JudgedCourse]) -> tuple[Standing, ...]:
    here = next(
        (
            each.course
            for each in judged
            if each.course.kind is CourseKind.APPROACH_THEN_DIVERT and each.course.attempts
        ),
        None,
    )
    return tuple(_standing(each, here) for each in judged)


def _standing(judged: JudgedCourse, here: Course | None) -> Standing:
    """How a course stands. One that leaves at the last clean point is on its way to the approach.

    It is weighed by that approach, which it gives up only if the place is no longer suitable.
    """
    first = judged.course
    if first.origin is Origin.LAST_CLEAN_POINT and here is not None:
        first = here
    first_at = first.missed_at or first.arrive_at
    suitable: bool | None = False
    if judged.approach_findings:
        suitable = legality(judged.approach_findings)
    elif first.origin is Origin.PRESENT:
        suitable = judged.legal
    return Standing(
        course=judged.course,
        place=first.attempts[0].icao if first.attempts else first.icao,
        first_min=None if first_at is None else minutes_between(first.start_at, first_at),
        suitable=suitable,
        legal=judged.legal,
        worst=judged.worst,
    )
