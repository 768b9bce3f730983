"""When to look again, and until when the answer holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Final

from decision.decide.decision import Decision, Holding, LeaveBy
from decision.decide.judge import JudgedCourse
from decision.flight.situation import Situation
from decision.recommend.answer import Look

REPORT_INTERVAL: Final = timedelta(minutes=30)  # routine reports each half hour [WMO-306]
FUEL_CHECK: Final = timedelta(minutes=30)  # usual interval of fuel checks [EU-AO]
SHORTEST_AHEAD: Final = timedelta(minutes=1)


def next_look(situation: Situation, decision: Decision, holding: Holding) -> Look:
    """The first of: next report due, forecast change, fuel check, deadline."""
    as_of = situation.case.as_of
    looks = [Look(at=as_of + FUEL_CHECK, why="fuel check")]
    for icao, station in situation.weather.items():
        if station.observation is not None:
            due_at = station.observation.issued_at + REPORT_INTERVAL
            looks.append(Look(at=due_at, why=f"next routine report of {icao} is due"))
    looks += _changes([decision.chosen])
    looks += _deadlines(holding)
    ahead = [look for look in looks if look.at >= as_of + SHORTEST_AHEAD]
    return min(ahead, key=lambda look: (look.at, look.why))


def valid_until(
    situation: Situation,
    courses: Sequence[JudgedCourse],
    holding: Holding,
    leave_by: LeaveBy | None,
) -> Look:
    """The first moment at which a rule could turn with nothing but time passing."""
    as_of = situation.case.as_of
    looks = [Look(at=as_of + FUEL_CHECK, why="older than a fuel check")]
    looks += _changes(courses)
    looks += _deadlines(holding)
    if leave_by is not None:
        looks.append(Look(at=leave_by.at, why=leave_by.what))
    ahead = [look for look in looks if look.at > as_of]
    return min(ahead, key=lambda look: (look.at, look.why))


def _changes(courses: Iterable[JudgedCourse]) -> list[Look]:
    return [
        Look(at=at, why=f"the weather that governs at {attempt.icao} changes")
        for judged in courses
        for attempt in judged.course.attempts
        for at in attempt.weather.changes_at
    ]


def _deadlines(holding: Holding) -> list[Look]:
    both = (
        ("last moment for a clean diversion", holding.clean_diversion),
        ("last moment for an approach with a way out", holding.approach_and_miss),
    )
    return [
        Look(at=deadline.until, why=f"{name}: {deadline.limited_by}")
        for name, deadline in both
        if deadline is not None
    ]
