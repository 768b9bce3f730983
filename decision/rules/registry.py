"""What a rule is, and how a table of them judges an attempt or a course.

A rule is one small function in a table: a code that is never reused, a title, the row of the
rulebook that it cites, what it weighs when broken, where it applies, and its check. Every rule is
evaluated, none calls another, and the findings come out in the order of their codes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Final, Generic, TypeVar

from decision.case import Case
from decision.course import Attempt, Course, CourseKind, Role
from decision.rules.combine import not_applicable
from decision.rules.finding import Finding, Judgement
from decision.rules.rulebook import Rulebook


class Breach(IntEnum):
    """What a broken rule means for a crew that has to land somewhere; the worst first.

    The order of the least-bad course. Landing with hardly any fuel left stands directly behind a
    runway that is too short, which is this project's own placing [ASSUMED].
    """

    CANNOT_BE_FLOWN = 0
    ENGINES_STOP = 1
    RUNWAY_TOO_SHORT = 2
    RESERVE_NEARLY_GONE = 3
    OBSTACLES_WITH_MISS_LIKELY = 4
    BELOW_MINIMA = 5
    WIND_LIMIT = 6
    UNDER_RESERVE = 7
    GRADIENT = 8
    LANDING_MASS = 9
    COMMIT_CONDITIONS = 10
    PLANNING_BAR = 11


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """What a rule may look at besides the thing it judges."""

    case: Case
    rulebook: Rulebook


Subject = TypeVar("Subject", Attempt, Course)
Check = Callable[[Subject, Context], Judgement]

EVERY_ROLE: Final = frozenset(Role)
EVERY_KIND: Final = frozenset(CourseKind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule(Generic[Subject]):
    """One rule. `applies` is a set of roles for attempts, of kinds for courses."""

    code: str
    title: str
    row: str
    breach: Breach
    applies: frozenset[Role] | frozenset[CourseKind]
    check: Check[Subject]


def judge_attempt(
    rules: Sequence[Rule[Attempt]], attempt: Attempt, context: Context
) -> tuple[Finding, ...]:
    """Every finding on one attempt, in the order of the table."""
    return tuple(
        _finding(rule, attempt.icao, context, _checked(rule, attempt, attempt.role, context))
        for rule in rules
    )


def judge_course(
    rules: Sequence[Rule[Course]], course: Course, context: Context
) -> tuple[Finding, ...]:
    """Every finding on the course itself, in the order of the table."""
    return tuple(
        _finding(rule, course.icao, context, _checked(rule, course, course.kind, context))
        for rule in rules
    )


def _checked(
    rule: Rule[Subject], subject: Subject, what: Role | CourseKind, context: Context
) -> Judgement:
    if what not in rule.applies:
        where = ", ".join(sorted(rule.applies))
        return not_applicable(f"{rule.title}: judged for {where} only")
    return rule.check(subject, context)


def _finding(rule: Rule[Subject], at: str, context: Context, judgement: Judgement) -> Finding:
    return Finding(
        rule=rule.code,
        title=rule.title,
        at=at,
        citation=context.rulebook.row(rule.row).citation,
        judgement=judgement,
    )
