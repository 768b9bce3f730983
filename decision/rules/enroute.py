"""Can the way be flown at all: level, speed, terrain, pressurisation. Judged before fuel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from decision.course import Course
from decision.performance import Step
from decision.profile.systems_effects import LimitName
from decision.rules.combine import at_least, at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement, shown
from decision.rules.registry import EVERY_KIND, Breach, Context, Rule


def flyable(course: Course, _context: Context) -> Judgement:
    """The performance core found a level and speed inside every limit."""
    if course.limited_by is None and course.ledger is None:
        return unknown(f"way to {course.icao}: {', '.join(course.unknown)} not known")
    return holds(
        course.limited_by is None,
        yes=f"the way to {course.icao} can be flown with {course.configuration.label}",
        no=f"the way to {course.icao} cannot be flown: {course.limited_by}",
        unknown="",
    )


def minimum_level(course: Course, _context: Context) -> Judgement:
    """Cruise at or above the lowest safe level, where the case gives one."""
    lowest_ft = course.leg.minimum_level_ft
    if lowest_ft is None:
        return not_applicable(f"no minimum level given on the way to {course.icao}")
    if course.cruise_level_ft is None:
        return not_applicable(f"no cruise on the way to {course.icao}")
    return at_least(f"cruise level to {course.icao}", course.cruise_level_ft, lowest_ft, unit="ft")


def unpressurised_level(course: Course, context: Context) -> Judgement:
    """Without pressurisation, cruise no higher than people can breathe.

    Where terrain or the aerodrome asks for more, oxygen decides (ER-05).
    """
    if course.configuration.pressurised:
        return not_applicable("the cabin is pressurised")
    if course.cruise_level_ft is None:
        return not_applicable(f"no cruise on the way to {course.icao}")
    ceiling_ft = context.rulebook.number("unpressurised_ceiling_ft")
    if max(course.leg.minimum_level_ft or 0.0, course.leg.aerodrome.elevation_ft) > ceiling_ft:
        return not_applicable(f"terrain to {course.icao} asks for more: oxygen decides")
    return at_most(
        f"cruise level to {course.icao} without pressurisation",
        course.cruise_level_ft,
        ceiling_ft,
        unit="ft",
    )


def time_aloft(course: Course, _context: Context) -> Judgement:
    """No longer in the air than a failure leaves: a battery, a fire that may not be out."""
    limits = [attempt.capability.limit(LimitName.MAX_TIME_ALOFT_MIN) for attempt in course.attempts]
    limit = next((each for each in limits if each is not None), None)
    if limit is None:
        return not_applicable("no failure limits the time in the air")
    what = f"time to {course.icao} ({limit.because})"
    if course.time_min is None:
        return unknown(f"{what}: arrival not known")
    return at_most(what, course.time_min, limit.value, unit="min")


def oxygen(course: Course, context: Context) -> Judgement:
    """Oxygen for the minutes that people must use it, without pressurisation.

    Above one level it is used at once, above another after a delay: the longer need counts. Steps
    begin and end at a level; between them height changes evenly with time [ASSUMED].
    """
    if course.configuration.pressurised:
        return not_applicable("the cabin is pressurised")
    what = f"oxygen needed on the way to {course.icao}"
    if course.ledger is None:
        return unknown(f"{what} is not known: the way is not")
    book = context.rulebook
    start_ft = context.case.aircraft.pressure_altitude_ft
    at_once_min = minutes_above(book.number("oxygen_crew_always_above_ft"), course.steps, start_ft)
    later_min = minutes_above(book.number("oxygen_crew_delayed_above_ft"), course.steps, start_ft)
    needed_min = max(at_once_min, later_min - book.number("oxygen_crew_delay_min"))
    if needed_min <= 0.0:
        return not_applicable(f"no oxygen is needed on the way to {course.icao}")
    left_min = context.case.aircraft.oxygen_min
    if left_min is None:
        return unknown(f"{what}, {shown(needed_min, 'min')}: how much is left is not known")
    return at_most(what, needed_min, left_min, unit="min")


def minutes_above(level_ft: float, steps: Sequence[Step], start_ft: float) -> float:
    """Minutes of a flight above a level, which itself does not count."""
    minutes, from_ft = 0.0, start_ft
    for step in steps:
        minutes += step.time_min * _share_above(level_ft, from_ft, step.pressure_altitude_ft)
        from_ft = step.pressure_altitude_ft
    return minutes


def _share_above(level_ft: float, from_ft: float, to_ft: float) -> float:
    """The part of an even change of height that lies above a level."""
    low_ft, high_ft = sorted((from_ft, to_ft))
    if low_ft >= level_ft:
        return float(high_ft > level_ft)
    return max(0.0, high_ft - level_ft) / (high_ft - low_ft) if high_ft > low_ft else 0.0


RULES: Final[tuple[Rule[Course], ...]] = (
    Rule(
        code="ER-01",
        title="The way can be flown",
        row="minimum_level",
        breach=Breach.CANNOT_BE_FLOWN,
        applies=EVERY_KIND,
        check=flyable,
    ),
    Rule(
        code="ER-02",
        title="Minimum level",
        row="minimum_level",
        breach=Breach.CANNOT_BE_FLOWN,
        applies=EVERY_KIND,
        check=minimum_level,
    ),
    Rule(
        code="ER-03",
        title="Level without pressurisation",
        row="unpressurised_ceiling_ft",
        breach=Breach.CANNOT_BE_FLOWN,
        applies=EVERY_KIND,
        check=unpressurised_level,
    ),
    Rule(
        code="ER-04",
        title="Time in the air that a failure leaves",
        row="unsafe_continuation",
        breach=Breach.RESERVE_NEARLY_GONE,
        applies=EVERY_KIND,
        check=time_aloft,
    ),
    Rule(
        code="ER-05",
        title="Oxygen without pressurisation",
        row="oxygen_crew_always_above_ft",
        breach=Breach.CANNOT_BE_FLOWN,
        applies=EVERY_KIND,
        check=oxygen,
    ),
)
