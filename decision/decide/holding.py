"""How long the aircraft can wait: two deadlines, one for leaving clean, one for trying and missing.

Both follow from fuel at the present holding flow, which takes the leak with it, from the time that
a failure leaves in the air, from oxygen without pressurisation, and from the weather: a way that is
open now closes when its window meets a change for the worse. A deadline of a way that is not legal
is None. Minutes count from the case and take in the hold that a way begins with.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Final

import msgspec

from decision.attempt.arrival import any_procedure
from decision.attempt.attempt import Attempt
from decision.course import Course, CourseKind
from decision.decide.attempts import JudgedAttempts
from decision.decide.decision import Deadline, Decision, Do, Holding
from decision.decide.facts import leaving_now
from decision.decide.judge import JudgedCourse, legality
from decision.decide.measures import urgency_of
from decision.flight.irreversible import step_ahead
from decision.flight.leave_later import present_flow_kg_per_h
from decision.flight.ledger import fuel_unknowns
from decision.flight.situation import Situation
from decision.profile.operator_tables import OutOfTable
from decision.rules.enroute import minutes_above
from decision.systems import LimitName, Urgency
from decision.units import MIN_PER_H
from decision.windows import Window, minutes_between

TRY_AND_MISS: Final = (CourseKind.APPROACH_THEN_DIVERT, CourseKind.HOLD_THEN_APPROACH)


def holding_of(
    courses: Sequence[JudgedCourse],
    situation: Situation,
    decision: Decision,
    attempts: JudgedAttempts,
) -> Holding:
    """Both deadlines, and which of them counts; none where time presses or fuel is not known."""
    if urgency_of(situation) is Urgency.AS_SOON_AS_POSSIBLE or fuel_unknowns(situation):
        return Holding(available=None, clean_diversion=None, approach_and_miss=None)
    clean = _deadline(leaving_now(courses), situation, attempts)
    trying = [each for each in courses if each.course.kind in TRY_AND_MISS]
    missed = _deadline(trying, situation, attempts)
    available = missed if step_ahead(situation) else clean
    leaves = any(each.legal is True and _ends_elsewhere(each, situation) for each in courses)
    if not leaves or (available is None and decision.do is Do.HOLD):
        available = _while_landing_keeps(decision.chosen.course, situation)
    return Holding(available=available, clean_diversion=clean, approach_and_miss=missed)


def _ends_elsewhere(judged: JudgedCourse, situation: Situation) -> bool:
    return judged.course.icao != situation.case.destination.aerodrome.icao


def _while_landing_keeps(course: Course, situation: Situation) -> Deadline | None:
    """How long the landing that was chosen still keeps its final reserve.

    From a second approach where it is known: the first may be missed.
    """
    ledger = course.ledger if course.again is None else course.again
    if ledger is None or ledger.margin_kg <= 0.0:
        return None
    try:
        flow_kg_per_h = present_flow_kg_per_h(situation)
    except OutOfTable:
        return None
    minutes = course.hold_min + ledger.margin_kg / flow_kg_per_h * MIN_PER_H
    return Deadline(
        minutes=minutes,
        until=situation.case.as_of + timedelta(minutes=minutes),
        limited_by=f"final reserve at {course.icao}",
    )


def _deadline(
    courses: Sequence[JudgedCourse], situation: Situation, attempts: JudgedAttempts
) -> Deadline | None:
    """The last to go of the legal courses decides, capped by what limits time in the air."""
    legal = [each.course for each in courses if each.legal is True]
    if not legal:
        return None  # nothing to hold for; without an engine there is no flow to divide by either
    try:
        flow_kg_per_h = present_flow_kg_per_h(situation)
    except OutOfTable:
        return None  # an operator's table ends before the present level: no time can be worked out
    minutes, limited_by = _last_to_go(legal, situation, flow_kg_per_h, attempts)
    return Deadline(
        minutes=minutes,
        until=situation.case.as_of + timedelta(minutes=minutes),
        limited_by=limited_by,
    )


def _last_to_go(
    courses: Sequence[Course], situation: Situation, flow_kg_per_h: float, attempts: JudgedAttempts
) -> tuple[float, str]:
    """The course that can be put off longest: minutes, and what ends them.

    Weather only shortens what fuel and time allow, so that it is not asked of a course that would
    have to go before one that is known.
    """
    allowed = [
        (_without_weather(course, situation, flow_kg_per_h), course)
        for course in courses
        if course.ledger is not None
    ]
    allowed.sort(key=lambda each: each[0], reverse=True)
    first, *others = allowed
    last = _longest(*first, situation, attempts)
    for by_now, course in others:
        if by_now[0] < last[0]:
            break
        last = max(last, _longest(by_now, course, situation, attempts))
    return last


def _without_weather(
    course: Course, situation: Situation, flow_kg_per_h: float
) -> tuple[float, str]:
    """Minutes that one course can still be put off by fuel and time in the air."""
    margin_kg = 0.0 if course.ledger is None else course.ledger.margin_kg
    ends = [(course.hold_min + margin_kg / flow_kg_per_h * MIN_PER_H, f"fuel for {course.icao}")]
    aloft = situation.capability.limit(LimitName.MAX_TIME_ALOFT_MIN)
    if aloft is not None and course.time_min is not None:
        ends.append((course.hold_min + aloft.value - course.time_min, aloft.because))
    breathing_min = _oxygen_min(course, situation)
    if breathing_min is not None:
        ends.append((course.hold_min + breathing_min, "oxygen"))
    return min(ends)


def _longest(
    allowed: tuple[float, str], course: Course, situation: Situation, attempts: JudgedAttempts
) -> tuple[float, str]:
    """The same with the weather at each end."""
    within_min = allowed[0] - course.hold_min
    ends = [allowed]
    for attempt in course.attempts:
        closes_min = _closes_min(attempt, situation, attempts, within_min=within_min)
        if closes_min is not None:
            ends.append((course.hold_min + closes_min, f"weather at {attempt.icao}"))
    return min(ends)


def _oxygen_min(course: Course, situation: Situation) -> float | None:
    """Minutes at the present level that oxygen still lasts; None where none is used there.

    Oxygen of which the quantity is not known lasts no longer than people may do without.
    """
    if course.configuration.pressurised:
        return None
    book, aircraft = situation.rulebook, situation.case.aircraft
    left_min, level_ft = aircraft.oxygen_min or 0.0, aircraft.pressure_altitude_ft
    lasting = [
        left_min + without_min - minutes_above(above_ft, course.steps, level_ft)
        for above_ft, without_min in (
            (book.number("oxygen_crew_always_above_ft"), 0.0),
            (book.number("oxygen_crew_delayed_above_ft"), book.number("oxygen_crew_delay_min")),
        )
        if level_ft > above_ft
    ]
    return max(0.0, min(lasting)) if lasting else None


def _closes_min(
    attempt: Attempt, situation: Situation, attempts: JudgedAttempts, *, within_min: float
) -> float | None:
    """Minutes until the window of an attempt meets weather that bars every procedure there.

    Looks at the moments at which a group of the reports begins or ends; None when none of them
    within the time closes the place.
    """
    window = attempt.window
    for change_at in attempt.weather.changes_at:
        delay_min = minutes_between(window.end_at, change_at)
        if delay_min > within_min:
            return None
        inside_min = delay_min + INSIDE_MIN
        if delay_min >= 0.0 and not _open_after(attempt, situation, attempts, inside_min):
            return delay_min
    return None


def _open_after(
    attempt: Attempt, situation: Situation, attempts: JudgedAttempts, delay_min: float
) -> bool:
    """Whether any procedure there keeps every rule when flown so much later."""
    delay = timedelta(minutes=delay_min)
    window = attempt.window
    later = msgspec.structs.replace(
        any_procedure(attempt),
        at=attempt.at + delay,
        window=Window(window.start_at + delay, window.end_at + delay),
    )
    return any(legality(each.findings) is True for each in attempts.at(situation, later))


INSIDE_MIN: Final = 1.0  # just inside what begins there
