"""Holding for weather: a hold to each named group that may make the destination usable.

A hold rests on a group that improves by name, never on a report that grows old or on silence, and
its course quotes that group. It is bounded by the fuel of the clean diversions or, where none is
legal, by fuel for the approach, a miss, a second approach and the final reserve. None is tried
below the minimum level, in icing weather without protection or where no operator's table has what
a hold burns, nor when time presses or nobody knows how fast fuel is lost; which of the courses are
legal, the rules say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from decision.attempt.attempt import Attempt
from decision.attempt.site import weather_over
from decision.course import CourseKind
from decision.decide.attempts import JudgedAttempts
from decision.decide.compose import CourseDraft, after_miss, best_here, composed, staying_again
from decision.decide.judge import JudgedCourse, findings_here, first_of
from decision.decide.measures import leaves_now
from decision.flight.approach import Departure, approach_flight
from decision.flight.leave_later import present_flow_kg_per_h
from decision.flight.situation import Situation
from decision.profile.operator_tables import OutOfTable
from decision.rules.finding import FAIL, Finding
from decision.systems import Urgency
from decision.units import MIN_PER_H
from decision.windows import Window, minutes_between

MOST_WAITS: Final = 4  # groups that are tried; more are beyond any final reserve


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A hold in minutes, the planned one included, and the group that it rests on."""

    hold_min: float
    group: str


def waiting_courses(
    situation: Situation,
    departure: Departure,
    alone: Sequence[JudgedCourse],
    attempts: JudgedAttempts,
) -> tuple[JudgedCourse, ...]:
    """Courses with a hold first; none when the approach is usable now or time presses.

    `alone`: those that do not wait.
    """
    island = not any(leaves_now(each.course) and each.legal is True for each in alone)
    drafts = [
        draft
        for wait in _waits(situation, alone)
        if bar_to_holding(situation, wait.hold_min) is None
        for draft in _after(situation, departure, wait, attempts, island=island)
    ]
    return composed(situation, drafts, attempts)


def _after(
    situation: Situation,
    departure: Departure,
    wait: Wait,
    attempts: JudgedAttempts,
    *,
    island: bool,
) -> Iterator[CourseDraft]:
    """The approach after a hold with each diversion; with none legal, to stay here to the end."""
    flight = approach_flight(situation, departure.present, hold_min=wait.hold_min)
    here = best_here(situation, flight, attempts)
    if here is None:
        return
    kind, hold_min, group = CourseKind.HOLD_THEN_APPROACH, wait.hold_min, wait.group
    yield from after_miss(situation, here, kind, hold_min=hold_min, rests_on=group)
    if island:
        yield staying_again(situation, here, kind, hold_min=hold_min, rests_on=group)


def barred_wait(situation: Situation, judged: Sequence[JudgedCourse]) -> str | None:
    """What keeps the aircraft from waiting for weather that improves in time; None: nothing."""
    bars = [bar_to_holding(situation, each.hold_min) for each in _waits(situation, judged)]
    return bars[0] if bars and all(bars) else None


def bar_to_holding(situation: Situation, hold_min: float) -> str | None:
    """What forbids a hold of so many minutes over the destination at the present level."""
    case = situation.case
    leg, level_ft = case.destination, case.aircraft.pressure_altitude_ft
    if leg.minimum_level_ft is not None and level_ft < leg.minimum_level_ft:
        return f"{level_ft:.0f} ft is below the minimum level of {leg.minimum_level_ft:.0f} ft"
    try:
        present_flow_kg_per_h(situation)
    except OutOfTable as error:
        return str(error)  # what a hold burns is not known
    if situation.capability.anti_ice:
        return None
    over = Window(case.as_of, case.as_of + timedelta(minutes=hold_min))
    weather, icao = weather_over(situation, leg, over), leg.aerodrome.icao
    if weather.icing_phenomena or weather.freezing_precipitation:
        return f"icing weather over {icao} without ice protection"
    if weather.freezing_precipitation is None:
        return f"icing weather over {icao} is not known, and ice protection is lost"
    return None


def _waits(situation: Situation, judged: Sequence[JudgedCourse]) -> list[Wait]:
    """A hold for each named improvement that fuel can wait for."""
    here = first_of(judged, CourseKind.COMMIT_TO_LAND)
    left = situation.capability
    if left.urgency is Urgency.AS_SOON_AS_POSSIBLE or left.leak_rate_unknown:
        return []
    if here is None or not here.course.attempts or not _weather_bars(findings_here(here)):
        return []
    attempt = here.course.attempts[0]
    longest_min, planned_min = _longest_min(judged), situation.case.plan.hold_min
    waits = [
        Wait(hold_min=planned_min + minutes, group=group)
        for minutes, group in _improvements(attempt)
        if minutes <= longest_min
    ]
    return waits[:MOST_WAITS]


def _weather_bars(findings: Iterable[Finding]) -> bool:
    """Whether weather, and nothing that waiting cannot mend, bars the approach."""
    failed = [each.by.mend for each in findings if each.outcome is FAIL and each.binds]
    return bool(failed) and all(mend.by_waiting for mend in failed)


def _improvements(attempt: Attempt) -> Iterator[tuple[float, str]]:
    """Minutes by which the approach must come later for each named group, with its text."""
    for each in attempt.weather.improvements:
        if each.at > attempt.at:
            yield minutes_between(attempt.at, each.at), each.text


def _longest_min(judged: Sequence[JudgedCourse]) -> float:
    """Minutes of holding that the best clean diversion, or staying here, could pay for."""
    ledgers = [
        (each.course.ledger, each.course.holding_flow_kg_per_h)
        for each in judged
        if leaves_now(each.course)
    ]
    ledgers += [
        (each.course.again, each.course.holding_flow_kg_per_h)
        for each in judged
        if each.course.kind is CourseKind.COMMIT_TO_LAND
    ]
    paid = [
        ledger.margin_kg / flow_kg_per_h * MIN_PER_H
        for ledger, flow_kg_per_h in ledgers
        if ledger is not None and flow_kg_per_h > 0.0
    ]
    return max(paid, default=0.0)
