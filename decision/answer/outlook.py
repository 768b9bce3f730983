"""When to look again, until when the answer holds, and what must not be done before leaving."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from decision.answer.figures import instant
from decision.answer.types import Look
from decision.decide.decision import Decision, Do, Holding, LeaveBy
from decision.decide.judge import JudgedCourse
from decision.flight.irreversible import step_ahead
from decision.flight.situation import Situation
from decision.notices import ReadNotice
from decision.notices.types import CONDITION_HOLDS
from decision.windows import Window

REPORT_INTERVAL: Final = timedelta(minutes=30)  # routine reports each half hour [WMO-306]
FUEL_CHECK: Final = timedelta(minutes=30)  # usual interval of fuel checks [EU-AO]
SHORTEST_AHEAD: Final = timedelta(minutes=1)

Moment = tuple[datetime, str]
"""When, and for what."""


def next_look(situation: Situation, decision: Decision, holding: Holding) -> Look:
    """The first of: next report due, forecast change, fuel check, deadline."""
    as_of = situation.case.as_of
    looks = [(as_of + FUEL_CHECK, "fuel check")]
    for icao, station in situation.weather.items():
        if station.observation is not None:
            due_at = station.observation.issued_at + REPORT_INTERVAL
            looks.append((due_at, f"next routine report of {icao} is due"))
    looks += _changes([decision.chosen])
    looks += _deadlines(holding)
    return _first(look for look in looks if look[0] >= as_of + SHORTEST_AHEAD)


def valid_until(
    situation: Situation,
    courses: Sequence[JudgedCourse],
    holding: Holding,
    leave_by: LeaveBy | None,
) -> Look:
    """The first moment at which a rule could turn with nothing but time passing."""
    as_of = situation.case.as_of
    looks = [(as_of + FUEL_CHECK, "older than a fuel check")]
    looks += _changes(courses)
    looks += _notices(courses, situation)
    looks += _deadlines(holding)
    if leave_by is not None:
        looks.append((leave_by.at, leave_by.what))
    return _first(look for look in looks if look[0] > as_of)


def _first(looks: Iterable[Moment]) -> Look:
    at, why = min(looks)
    return Look(at=instant(at), why=why)


def _changes(courses: Iterable[JudgedCourse]) -> list[Moment]:
    return [
        (at, f"the weather that governs at {attempt.icao} changes")
        for judged in courses
        for attempt in judged.course.attempts
        for at in attempt.weather.changes_at
    ]


def _notices(courses: Iterable[JudgedCourse], situation: Situation) -> list[Moment]:
    """When an arrival that comes as much later as time passes meets other notices."""
    return [
        (situation.case.as_of + later, f"{notice.id} of {attempt.icao} {how} for the arrival")
        for judged in courses
        for attempt in judged.course.attempts
        for notice in situation.notices_at(attempt.icao).notices
        for later, how in _turns(notice, attempt.window)
    ]


def _turns(notice: ReadNotice, window: Window) -> Iterator[tuple[timedelta, str]]:
    """How much later a window meets a notice, leaves it, or outlasts a condition report."""
    if notice.from_at is not None and not notice.conditions:
        yield notice.from_at - window.end_at, "begins"
    if notice.ends_at is not None and not notice.conditions:
        yield notice.ends_at - window.start_at, "ends"
    for report in notice.conditions:
        yield report.assessed_at + CONDITION_HOLDS - window.end_at, "is too old"


def _deadlines(holding: Holding) -> list[Moment]:
    both = (
        ("last moment for a clean diversion", holding.clean_diversion),
        ("last moment for an approach with a way out", holding.approach_and_miss),
    )
    return [
        (deadline.until, f"{name}: {deadline.limited_by}")
        for name, deadline in both
        if deadline is not None
    ]


def until_then(decision: Decision, situation: Situation) -> tuple[str, ...]:
    """What must not be done before leaving: every step that cannot be undone."""
    if decision.do not in (Do.DIVERT, Do.HOLD) or not step_ahead(situation):
        return ()
    return tuple(f"do not {each.step}" for each in situation.capability.irreversible)
