"""A decision on state that was carried: never better than what was known when it was given.

What was carried is the best guess of where the aircraft is and of its fuel. While that is young it
is decided on; it leads to no better verdict than there was before, since nothing was heard that
would be better news. Too old, or lost where nobody knows what was done on the way, it decides
nothing: the action stays the best guess, unless that is to hold on fuel that nobody knows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from decision.case import Case
from decision.case.carried import is_state_too_old, is_state_unknown, verdict_before
from decision.decide.completions import EVERYWHERE
from decision.decide.decision import Basis, Decision, Do, LeaveBy, Verdict
from decision.decide.judge import JudgedCourse
from decision.decide.verdict import LOWER_FIRST, do_of, earliest_suitable, hold_for_data
from decision.flight.situation import Situation
from decision.rules.finding import Cause

STATE: Final = "position, level, fuel, gear and flaps as they are now"
ASKED: Final[Cause] = (EVERYWHERE, STATE)
ROW_OF_MISSING: Final = 2  # of the table of decisions


def heed_carried(
    decision: Decision, courses: Sequence[JudgedCourse], situation: Situation
) -> Decision:
    """The decision, as far as the state under it carries it."""
    case = situation.case
    if case.carried is None:
        return decision
    known = Verdict.INSUFFICIENT_DATA if is_state_unknown(case) else decision.verdict
    if not is_state_too_old(case):
        known = lower_of(known, bound_of(case))
    if known is decision.verdict and not is_state_unknown(case):
        return decision
    do, chosen = _deed(decision, courses, situation, verdict=known)
    return Decision(
        verdict=known,
        do=do,
        basis=Basis.MISSING,
        row=ROW_OF_MISSING,
        chosen=chosen,
        asks=tuple(dict.fromkeys((ASKED, *decision.asks))),
    )


def bound_of(case: Case) -> Verdict:
    """The verdict that carried state leads to at best."""
    return Verdict(verdict_before(case) or Verdict.GO)


def lower_of(one: Verdict, other: Verdict) -> Verdict:
    """The worse of two verdicts."""
    return min(one, other, key=LOWER_FIRST.index)


def no_later(leave_by: LeaveBy | None, case: Case) -> LeaveBy | None:
    """A deadline, no later than the one there was before; where the aircraft is then it is asked.

    Carrying takes from where it was flown to the place and fuel at the deadline: at another moment
    they are others.
    """
    before = None if case.carried is None else case.carried.no_better_than
    latest = None if before is None else before.deadline_at
    if leave_by is None or latest is None or leave_by.at <= latest:
        return leave_by
    waits = leave_by.holding_until
    return replace(
        leave_by,
        at=latest,
        distance_to_go_nm=None,
        fuel_kg=None,
        holding_until=waits if waits is not None and waits > latest else None,
    )


def _deed(
    decision: Decision,
    courses: Sequence[JudgedCourse],
    situation: Situation,
    *,
    verdict: Verdict,
) -> tuple[Do, JudgedCourse]:
    """What to do until the state is known."""
    if decision.basis is Basis.TIME_CRITICAL:
        return decision.do, decision.chosen
    if decision.do is Do.HOLD and is_state_unknown(situation.case):
        return _elsewhere(decision, courses)
    if decision.do is Do.APPROACH and verdict is Verdict.NO_GO:
        holding = None if is_state_unknown(situation.case) else hold_for_data(courses, situation)
        return _elsewhere(decision, courses) if holding is None else (Do.HOLD, holding)
    return decision.do, decision.chosen


def _elsewhere(decision: Decision, courses: Sequence[JudgedCourse]) -> tuple[Do, JudgedCourse]:
    """The earliest suitable landing; with none, what was chosen."""
    chosen = earliest_suitable(courses) or decision.chosen
    return do_of(chosen), chosen
