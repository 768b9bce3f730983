"""Every rule there is, in the order of codes, and what breaking one means."""

from __future__ import annotations

from typing import Final

from decision.course import Attempt, Course
from decision.rules import (
    aerodrome,
    approach,
    climb,
    commit,
    engine_out,
    enroute,
    fuel,
    landing,
    weather,
    wind,
)
from decision.rules.among import RuleAmong
from decision.rules.finding import Finding
from decision.rules.registry import Breach, Context, Rule, judge_attempt
from decision.units import MIN_PER_H

ATTEMPT_RULES: Final[tuple[Rule[Attempt], ...]] = tuple(
    sorted(
        (
            *aerodrome.RULES,
            *approach.RULES,
            *climb.RULES,
            *commit.RULES,
            *landing.RULES,
            *weather.RULES,
            *wind.RULES,
        ),
        key=lambda rule: rule.code,
    )
)
COURSE_RULES: Final[tuple[Rule[Course], ...]] = tuple(
    sorted((*enroute.RULES, *fuel.RULES, *weather.COURSE_RULES), key=lambda rule: rule.code)
)
AMONG_RULES: Final[tuple[RuleAmong, ...]] = engine_out.RULES
RETIRED: Final[dict[str, str]] = {}
"""Codes that must never be used again, with what became of them."""

NEARLY_GONE_MIN: Final = 10.0  # minutes of fuel on landing that are as good as none [ASSUMED]
_BREACH: Final[dict[str, Breach]] = {
    **{rule.code: rule.breach for rule in ATTEMPT_RULES},
    **{rule.code: rule.breach for rule in COURSE_RULES},
    **{rule.code: rule.breach for rule in AMONG_RULES},
}
GRADIENT_CODE: Final = "MA-01"  # a gradient against a gradient
OBSTACLE_CODE: Final = "MA-02"  # heights over obstacles
GRADIENT_CODES: Final = frozenset(rule.code for rule in climb.RULES)
FUEL_CODES: Final = frozenset(rule.code for rule in fuel.RULES)
COMMIT_CODES: Final = frozenset(rule.code for rule in commit.RULES)
LANDING_CODES: Final = frozenset(rule.code for rule in landing.RULES)
DISTANCE_CODES: Final = frozenset({"LD-01"})  # runway needed against runway there
WIND_CODES: Final = frozenset(rule.code for rule in wind.RULES)
WEATHER_CODES: Final = frozenset({"AP-02", "WX-01", "WX-02"})  # a ceiling or a visibility
_BAR: Final = frozenset({"WX-01", "WX-02"})


def findings_on(attempt: Attempt, context: Context) -> tuple[Finding, ...]:
    """Every finding on an attempt, judged once however many courses begin or end with it."""
    kept = context.found.get(id(attempt))
    if kept is None:
        kept = attempt, judge_attempt(ATTEMPT_RULES, attempt, context)
        context.found[id(attempt)] = kept
    return kept[1]


def attempt_breach(finding: Finding, attempt: Attempt, context: Context) -> Breach:
    """What a broken rule means for this attempt: the same gradient is worse with a miss likely."""
    if finding.rule in GRADIENT_CODES and approach.miss_likely(attempt, context) is not False:
        return Breach.OBSTACLES_WITH_MISS_LIKELY
    if finding.rule in _BAR and weather.only_planning_bar(attempt, context):
        return Breach.PLANNING_BAR
    return _BREACH[finding.rule]


def course_breach(finding: Finding, course: Course) -> Breach:
    """What a broken rule means for this course: little fuel is worse the less of it is left."""
    if finding.rule not in FUEL_CODES or course.ledger is None:
        return _BREACH[finding.rule]
    if course.ledger.landing_kg <= 0.0:
        return Breach.ENGINES_STOP
    nearly_gone_kg = course.holding_flow_kg_per_h * NEARLY_GONE_MIN / MIN_PER_H
    if course.ledger.landing_kg <= nearly_gone_kg:
        return Breach.RESERVE_NEARLY_GONE
    return Breach.UNDER_RESERVE
