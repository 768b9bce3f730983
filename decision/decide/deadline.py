"""The moment by which a diversion has to begin, for an aircraft that flies on as planned.

Further on is dearer to come back from, so that this is not how long the aircraft could wait where
it is; where the two differ both are told. A step that cannot be undone ends it in any case.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from decision.decide.attempts import JudgedAttempts
from decision.decide.carried import no_later
from decision.decide.compose import leaving
from decision.decide.decision import Basis, CleanPoint, Deadline, Decision, Do, Holding, LeaveBy
from decision.decide.judge import JudgedCourse
from decision.flight.approach import Departure
from decision.flight.leave_later import leave_after
from decision.flight.situation import Situation
from decision.turning import last_good
from decision.windows import minutes_between

AT_ONCE: Final = frozenset({Basis.TIME_CRITICAL, Basis.NEAREST_SUITABLE})
STEP_MIN: Final = 1.0  # a deadline is found to this, and never too late


def may_have_deadline(decision: Decision) -> bool:
    """An approach and a committed landing have none, nor has haste."""
    return decision.basis not in AT_ONCE and decision.do not in (Do.APPROACH, Do.COMMIT)


def leave_by_of(
    decision: Decision,
    situation: Situation,
    departure: Departure,
    point: CleanPoint,
    holding: Holding,
    *,
    attempts: JudgedAttempts,
) -> LeaveBy | None:
    """The deadline of the action, if it may have one."""
    if not may_have_deadline(decision):
        return None
    if decision.do is Do.HOLD:
        ends = holding.available
        found = None if ends is None else _of_hold(decision, ends)
    else:
        chosen = decision.chosen
        found = _of_diversion(chosen, situation, departure, point, holding, attempts=attempts)
    return no_later(found, situation.case)


def _of_hold(decision: Decision, ends: Deadline) -> LeaveBy:
    return LeaveBy(
        at=ends.until,
        what=f"holding ends: {ends.limited_by}",
        aerodrome=decision.chosen.course.icao,
        distance_to_go_nm=None,
        fuel_kg=None,
        holding_until=None,
    )


def _of_diversion(
    chosen: JudgedCourse,
    situation: Situation,
    departure: Departure,
    point: CleanPoint,
    holding: Holding,
    *,
    attempts: JudgedAttempts,
) -> LeaveBy | None:
    if chosen.legal is not True:
        return None
    icao, as_of = chosen.course.icao, situation.case.as_of
    waits = holding.clean_diversion
    if departure.approach is None:
        return None if waits is None else _until(waits, icao)
    last = departure.approach.last_clean.state
    flown_min = max(0.0, minutes_between(as_of, last.at))
    minutes = _last_legal_min(chosen, situation, departure, attempts, until_min=flown_min)
    reached = minutes >= flown_min and not departure.approach.passed
    at = as_of + timedelta(minutes=minutes)
    return LeaveBy(
        at=at,
        what="last clean point"
        if reached and point.at is not None
        else f"last legal moment for {icao}",
        aerodrome=icao,
        distance_to_go_nm=departure.approach.extension_nm if reached else None,
        fuel_kg=last.usable_kg if reached else None,
        holding_until=None if waits is None or waits.until <= at else waits.until,
    )


def _until(waits: Deadline, icao: str) -> LeaveBy:
    return LeaveBy(
        at=waits.until,
        what=f"last legal moment for {icao}: {waits.limited_by}",
        aerodrome=icao,
        distance_to_go_nm=None,
        fuel_kg=None,
        holding_until=None,
    )


def _last_legal_min(
    chosen: JudgedCourse,
    situation: Situation,
    departure: Departure,
    attempts: JudgedAttempts,
    *,
    until_min: float,
) -> float:
    """Minutes of flying on after which the diversion is still legal."""

    def is_legal(minutes: float) -> bool:
        later = leaving(situation, leave_after(situation, departure, minutes), attempts)
        return any(each.legal is True for each in later if each.course.icao == chosen.course.icao)

    if is_legal(until_min):
        return until_min
    return last_good(is_legal, good=0.0, bad=until_min, step=STEP_MIN)
