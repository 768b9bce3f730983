"""A course as it is published."""

from __future__ import annotations

from collections.abc import Sequence

from decision.answer import courses as told
from decision.answer.courses import EVERYTHING
from decision.answer.figures import instant, number
from decision.answer.finding import (
    Subjects,
    breaks_told,
    figures_of,
    open_told,
    tightest_told,
)
from decision.answer.place import governing_told, runway_of, window_told
from decision.answer.recommendation import Recommendation
from decision.attempt.attempt import Attempt, Clearance
from decision.course import Course
from decision.decide.judge import JudgedCourse
from decision.decide.measures import margin_p95_kg, minutes_left, minutes_to_touchdown
from decision.flight.second_miss import LeftAfterMiss
from decision.flight.situation import Situation
from decision.flight.ways import Origin
from decision.performance import Step
from decision.rules.finding import Finding
from decision.rules.row import Figure, Topic
from decision.weather.readings import Foretold


def course_told(
    judged: JudgedCourse,
    rank: int,
    answer: Recommendation,
    subjects: Subjects,
    include: frozenset[str],
) -> told.CourseTold:
    """One course with what it breaks, what is open and where it has least room."""
    situation = answer.situation
    course = judged.course
    return told.CourseTold(
        course=course.label,
        kind=course.kind,
        from_=course.origin,
        aerodrome=course.icao,
        runway=runway_of(course),
        legal=judged.legal,
        advised_against=bool(judged.advised_against),
        breaks=breaks_told(judged),
        open=open_told(judged),
        tightest=tightest_told(judged),
        touchdown_at=instant(course.arrive_at),
        minutes_to_touchdown=number(minutes_to_touchdown(course)),
        rank=rank,
        configuration=course.configuration.label,
        fuel=_fuel(course, situation),
        time=told.CourseTime(
            arrive_at=instant(course.arrive_at),
            hold_min=number(course.hold_min),
        ),
        flight=_flight(judged, answer, subjects) if include & EVERYTHING else None,
        steps=tuple(map(_step, course.steps)) if "steps" in include else None,
    )


def _flight(judged: JudgedCourse, answer: Recommendation, subjects: Subjects) -> told.CourseFlight:
    course, ledger = judged.course, judged.course.ledger
    basis = answer.situation.rulebook.row("emergency_basis").citation
    return told.CourseFlight(
        attempts=subjects.ids[course.label],
        limited_by=course.limited_by,
        unknown=course.unknown,
        rests_on=course.rests_on,
        emergency_basis=basis if judged.legal is False else None,
        cruise_pressure_altitude_ft=number(course.cruise_level_ft),
        cruise_cas_kt=number(course.cruise_cas_kt),
        missed_approach_at=instant(course.missed_at),
        counted_from_kg=None if ledger is None else number(ledger.counted_from_kg),
        flight_kg=None if ledger is None else number(ledger.flight_kg),
        planned_final_reserve_kg=None if ledger is None else number(ledger.planned_reserve_kg),
        configured_final_reserve_kg=None
        if ledger is None
        else number(ledger.configured_reserve_kg),
        after_miss_there=_after_miss_there(answer.second_misses.get(course.label)),
    )


def _after_miss_there(left: LeftAfterMiss | None) -> told.AfterMissThereTold | None:
    """What a miss at the alternate would leave, for the courses of which it was worked out."""
    if left is None:
        return None
    return told.AfterMissThereTold(
        endurance_min=number(left.endurance_min),
        next_aerodrome=left.next_aerodrome,
        margin_kg=number(left.margin_kg),
        distance_unknown=left.distance_unknown,
        missed_gradient_percent=number(left.gradient_percent),
        published_gradient_percent=number(left.published_gradient_percent),
    )


