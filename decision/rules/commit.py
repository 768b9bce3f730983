"""When a landing with no way out may be committed to: ample weather, a runway that stays free."""

from __future__ import annotations

from typing import Final

from decision.attempt.attempt import Role, Scene
from decision.course import Course, CourseKind
from decision.rules.against_minima import (
    ceiling_at_least,
    seen_at,
    visibility_of,
    why_remark,
)
from decision.rules.combine import at_least, doubtful, holds, not_applicable, unknown
from decision.rules.finding import Judgement
from decision.rules.hazard import gravest_hazard, told
from decision.rules.registry import Context, CourseRule, Rule
from decision.rules.row import Breach, Topic
from decision.weather.readings import HazardWeight
from decision.weather.report import Element

COMMITTED: Final = frozenset({Role.COMMITTED})


def ceiling(attempt: Scene, context: Context) -> Judgement:
    """Ceiling well above the minimum height."""
    height_ft = attempt.minimum_height_ft
    if height_ft is None:
        return unknown(f"{attempt.icao} ceiling: no minimum height is known")
    limit_ft = height_ft + context.rulebook.number("commit_ceiling_above_dh_ft")
    what = f"{attempt.icao} ceiling for a committed landing"
    return ceiling_at_least(attempt, limit_ft, context, what=what)


def visibility(attempt: Scene, context: Context) -> Judgement:
    """Visibility a multiple of the minimum."""
    seen = seen_at(attempt, context)
    what = f"{attempt.icao} visibility for a committed landing"
    if seen is None or seen.limit_m is None or seen.reached is None:
        why = "no approach is described" if seen is None else seen.because
        return unknown(f"{what} is not known: {why}")
    limit_m = seen.limit_m * context.rulebook.number("commit_visibility_factor")
    judged = at_least(what, seen.value_m, limit_m, unit="m")
    remarked_m = visibility_of(attempt, context).possible_metres
    if remarked_m is None or remarked_m >= limit_m:
        return judged
    return doubtful(judged, why_remark(remarked_m, "m", context))


def no_hazard(attempt: Scene, context: Context) -> Judgement:
    """No hazardous weather that bars a landing or advises against it; UNKNOWN where none can tell.

    Not asked where the rulebook allows it.
    """
    if context.rulebook.flag("commit_with_hazard_warning"):
        return not_applicable("this rulebook has no condition on hazardous weather for it")
    gravest = gravest_hazard(attempt, context)
    weighty = gravest is not None and gravest.weight is not HazardWeight.CAUTION
    clear = None if Element.WEATHER in attempt.weather.unknown else True
    return holds(
        False if weighty else clear,
        yes=f"no hazardous weather at {attempt.icao} that weighs against it",
        no=f"{attempt.icao}: {'' if gravest is None else told(gravest)}",
        unknown=f"the weather at {attempt.icao} is not known",
    )


def runway_stays_free(attempt: Scene, context: Context) -> Judgement:
    """A blocked runway does not stop the landing: separate runways, or arrivals under control.

    An expected approach time from air traffic control counts as stated control of arrivals. Not
    asked where the rulebook has no such condition.
    """
    if not context.rulebook.flag("commit_separate_runways"):
        return not_applicable("this rulebook has no condition on runways for it")
    separate = attempt.leg.aerodrome.separate_runways
    controlled = context.case.air_traffic.expect_approach_at is not None
    return holds(
        True if controlled else separate,
        yes="arrivals are controlled" if controlled else f"{attempt.icao} has separate runways",
        no=f"{attempt.icao} has one usable runway, which may be blocked",
        unknown=f"separate runways at {attempt.icao} are not known",
    )


def second_approach_fuel(course: Course, _context: Context) -> Judgement:
    """Fuel after a miss and a second approach here, against the final reserve."""
    what = f"fuel on landing at {course.icao} from a second approach"
    if course.again is not None:
        judged = at_least(what, course.again.landing_kg, course.again.final_reserve_kg, unit="kg")
        doubt = f"{', '.join(course.unknown)} not known" if course.unknown else None
        return doubtful(judged, doubt, lacks=course.unknown)
    if course.limited_by is None and course.ledger is None:
        return unknown(f"{what} is not known", lacks=course.unknown)
    return holds(False, yes="", no=f"{what}: it cannot be flown", unknown="")


COURSE_RULES: Final[tuple[CourseRule, ...]] = (
    CourseRule(
        "CM-05",
        "Fuel for a second approach before a landing is committed",
        "fuel_in_flight",
        Breach.COMMIT_CONDITIONS,
        second_approach_fuel,
        applies=frozenset({CourseKind.COMMIT_TO_LAND}),
        asks=Topic.FUEL,
    ),
)
RULES: Final[tuple[Rule, ...]] = (
    Rule(
        "CM-01",
        "Ceiling for a committed landing",
        "commit_ceiling_above_dh_ft",
        Breach.COMMIT_CONDITIONS,
        ceiling,
        of_scene=ceiling,
        applies=COMMITTED,
        far_above=True,
    ),
    Rule(
        "CM-02",
        "Visibility for a committed landing",
        "commit_visibility_factor",
        Breach.COMMIT_CONDITIONS,
        visibility,
        of_scene=visibility,
        applies=COMMITTED,
        far_above=True,
    ),
    Rule(
        "CM-04",
        "A runway that stays free",
        "commit_separate_runways",
        Breach.COMMIT_CONDITIONS,
        runway_stays_free,
        of_scene=runway_stays_free,
        applies=COMMITTED,
    ),
    Rule(
        "CM-06",
        "No hazardous weather for a committed landing",
        "commit_with_hazard_warning",
        Breach.COMMIT_CONDITIONS,
        no_hazard,
        of_scene=no_hazard,
        applies=COMMITTED,
    ),
)
