"""What the truth table asks of the judged courses, with every unknown taken one way.

Asked twice, once with all unknowns good and once with all bad: if the answers agree, the unknowns
do not matter to the verdict.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from decision.course import CourseKind, Origin
from decision.courses.judge import JudgedCourse, legality
from decision.courses.margin import margin_p95_kg, policy_margin_kg
from decision.courses.situation import Situation
from decision.rules import (
    COMMIT_CODES,
    FUEL_CODES,
    GRADIENT_CODE,
    LANDING_CODES,
    OBSTACLE_CODE,
)
from decision.rules.approach import miss_likely
from decision.rules.finding import Finding, Outcome
from decision.systems import Urgency
from decision.units import FT_PER_NM, PERCENT

MODEL_ERROR_PERCENT: Final = 0.6  # gradient points; accuracy of the climb model [ASSUMED]


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Legal courses by what they are good for, best first in each."""

    usable: bool
    escapes: tuple[JudgedCourse, ...]
    robust: tuple[JudgedCourse, ...]
    diverts: tuple[JudgedCourse, ...]
    waits: tuple[JudgedCourse, ...]
    commit: JudgedCourse | None
    no_other_runway: bool
    time_critical: bool
    miss_likely: bool
    gradient_within_error: bool


def facts_of(courses: Sequence[JudgedCourse], situation: Situation, *, unknown: bool) -> Facts:
    """The facts, with every UNKNOWN finding taken as passed (`unknown`) or as failed."""
    context = situation.context
    approaches = [each for each in courses if each.course.kind is CourseKind.APPROACH_THEN_DIVERT]
    commits = [each for each in courses if each.course.kind is CourseKind.COMMIT_TO_LAND]
    escapes = tuple(each for each in approaches if each.legal_if(unknown=unknown))
    diverts = tuple(
        each
        for each in courses
        if each.course.kind is CourseKind.DIVERT_NOW
        and each.course.origin is Origin.PRESENT
        and each.legal_if(unknown=unknown)
    )
    return Facts(
        usable=_usable([*approaches, *commits], unknown=unknown),
        escapes=escapes,
        robust=tuple(each for each in escapes if has_policy_margin(each, situation)),
        diverts=diverts,
        waits=tuple(
            each
            for each in courses
            if each.course.kind is CourseKind.HOLD_THEN_APPROACH and each.legal_if(unknown=unknown)
        ),
        commit=next((each for each in commits if each.legal_if(unknown=unknown)), None),
        no_other_runway=_no_other_runway(courses),
        time_critical=situation.capability.urgency is Urgency.AS_SOON_AS_POSSIBLE,
        miss_likely=any(
            miss_likely(attempt, context) is not False
            for each in [*approaches, *commits][:1]
            for attempt in each.course.attempts[:1]
        ),
        gradient_within_error=_climb_within_error([*approaches, *commits]),
    )


def has_policy_margin(judged: JudgedCourse, situation: Situation) -> bool:
    """Whether the margin at the policy's percentile is what the policy wants."""
    margin_kg = margin_p95_kg(judged.course, situation)
    return margin_kg is not None and margin_kg >= policy_margin_kg(judged.course, situation)


def approach_findings(courses: Iterable[JudgedCourse]) -> tuple[Finding, ...]:
    """The findings on the approach at the destination, from any course that has them."""
    for judged in courses:
        if judged.approach_findings:
            return judged.approach_findings
        if judged.course.kind is CourseKind.COMMIT_TO_LAND:
            return tuple(
                finding
                for finding in judged.escape_findings
                if finding.rule not in COMMIT_CODES | FUEL_CODES
            )
    return ()


def _usable(courses: Sequence[JudgedCourse], *, unknown: bool) -> bool:
    found = approach_findings(courses)
    legal = legality(found) if found else None
    return unknown if legal is None else legal


def _no_other_runway(courses: Sequence[JudgedCourse]) -> bool:
    """Whether a diversion fails at every alternate because of its runways."""
    onward = [each for each in courses if each.course.kind is CourseKind.DIVERT_NOW]
    return bool(onward) and all(
        any(
            finding.rule in LANDING_CODES and finding.outcome is Outcome.FAIL
            for finding in each.escape_findings
        )
        for each in onward
    )


def _climb_within_error(courses: Sequence[JudgedCourse]) -> bool:
    """Whether gradient or obstacles pass by less than the model can tell."""
    margins = {finding.rule: finding.margin for finding in approach_findings(courses)}
    attempts = (attempt for each in courses for attempt in each.course.attempts[:1])
    lowest = next((attempt.least_clearance for attempt in attempts), None)
    errors = {GRADIENT_CODE: MODEL_ERROR_PERCENT}
    if lowest is not None:
        run_ft = lowest.obstacle.distance_nm * FT_PER_NM
        errors[OBSTACLE_CODE] = MODEL_ERROR_PERCENT / PERCENT * run_ft
    return any(
        (margin := margins.get(rule)) is not None and 0.0 <= margin < error
        for rule, error in errors.items()
    )
