"""Can the way be flown at all: level, speed, terrain, pressurisation. Judged before fuel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from decision.course import Course, CourseKind
from decision.performance import Step
from decision.performance.diversion import EXTRA_TRACK
from decision.profile.systems_effects import LimitName
from decision.rulebooks.rulebook import Rulebook
from decision.rules.combine import at_least, at_most, holds, not_applicable, unknown
from decision.rules.finding import Judgement, shown, shown_up
from decision.rules.registry import Context, CourseRule
from decision.rules.row import Breach

# A lowest safe level clears the ground by this already: the least obstacle clearance en route
# [PANS-OPS-I], from memory; over mountains it is more, which is not credited [ASSUMED].
CLEARED_FT: Final = 1000.0
ONWARD: Final = frozenset(
    {
        CourseKind.DIVERT_NOW,
        CourseKind.APPROACH_THEN_DIVERT,
        CourseKind.HOLD_THEN_APPROACH,
    }
)

Above = Callable[[float], float]
"""Minutes of a course above a level in feet."""


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

    Where terrain, or the aerodrome itself, asks for more, oxygen decides (ER-05, ER-06).
    """
    if course.configuration.pressurised:
        return not_applicable("the cabin is pressurised")
    if course.cruise_level_ft is None:
        return not_applicable(f"no cruise on the way to {course.icao}")
    ceiling_ft = context.rulebook.number("unpressurised_ceiling_ft")
    if max(course.leg.minimum_level_ft or 0.0, course.leg.aerodrome.elevation_ft) > ceiling_ft:
        return not_applicable(f"the way to {course.icao} asks for more: oxygen decides")
    what = f"cruise level to {course.icao} without pressurisation"
    return at_most(what, course.cruise_level_ft, ceiling_ft, unit="ft")


def terrain_one_engine(course: Course, context: Context) -> Judgement:
    """With an engine out the net path holds a level that clears the ground, and the aerodrome."""
    what = f"net level with an engine out on the way to {course.icao}"
    silent = _not_on_one_engine(course, context, what)
    if silent is not None:
        return silent
    ground_ft = _ground_ft(course, context, row="terrain_climb_clearance_ft")
    over_aerodrome_ft = context.rulebook.number("oei_landing_aerodrome_height_ft")
    least_ft = course.leg.aerodrome.elevation_ft + over_aerodrome_ft
    limit_ft = least_ft if ground_ft is None else max(ground_ft, least_ft)
    return at_least(what, course.net_level_ft, limit_ft, unit="ft", missing=WAY_UNKNOWN)


def terrain_drift_down(course: Course, context: Context) -> Judgement:
    """From above the level that one engine holds: the drift-down ends clear of the ground."""
    what = f"net level at the end of the drift-down to {course.icao}"
    silent = _not_on_one_engine(course, context, what)
    if silent is not None:
        return silent
    ground_ft = _ground_ft(course, context, row="terrain_drift_down_clearance_ft")
    if ground_ft is None:
        return not_applicable(f"no minimum level given on the way to {course.icao}")
    held_ft, now_ft = course.net_level_ft, context.case.aircraft.pressure_altitude_ft
    if held_ft is not None and now_ft <= held_ft:
        return not_applicable(f"{what}: no drift-down, {shown(held_ft, 'ft')} is held")
    return at_least(what, held_ft, ground_ft, unit="ft", missing=WAY_UNKNOWN)


WAY_UNKNOWN: Final = "the way is not"


def _not_on_one_engine(course: Course, context: Context, what: str) -> Judgement | None:
    """Where the rules on terrain with an engine out say nothing; None where they do."""
    running = course.configuration.engines_running
    if running == context.case.aircraft.profile.engine.count:
        return not_applicable("no engine has failed")
    stays = course.icao == context.case.destination.aerodrome.icao
    if course.kind not in ONWARD or stays:
        return not_applicable(f"{what}: no diversion")
    return not_applicable(f"{what}: no engine runs") if running == 0 else None


def _ground_ft(course: Course, context: Context, *, row: str) -> float | None:
    """The level that clears the ground by what the row asks; None where none is given."""
    lowest_ft = course.leg.minimum_level_ft
    return None if lowest_ft is None else lowest_ft - CLEARED_FT + context.rulebook.number(row)


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


def crew_oxygen(course: Course, context: Context) -> Judgement:
    """Oxygen for the minutes that the crew must use it after the loss of pressure."""
    return _oxygen(course, context, whose="crew", needed_min=partial(_crew_min, context.rulebook))


def _crew_min(book: Rulebook, above: Above) -> float:
    """Above one level at once; between it and a lower one beyond a delay, where there is one."""
    at_once_min = above(book.number("oxygen_pressure_loss_crew_at_once_above_ft"))
    later_min = above(book.number("oxygen_pressure_loss_crew_above_ft")) - at_once_min
    return at_once_min + _beyond(book.number("oxygen_pressure_loss_delay_min"), later_min)


def oxygen_hold_min(course: Course, context: Context) -> float | None:
    """Minutes at the present level for which oxygen lasts beside what the course needs of it.

    None where the cabin is pressurised or nobody needs oxygen at that level; 0 where it is not
    known how much is left.
    """
    book, aircraft = context.rulebook, context.case.aircraft
    level_ft = aircraft.pressure_altitude_ft
    if course.configuration.pressurised:
        return None
    if level_ft <= book.number("oxygen_pressure_loss_crew_above_ft"):
        return None
    if aircraft.oxygen_min is None:
        return 0.0
    above = _minutes_of(course, context)
    left_min = aircraft.oxygen_min - _crew_min(book, above)
    if level_ft <= book.number("oxygen_pressure_loss_crew_at_once_above_ft"):
        at_once_min = above(book.number("oxygen_pressure_loss_crew_at_once_above_ft"))
        later_min = above(book.number("oxygen_pressure_loss_crew_above_ft")) - at_once_min
        delay_min = book.number("oxygen_pressure_loss_delay_min")
        left_min += max(0.0, delay_min - later_min)
    return max(0.0, left_min)


