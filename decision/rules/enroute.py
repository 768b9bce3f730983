"""Can the way be flown at all: level, speed, terrain, pressurisation. Judged before fuel."""

from __future__ import annotations

from typing import Final

from decision.course import Course
from decision.profile.systems_effects import LimitName
from decision.rules.combine import at_least, at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement
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
    """Without pressurisation, cruise no higher than people can breathe."""
    if course.configuration.pressurised:
        return not_applicable("the cabin is pressurised")
    if course.cruise_level_ft is None:
        return not_applicable(f"no cruise on the way to {course.icao}")
    return at_most(
        f"cruise level to {course.icao} without pressurisation",
        course.cruise_level_ft,
        context.rulebook.number("unpressurised_ceiling_ft"),
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
)
