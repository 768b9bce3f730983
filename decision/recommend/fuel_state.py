"""Fuel state and emergency: from fuel on landing at places where a safe landing can be made.

[ICAO-ANNEX6] 4.3.7.2.2 and 4.3.7.2.3, as quoted. Not from the verdict: weather alone that leaves no
legal course is distress of another kind, never MAYDAY FUEL.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from decision.course import CourseKind, Origin
from decision.courses.judge import JudgedCourse
from decision.courses.margin import minutes_left
from decision.courses.situation import Situation
from decision.recommend.answer import Basis, Decision, Distress, Emergency, FuelState
from decision.rules import COMMIT_CODES, FUEL_CODES
from decision.rules.finding import Outcome
from decision.systems import Urgency
from decision.units import MIN_PER_H

URGENCY_WORDS: Final = {
    Urgency.NONE: "no declaration called for",
    Urgency.NEAREST_SUITABLE: "a failure that asks for the nearest suitable aerodrome",
    Urgency.AS_SOON_AS_POSSIBLE: "a failure that asks for a landing as soon as possible",
}
NOT_OF_SAFETY: Final = FUEL_CODES | COMMIT_CODES  # fuel is asked; commit conditions are no safety


def fuel_state_of(courses: Sequence[JudgedCourse], situation: Situation) -> FuelState:
    """NORMAL, MINIMUM_FUEL or MAYDAY_FUEL."""
    direct = [judged for judged in courses if _goes_straight(judged)]
    perhaps_safe = [each for each in direct if _outcome(each) is not Outcome.FAIL]
    if not any(_keeps_reserve(each) for each in perhaps_safe or direct):
        return FuelState.MAYDAY_FUEL if direct else FuelState.NORMAL
    keeping = [each for each in direct if _outcome(each) is Outcome.PASS and _keeps_reserve(each)]
    if len(keeping) == 1 and _delay_breaks(keeping[0], situation):
        return FuelState.MINIMUM_FUEL
    return FuelState.NORMAL


def _goes_straight(judged: JudgedCourse) -> bool:
    """One course an aerodrome: straight to an alternate, or landing here; with known fuel."""
    course = judged.course
    straight = course.kind is CourseKind.DIVERT_NOW and course.origin is Origin.PRESENT
    here = course.kind is CourseKind.COMMIT_TO_LAND
    return (straight or here) and course.ledger is not None and not course.unknown


def _outcome(judged: JudgedCourse) -> Outcome:
    """Whether a safe landing can be made there, fuel apart."""
    outcomes = {finding.outcome for finding in judged.findings if finding.rule not in NOT_OF_SAFETY}
    if Outcome.FAIL in outcomes:
        return Outcome.FAIL
    return Outcome.UNKNOWN if Outcome.UNKNOWN in outcomes else Outcome.PASS


def _spare_kg(judged: JudgedCourse) -> float:
    """Fuel on landing above the planned reserve; minus infinity where it was not flown."""
    ledger = judged.course.ledger
    return float("-inf") if ledger is None else ledger.landing_kg - ledger.planned_reserve_kg


def _keeps_reserve(judged: JudgedCourse) -> bool:
    return _spare_kg(judged) >= 0.0


def _delay_breaks(judged: JudgedCourse, situation: Situation) -> bool:
    """Whether a change of clearance could cost the planned reserve."""
    flow = judged.course.holding_flow_kg_per_h
    return _spare_kg(judged) <= flow * situation.case.policy.delay_min / MIN_PER_H


def emergency_of(decision: Decision, state: FuelState, situation: Situation) -> Emergency:
    """What to declare, why, and in which words."""
    callsign = situation.case.flight_id
    if state is FuelState.MAYDAY_FUEL:
        minutes = minutes_left(decision.chosen.course)
        endurance = "" if minutes is None else f", {max(0, int(minutes))} minutes on landing"
        return Emergency(
            level=Distress.DISTRESS,
            reason="no aerodrome can be reached with the planned final reserve",
            phrase=f"MAYDAY MAYDAY MAYDAY FUEL, {callsign}{endurance}",
        )
    if decision.basis is Basis.NO_LEGAL_COURSE:
        broken = "; ".join(_broken(decision.chosen)) or "what is not known"
        return Emergency(
            level=Distress.DISTRESS,
            reason=f"no course keeps every rule: {broken}",
            phrase=f"MAYDAY MAYDAY MAYDAY, {callsign}, intend to land at "
            f"{decision.chosen.course.icao}",
        )
    failed = _from_failures(decision, situation)
    if state is not FuelState.MINIMUM_FUEL:
        return failed
    if failed.level is Distress.NONE:
        return Emergency(
            level=Distress.NONE,
            reason="one aerodrome is left and a delay would cost the final reserve",
            phrase=f"{callsign}, MINIMUM FUEL",
        )
    return replace(failed, phrase=f"{failed.phrase}, MINIMUM FUEL")


def _from_failures(decision: Decision, situation: Situation) -> Emergency:
    callsign = situation.case.flight_id
    left = situation.capability
    committed = decision.basis in (Basis.COMMIT_PERMITTED, Basis.COMMIT_ONLY_RUNWAY, Basis.CHOICE)
    if left.urgency is Urgency.NONE and not left.landing_hazards and not committed:
        return Emergency(level=Distress.NONE, reason="no declaration called for", phrase="")
    reason = _first(
        (hazard.text for hazard in left.landing_hazards),
        otherwise="the landing here is committed" if committed else URGENCY_WORDS[left.urgency],
    )
    if left.unproven_landing:
        return Emergency(
            level=Distress.DISTRESS, reason=reason, phrase=f"MAYDAY MAYDAY MAYDAY, {callsign}"
        )
    return Emergency(
        level=Distress.URGENCY,
        reason=reason,
        phrase=f"PAN PAN, PAN PAN, PAN PAN, {callsign}",
    )


def _first(texts: Iterable[str], *, otherwise: str) -> str:
    return next(iter(texts), otherwise)


def _broken(judged: JudgedCourse) -> tuple[str, ...]:
    return tuple(finding.title for finding in judged.breaches[:2])
