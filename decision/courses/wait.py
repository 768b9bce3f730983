"""Holding for weather: a hold to each moment at which the destination may become usable.

Improvement counts as the weather room says: from the start of FM, from the end of BECMG. A hold is
bounded by the fuel of the clean diversions, and none is tried below the minimum level or in icing
weather without protection; which of the courses are legal, the rules say: they judge the fuel that
the hold burns in the present configuration with a leak, its oxygen, its time in the air.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Final

from decision.course import Attempt, Course, CourseKind, Origin
from decision.courses.arrive import Departure
from decision.courses.attempts import weather_over
from decision.courses.generate import generate_after_hold
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation
from decision.rules.finding import Finding, Outcome
from decision.systems import Urgency
from decision.units import MIN_PER_H
from decision.windows import Window, minutes_between

# Approach ban, crosswind, tailwind, icing: what a change of the weather can lift.
MENDED_BY_WAITING: Final = frozenset({"AP-02", "HZ-01", "HZ-02", "WD-01", "WD-02", "WX-03"})
MOST_WAITS: Final = 4  # moments of change that are tried; more are beyond any final reserve


def waiting_courses(
    situation: Situation, departure: Departure, judged: Sequence[JudgedCourse]
) -> tuple[Course, ...]:
    """Courses with a hold first; none when the approach is usable now or time presses."""
    return tuple(
        course
        for hold_min in _holds_min(situation, judged)
        if bar_to_holding(situation, hold_min) is None
        for course in generate_after_hold(situation, departure, hold_min=hold_min)
    )


def barred_wait(situation: Situation, judged: Sequence[JudgedCourse]) -> str | None:
    """What keeps the aircraft from waiting for weather that improves in time; None: nothing."""
    bars = [bar_to_holding(situation, hold_min) for hold_min in _holds_min(situation, judged)]
    return bars[0] if bars and all(bars) else None


def bar_to_holding(situation: Situation, hold_min: float) -> str | None:
    """What forbids a hold of so many minutes over the destination at the present level."""
    case = situation.case
    leg, level_ft = case.destination, case.aircraft.pressure_altitude_ft
    if leg.minimum_level_ft is not None and level_ft < leg.minimum_level_ft:
        return f"{level_ft:.0f} ft is below the minimum level of {leg.minimum_level_ft:.0f} ft"
    if situation.capability.anti_ice:
        return None
    over = Window(case.as_of, case.as_of + timedelta(minutes=hold_min))
    weather, icao = weather_over(situation, leg, over), leg.aerodrome.icao
    if weather.icing_phenomena or weather.freezing_precipitation:
        return f"icing weather over {icao} without ice protection"
    if weather.freezing_precipitation is None:
        return f"icing weather over {icao} is not known, and ice protection is lost"
    return None


def _holds_min(situation: Situation, judged: Sequence[JudgedCourse]) -> list[float]:
    """How long a hold would last, for each change of the weather that fuel can wait for."""
    here = [each for each in judged if each.course.kind is CourseKind.APPROACH_THEN_DIVERT]
    if situation.capability.urgency is Urgency.AS_SOON_AS_POSSIBLE or not here:
        return []
    attempt = here[0].course.attempts[0] if here[0].course.attempts else None
    if attempt is None or not _weather_bars(here[0].approach_findings):
        return []
    longest_min = _longest_min(judged)
    planned_min = situation.case.plan.hold_min
    holds = [planned_min + minutes for minutes in _changes_min(attempt) if minutes <= longest_min]
    return holds[:MOST_WAITS]


def _weather_bars(findings: Iterable[Finding]) -> bool:
    """Whether weather, and nothing that waiting cannot mend, bars the approach."""
    failed = {finding.rule for finding in findings if finding.outcome is Outcome.FAIL}
    return bool(failed) and failed <= MENDED_BY_WAITING


def _changes_min(attempt: Attempt) -> list[float]:
    """Minutes by which the approach must come later for each change of the weather there."""
    start_at = attempt.at
    return [minutes_between(start_at, at) for at in attempt.weather.changes_at if at > start_at]


def _longest_min(judged: Sequence[JudgedCourse]) -> float:
    """Minutes of holding that the best clean diversion could pay for."""
    paid = [
        each.course.ledger.margin_kg / each.course.holding_flow_kg_per_h * MIN_PER_H
        for each in judged
        if each.course.kind is CourseKind.DIVERT_NOW
        and each.course.origin is Origin.PRESENT
        and each.course.ledger is not None
        and each.course.holding_flow_kg_per_h > 0.0
    ]
    return max(paid, default=0.0)
