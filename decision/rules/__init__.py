"""Every rule there is, in the order of codes, and what breaking one means."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from decision.case.types import Policy
from decision.course import Attempt, Course
from decision.errors import Fault
from decision.rules import (
    aerodrome,
    approach,
    climb,
    climb_limited,
    cold,
    commit,
    engine_out,
    enroute,
    fuel,
    hazard,
    landing,
    low_visibility,
    weather,
    wind,
)
from decision.rules.among import RuleAmong
from decision.rules.finding import Finding
from decision.rules.registry import Context, Rule, Stateable, judge_attempt

ATTEMPT_RULES: Final[tuple[Rule[Attempt], ...]] = tuple(
    sorted(
        (
            *aerodrome.RULES,
            *approach.RULES,
            *climb.RULES,
            *climb_limited.RULES,
            *cold.RULES,
            *commit.RULES,
            *hazard.RULES,
            *landing.RULES,
            *low_visibility.RULES,
            *weather.RULES,
            *wind.RULES,
        ),
        key=lambda rule: rule.code,
    )
)
COURSE_RULES: Final[tuple[Rule[Course], ...]] = tuple(
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

_TABLES: Final[tuple[Sequence[Stateable], ...]] = (ATTEMPT_RULES, COURSE_RULES, AMONG_RULES)
GRADIENT_CODE: Final = "MA-01"  # a gradient against a gradient
OBSTACLE_CODE: Final = "MA-02"  # heights over obstacles
GRADIENT_CODES: Final = frozenset(rule.code for rule in climb.RULES)
FUEL_CODES: Final = frozenset(rule.code for rule in fuel.RULES)
COMMIT_CODES: Final = frozenset(rule.code for rule in commit.RULES) | frozenset(
    rule.code for rule in commit.COURSE_RULES
)
AGAIN_CODES: Final = frozenset(rule.code for rule in commit.COURSE_RULES)  # fuel, once more
LANDING_CODES: Final = frozenset(rule.code for rule in landing.RULES)
STOPPING_CODES: Final = frozenset({"LD-01", "LD-02"})  # whether the aircraft stops at all
DISTANCE_CODES: Final = frozenset({"LD-01"})  # runway needed against runway there
WIND_CODES: Final = frozenset(rule.code for rule in wind.RULES)
WAITABLE_TOPICS: Final = ("WD-", "HZ-", "WX-03")  # wind and hazards, which may pass
ATTEMPT_CODES: Final = frozenset(rule.code for rule in _TABLES[0])
BAN_CODE: Final = "AP-02"
FAR_ABOVE_CODES: Final = frozenset({"CM-01", "CM-02"})  # weather of a committed landing
WEATHER_TOPICS: Final = ("AP-", "WX-", "WD-", "HZ-")  # what reports of a place tell
WEATHER_CODES: Final = frozenset({"AP-02", "WX-01", "WX-02"})  # a ceiling or a visibility


def findings_on(attempt: Attempt, context: Context) -> tuple[Finding, ...]:
    """Every finding on an attempt."""
    return judge_attempt(ATTEMPT_RULES, attempt, context)


def adoption_faults(policy: Policy) -> tuple[Fault, ...]:
    """A fault for every code that the operator adopts and that no rule has."""
    known = {rule.code for rules in _TABLES for rule in rules}
    return tuple(
        Fault(
            pointer="/policy/adopt",
            code="unknown_rule",
            message=f"there is no rule {code}",
            accepted=f"codes of rules: {', '.join(sorted(known))}",
        )
        for code in sorted(policy.adopt - known)
    )
