"""Courses and facts laid out by hand, for tests of the truth table alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from decision.case import Aerodrome, Leg
from decision.course import Course, CourseKind, Ledger, Origin
from decision.courses.judge import JudgedCourse
from decision.recommend.facts import Facts
from decision.recommend.verdict import Question
from tests.physics.builders import flying

T0 = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
NOTHING = Facts(
    usable=False,
    escapes=(),
    robust=(),
    diverts=(),
    waits=(),
    commit=None,
    no_other_runway=False,
    time_critical=False,
    miss_likely=False,
    gradient_within_error=False,
)


def course(
    icao: str, *, kind: str = "approach_then_divert", landing_kg: float = 2000.0
) -> JudgedCourse:
    """A course that breaks nothing."""
    aerodrome = Aerodrome(
        icao=icao,
        name=icao,
        elevation_ft=0.0,
        position=None,
        runways=(),
        approaches=(),
        rescue_category=None,
        closures=(),
        opening=(),
        separate_runways=None,
    )
    leg = Leg(
        aerodrome=aerodrome, track_nm=100.0, track_from_present_nm=100.0, minimum_level_ft=None
    )
    flown = Course(
        kind=CourseKind(kind),
        origin=Origin.PRESENT,
        leg=leg,
        hold_min=0.0,
        attempts=(),
        steps=(),
        configuration=flying(),
        ledger=Ledger(
            at_missed_approach_kg=None,
            counted_from_kg=3000.0,
            flight_kg=3000.0 - landing_kg,
            planned_reserve_kg=1200.0,
            configured_reserve_kg=1000.0,
            spread=None,
        ),
        start_at=T0,
        missed_at=None,
        arrive_at=T0 + timedelta(minutes=30),
        cruise_level_ft=None,
        cruise_cas_kt=None,
        limited_by=None,
        unknown=(),
        holding_flow_kg_per_h=2400.0,
    )
    return JudgedCourse(
        course=flown, approach_findings=(), escape_findings=(), breaches=(), legal=True
    )


def facts(**changes: object) -> Facts:
    """Nothing legal and nothing known, but for what is said."""
    return replace(NOTHING, **changes)  # type: ignore[arg-type]


def question(
    asked: Facts,
    *courses: JudgedCourse,
    prefer_commit: bool = False,
    weighty_caution: bool = False,
) -> Question:
    """What a row of the table looks at."""
    return Question(
        facts=asked,
        courses=courses,
        prefer_commit=prefer_commit,
        weighty_caution=weighty_caution,
    )
