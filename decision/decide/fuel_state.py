"""Fuel state and emergency, from what fuel and failures are, never from the row that decided.

MINIMUM FUEL is a call: at the chosen place and at every other safe one a delay may cost the planned
final reserve, though one at least still keeps it. MAYDAY FUEL: no safe place keeps it. Source:
[ICAO-ANNEX6] 4.3.7.2.2 and 4.3.7.2.3.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from decision.decide.decision import Decision, Distress, Do, Emergency, FuelState
from decision.decide.judge import JudgedCourse
from decision.decide.measures import is_safe, lands_straight, leaks, urgency_of
from decision.flight.situation import Situation
from decision.rules.row import Means
from decision.systems import Urgency
from decision.units import MIN_PER_H


def fuel_state_of(
    courses: Sequence[JudgedCourse], situation: Situation, *, place: str
) -> FuelState:
    """NORMAL, MINIMUM_FUEL or MAYDAY_FUEL; `place`: where the action leads."""
    direct = [
        each for each in courses if lands_straight(each.course) and each.course.ledger is not None
    ]
    safe = [each for each in direct if is_safe(each)]
    spare_kg = [_spare_kg(each) for each in safe or direct]
    if not direct:
        return FuelState.NORMAL
    if max(spare_kg) < 0.0:
        return FuelState.MAYDAY_FUEL
    meant = [each for each in direct if each.course.icao == place]
    tight = all(
        _spare_kg(each) <= _drain_kg(each, situation) for each in (*meant, *(safe or direct))
    )
    return FuelState.MINIMUM_FUEL if tight else FuelState.NORMAL


def _spare_kg(judged: JudgedCourse) -> float:
    """Fuel on landing above the planned reserve; minus infinity where it was not flown."""
    ledger = judged.course.ledger
    return float("-inf") if ledger is None else ledger.landing_kg - ledger.planned_reserve_kg


def _drain_kg(judged: JudgedCourse, situation: Situation) -> float:
    """What a delay by a change of clearance takes, with the leak."""
    delay_min = situation.case.policy.delay_min
    return judged.course.holding_flow_kg_per_h * delay_min / MIN_PER_H


def emergency_of(decision: Decision, state: FuelState, situation: Situation) -> Emergency:
    """What to declare and why: the first that fits; the words are made where they are said."""
    return next(
        (
            Emergency(level=level, reason=reasons[0])
            for level, reasons in (
                (Distress.DISTRESS, [*_distress(decision, state, situation)]),
                (Distress.URGENCY, [*_urgency(decision, situation)]),
            )
            if reasons
        ),
        Emergency(level=Distress.NONE, reason=_none(state)),
    )


def _none(state: FuelState) -> str:
    if state is FuelState.MINIMUM_FUEL:
        return "a call, no emergency: a delay may cost the final reserve"
    return "no declaration called for"


def _distress(decision: Decision, state: FuelState, situation: Situation) -> Iterable[str]:
    if state is FuelState.MAYDAY_FUEL:
        yield "no safe aerodrome can be reached with the planned final reserve"
    if urgency_of(situation) is Urgency.AS_SOON_AS_POSSIBLE:
        yield "a failure that asks for a landing as soon as possible"
    if decision.do is not Do.HOLD:
        for each in decision.chosen.breaches:
            if each.breach.endangers:
                yield each.text


def _urgency(decision: Decision, situation: Situation) -> Iterable[str]:
    left = situation.capability
    for hazard in left.landing_hazards:
        yield hazard.text
    if leaks(situation):
        yield "a fuel leak"
    if urgency_of(situation) is Urgency.NEAREST_SUITABLE:
        yield "a failure that asks for the nearest suitable aerodrome"
    if decision.do is Do.HOLD:
        return
    for each in decision.chosen.breaches:
        if Means.PRIORITY in each.breach.means:
            yield each.text
    if decision.do is Do.COMMIT and situation.case.failures:
        yield "a committed landing of a degraded aircraft"
