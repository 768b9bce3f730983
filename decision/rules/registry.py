"""What a rule is, and how a table of them judges an attempt or a course.

A rule is one small function in a table: a code that is never reused, a title, the row of the
rulebook that it cites, what it weighs when broken, where it applies, and its check. Every rule is
evaluated, none calls another, and the findings come out in the order of their codes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Generic, Protocol, TypeVar

from decision.course import Attempt, Course, CourseKind, Role
from decision.rulebooks.asked import Asked
from decision.rulebooks.rulebook import Force, Rulebook
from decision.rules.breach import Breach
from decision.rules.combine import not_applicable
from decision.rules.finding import Finding, Judgement, Stated

Context = Asked


Subject = TypeVar("Subject", Attempt, Course)
Check = Callable[[Subject, Context], Judgement]

EVERY_ROLE: Final = frozenset(Role)
EVERY_KIND: Final = frozenset(CourseKind)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rule(Generic[Subject]):
    """One rule, equal to itself alone. `applies`: roles for attempts, kinds for courses."""

    code: str
    title: str
    row: str
    breach: Breach
    applies: frozenset[Role] | frozenset[CourseKind]
    check: Check[Subject]


class Stateable(Protocol):
    """What every kind of rule has."""

    @property
    def code(self) -> str:
        """A code that is never used again."""

    @property
    def title(self) -> str:
        """In a few words."""

    @property
    def row(self) -> str:
        """The row of the rulebook that it cites."""

    @property
    def breach(self) -> Breach:
        """What breaking it ordinarily means."""


def judge_attempt(
    rules: tuple[Rule[Attempt], ...], attempt: Attempt, context: Context
) -> tuple[Finding, ...]:
    """Every finding on one attempt, in the order of the table."""
    return _judged(rules, attempt, attempt.role, context)


def judge_course(
    rules: tuple[Rule[Course], ...], course: Course, context: Context
) -> tuple[Finding, ...]:
    """Every finding on the course itself, in the order of the table."""
    return _judged(rules, course, course.kind, context)


def _judged(
    rules: tuple[Rule[Subject], ...],
    subject: Subject,
    what: Role | CourseKind,
    context: Context,
) -> tuple[Finding, ...]:
    at = subject.icao
    return tuple(
        [
            Finding(
                stated=stated,
                at=at,
                judgement=elsewhere if elsewhere is not None else rule.check(subject, context),
            )
            for rule, stated, elsewhere in _stated(
                rules, what, context.rulebook, context.case.policy.adopt
            )
        ]
    )


PLANS: Final = 256  # tables of rules x roles or kinds x rulebooks that are kept ready


@lru_cache(maxsize=PLANS)
def _stated(
    rules: tuple[Rule[Subject], ...],
    what: Role | CourseKind,
    rulebook: Rulebook,
    adopt: frozenset[str],
) -> tuple[tuple[Rule[Subject], Stated, Judgement | None], ...]:
    """Each rule with its name in this rulebook, and the judgement where it does not apply.

    Worked out once for a table, since a decision asks every rule some fifty times.
    """
    return tuple(
        (
            rule,
            stated(rule, rulebook, adopt),
            None if what in rule.applies else _elsewhere(rule),
        )
        for rule in rules
    )


def stated(rule: Stateable, rulebook: Rulebook, adopt: frozenset[str]) -> Stated:
    """A rule in the words of a rulebook; guidance that the operator has adopted is policy."""
    row = rulebook.row(rule.row)
    adopted = row.force is Force.GUIDANCE and rule.code in adopt
    return Stated(
        rule=rule.code,
        title=rule.title,
        citation=row.citation,
        force=Force.POLICY if adopted else row.force,
        breach=rule.breach,
    )


def _elsewhere(rule: Rule[Subject]) -> Judgement:
    where = ", ".join(sorted(rule.applies))
    return not_applicable(f"{rule.title}: judged for {where} only")