def passenger_oxygen(course: Course, context: Context) -> Judgement:
    """Oxygen for passengers, in minutes for everybody: some of them need it lower, all higher.

    A share of the passengers above one level beyond the delay, more above another, all above a
    third; minutes of a share count as that part of a minute for everybody.
    """
    needed_min = partial(_passengers_min, context.rulebook)
    return _oxygen(course, context, whose="passengers", needed_min=needed_min)


def _passengers_min(book: Rulebook, above: Above) -> float:
    all_min = above(book.number("oxygen_pressure_loss_all_above_ft"))
    more_min = above(book.number("oxygen_pressure_loss_more_above_ft"))
    first_min = above(book.number("oxygen_pressure_loss_passengers_above_ft")) - more_min
    delay_min = book.number("oxygen_pressure_loss_delay_min")
    return (
        all_min
        + book.number("oxygen_pressure_loss_more_share") * (more_min - all_min)
        + book.number("oxygen_pressure_loss_passengers_share") * _beyond(delay_min, first_min)
    )


def _beyond(delay_min: float, minutes: float) -> float:
    return max(0.0, minutes - delay_min)


def _oxygen(
    course: Course, context: Context, *, whose: str, needed_min: Callable[[Above], float]
) -> Judgement:
    """What is needed on the whole course against what is left."""
    if course.configuration.pressurised:
        return not_applicable("the cabin is pressurised")
    what = f"oxygen of the {whose} on the way to {course.icao}"
    if course.ledger is None:
        return unknown(f"{what} is not known: the way is not")
    aircraft = context.case.aircraft
    minutes = needed_min(_minutes_of(course, context))
    if minutes <= 0.0:
        return not_applicable(f"no oxygen of the {whose} is needed on the way to {course.icao}")
    if aircraft.oxygen_min is None:
        needed = shown_up(minutes, "min")
        return unknown(f"{what}, {needed} needed: how much is left is not known", lacks=OXYGEN)
    return at_most(what, minutes, aircraft.oxygen_min, unit="min")


OXYGEN: Final = ("oxygen",)


def _minutes_of(course: Course, context: Context) -> Above:
    """Minutes of the course above any level."""
    start_ft = context.case.aircraft.pressure_altitude_ft
    return lambda level_ft: minutes_above(level_ft, course.steps, start_ft)


def minutes_above(level_ft: float, steps: Sequence[Step], start_ft: float) -> float:
    """Minutes of a flight above a level, which itself does not count.

    Steps begin and end at a level; between them height changes evenly with time [ASSUMED]. Extra
    track to lose height belongs to the descent beside it.
    """
    minutes, from_ft = 0.0, start_ft
    for time_min, to_ft in _changes(steps):
        minutes += time_min * _share_above(level_ft, from_ft, to_ft)
        from_ft = to_ft
    return minutes


def _changes(steps: Sequence[Step]) -> list[tuple[float, float]]:
    """Minutes and level at the end of each stretch, extra track put to the descent beside it."""
    changes: list[tuple[float, float]] = []
    extra_min = 0.0
    for step in steps:
        if step.name != EXTRA_TRACK:
            changes.append((step.time_min + extra_min, step.pressure_altitude_ft))
            extra_min = 0.0
        elif changes and changes[-1][1] == step.pressure_altitude_ft:
            changes[-1] = changes[-1][0] + step.time_min, changes[-1][1]
        else:
            extra_min += step.time_min
    return changes


def _share_above(level_ft: float, from_ft: float, to_ft: float) -> float:
    """The part of an even change of height that lies above a level."""
    low_ft, high_ft = sorted((from_ft, to_ft))
    if low_ft >= level_ft:
        return float(high_ft > level_ft)
    return max(0.0, high_ft - level_ft) / (high_ft - low_ft) if high_ft > low_ft else 0.0


RULES: Final[tuple[CourseRule, ...]] = (
    CourseRule("ER-01", "The way can be flown", "minimum_level", Breach.CANNOT_BE_FLOWN, flyable),
    CourseRule("ER-02", "Minimum level", "minimum_level", Breach.CANNOT_BE_FLOWN, minimum_level),
    CourseRule(
        "ER-03",
        "Level without pressurisation",
        "unpressurised_ceiling_ft",
        Breach.CANNOT_BE_FLOWN,
        unpressurised_level,
    ),
    CourseRule(
        "ER-04",
        "Time in the air that a failure leaves",
        "unsafe_continuation",
        Breach.FUEL_NEARLY_GONE,
        time_aloft,
    ),
    CourseRule(
        "ER-05",
        "Crew oxygen without pressurisation",
        "oxygen_pressure_loss_crew_at_once_above_ft",
        Breach.CANNOT_BE_FLOWN,
        crew_oxygen,
    ),
    CourseRule(
        "ER-06",
        "Passenger oxygen without pressurisation",
        "oxygen_pressure_loss_more_above_ft",
        Breach.CANNOT_BE_FLOWN,
        passenger_oxygen,
    ),
    CourseRule(
        "ER-07",
        "Terrain with an engine out",
        "terrain_climb_clearance_ft",
        Breach.OBSTACLES,
        terrain_one_engine,
    ),
    CourseRule(
        "ER-08",
        "Terrain while drifting down",
        "terrain_drift_down_clearance_ft",
        Breach.OBSTACLES,
        terrain_drift_down,
    ),
)