def _fuel(course: Course, situation: Situation) -> told.CourseFuel | None:
    ledger = course.ledger
    if ledger is None:
        return None
    margin_kg = ledger.margin_kg
    return told.CourseFuel(
        at_most=bool(course.unknown),
        at_missed_approach_kg=number(ledger.at_missed_approach_kg),
        required_kg=number(ledger.required_kg),
        required_from=_counted_from(course),
        required_now_kg=number(situation.case.fuel.on_board_kg - margin_kg),
        landing_kg=number(ledger.landing_kg),
        landing_min=number(minutes_left(course)),
        final_reserve_kg=number(ledger.final_reserve_kg),
        margin_kg=number(margin_kg),
        margin_p95_kg=number(margin_p95_kg(course, situation)),
    )


def _counted_from(course: Course) -> Origin:
    """Where the ledger counts from, and with it every figure that a course needs."""
    missed = course.ledger is not None and course.ledger.at_missed_approach_kg is not None
    return Origin.MISSED_APPROACH if missed else course.origin


def attempt_told(
    attempt: Attempt, found: Sequence[Finding], *, landing_factor: float | None
) -> told.AttemptTold:
    """One approach with its figures."""
    procedure = attempt.approach
    factored = next(
        (each.judgement for each in found if each.by.figure is Figure.LANDING_DISTANCE), None
    )
    landing, wind, surface = attempt.landing, attempt.wind, attempt.runway_condition
    climb = attempt.climb
    return told.AttemptTold(
        aerodrome=attempt.icao,
        role=attempt.role,
        approach=None if attempt.approach is None else attempt.approach.id,
        runway=None if attempt.runway is None else attempt.runway.ident,
        at=instant(attempt.at),
        window=window_told(attempt.window),
        flap=attempt.flap,
        approach_speed_kt=number(attempt.approach_speed_kt),
        category=attempt.category,
        mass_kg=number(attempt.mass_kg),
        landing_distance_m=None if landing is None else number(landing.distance_m),
        lda_m=None if attempt.runway is None else number(attempt.runway.lda_m),
        condition_code=None if surface is None else surface.code,
        crosswind_kt=None if wind is None else number(wind.crosswind_kt),
        headwind_kt=None if wind is None else number(wind.headwind_kt),
        tailwind_kt=None if wind is None else number(wind.tailwind_kt),
        missed_gradient_percent=None if climb is None else number(climb.ground_gradient_percent),
        unknown=attempt.unknown,
        landing_factor=landing_factor,
        factored_distance_m=None
        if factored is None or factored.unit != "m"
        else number(factored.value),
        published_gradient_percent=None
        if procedure is None
        else number(procedure.missed_gradient_percent),
        minima=figures_of(found, (Topic.APPROACH, Topic.WEATHER)),
        wind_limits=figures_of(found, (Topic.WIND,)),
        obstacles=tuple(map(_obstacle, attempt.clearances)),
        weather=governing_told(attempt.weather),
        by_time=tuple(map(_foretold, attempt.weather.foretold)),
        notices=()
        if attempt.noticed is None
        else tuple(each.id for each in attempt.noticed.notices),
    )


def _obstacle(clearance: Clearance) -> told.ObstaclePassed:
    return told.ObstaclePassed(
        distance_nm=number(clearance.obstacle.distance_nm),
        elevation_ft=number(clearance.obstacle.elevation_ft),
        altitude_ft=number(clearance.altitude_ft),
        above_ft=number(clearance.above_ft),
    )


def _foretold(group: Foretold) -> told.ForetoldVisibility:
    return told.ForetoldVisibility(
        start=instant(group.from_at),
        end=instant(group.until_at),
        metres=number(group.visibility.metres),
        bound=group.visibility.bound,
        kind=group.kind,
        text=group.text,
    )


def _step(step: Step) -> Step:
    return Step(
        name=step.name,
        distance_nm=number(step.distance_nm),
        time_min=number(step.time_min),
        fuel_kg=number(step.fuel_kg),
        pressure_altitude_ft=number(step.pressure_altitude_ft),
        cas_kt=number(step.cas_kt),
        configuration=step.configuration,
    )
