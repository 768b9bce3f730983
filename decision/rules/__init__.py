"""Every rule there is, in the order of codes, and what breaking one means."""

from __future__ import annotations

from typing import Final

from decision.attempt.attempt import Attempt
from decision.case.types import Policy
from decision.errors import Fault
from decision.rules import (
    aerodrome,
    approach,
    climb,
    cold,
    commit,
    engine_out,
    enroute,
    fuel,
    hazard,
    landing,
    weather,
    wind,
)
from decision.rules.finding import Finding
from decision.rules.registry import (
    AnyRule,
    Context,
    CourseRule,
    Rule,
    RuleAmong,
    Scenes,
    judge_attempt,
)
from decision.rules.row import Figure

ATTEMPT_RULES: Final[tuple[Rule, ...]] = tuple(
    sorted(
        (
            *aerodrome.RULES,
            *approach.RULES,
            *climb.RULES,
            *cold.RULES,
            *commit.RULES,
            *hazard.RULES,
            *landing.RULES,
            *weather.RULES,
            *wind.RULES,
        ),
        key=lambda rule: rule.code,
    )
)
COURSE_RULES: Final[tuple[CourseRule, ...]] = tuple(
    sorted(
        (*commit.COURSE_RULES, *enroute.RULES, *fuel.RULES, *weather.COURSE_RULES),
        key=lambda rule: rule.code,
    )
)
AMONG_RULES: Final[tuple[RuleAmong, ...]] = engine_out.RULES
RETIRED: Final[dict[str, str]] = {
    "CM-03": "thunderstorms are hazardous weather like others: CM-06",
}
"""Codes that must never be used again, with what became of them."""

RULES: Final[tuple[AnyRule, ...]] = tuple(
    sorted((*ATTEMPT_RULES, *COURSE_RULES, *AMONG_RULES), key=lambda rule: rule.code)
)


def code_told(figure: Figure) -> str:
    """The code of the rule that has the limit of a figure."""
    return next(rule.code for rule in RULES if rule.figure is figure)


def findings_on(
    attempt: Attempt, context: Context, scenes: Scenes | None = None
) -> tuple[Finding, ...]:
    """Every finding on an attempt; `scenes`: what was found of those of this case before."""
    return judge_attempt(ATTEMPT_RULES, attempt, context, Scenes() if scenes is None else scenes)


def adoption_faults(policy: Policy) -> tuple[Fault, ...]:
    """A fault for every code that the operator adopts and that no rule has."""
    known = {rule.code for rule in RULES}
    return tuple(
        Fault(
            pointer="/policy/adopt",
            code="unknown_rule",
            message=f"there is no rule {code}",
            accepted=f"codes of rules: {', '.join(sorted(known))}",
        )
        for code in sorted(policy.adopt - known)
    )
