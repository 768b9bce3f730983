"""Courses, findings and facts laid out by hand, for tests of the judgement alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from msgspec import structs

from decision.attempt.attempt import Role
from decision.case import Aerodrome, Leg, case_from_mapping
from decision.course import Course, CourseKind
from decision.decide.decision import Basis, Decision, Do, Verdict
from decision.decide.facts import Facts, Fitness
from decision.decide.judge import JudgedCourse, judged_course
from decision.flight.ledger import Ledger
from decision.flight.situation import Situation, situation_of
from decision.flight.ways import Origin
from decision.rulebooks.rulebook import Force
from decision.rules import AMONG_RULES, COURSE_RULES, RULES
from decision.rules.combine import holds, unknown
from decision.rules.finding import Finding, Judgement, Stated
from decision.rules.row import Breach
from decision.systems import Urgency
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.physics.builders import flying
from tests.rules.builders import attempt

T0 = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
NOTHING = Facts(
    urgency=Urgency.NONE,
    first_is_here=False,
    fitness=Fitness.UNFIT,
    ways_out=0,
    capped=False,
    needs_no_alternate=False,
    nearer=False,
    stay_near=False,
    far_above=False,
    commit_permitted=False,
    divert_legal=False,
    poor=False,
    prefer_commit=None,
    only_stopping=False,
    wait_legal=False,
    weather_alone=False,
)
HERE = "XKAL"  # the destination of most demo cases
RESERVE_KG = 1200.0  # planned, of every course here
FLOW_KG_PER_H = 2400.0  # holding, of every course here: 400 kg in ten minutes
OF_COURSES = {*(rule.code for rule in COURSE_RULES), *(rule.code for rule in AMONG_RULES)}


def course(
    icao: str,
    *,
    kind: str = "approach_then_divert",
    landing_kg: float = 2000.0,
    minutes: float = 30.0,
    found: tuple[Finding, ...] = (),
    **changes: Any,
) -> JudgedCourse:
    """A course that breaks nothing but what is found on it."""
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
        ledger=ledger(landing_kg),
        start_at=T0,
        missed_at=None,
        arrive_at=T0 + timedelta(minutes=minutes),
        cruise_level_ft=None,
        cruise_cas_kt=None,
        limited_by=None,
        unknown=(),
        holding_flow_kg_per_h=FLOW_KG_PER_H,
    )
    on_course = [each for each in found if each.rule in OF_COURSES]
    on_approach = [each for each in found if each.rule not in OF_COURSES]
    return judged_course(replace(flown, **changes), (), on_approach, on_course)


def ledger(landing_kg: float, **changes: Any) -> Ledger:
    """Fuel of a course that lands with so much."""
    drawn = Ledger(
        at_missed_approach_kg=None,
        counted_from_kg=3000.0,
        flight_kg=3000.0 - landing_kg,
        planned_reserve_kg=RESERVE_KG,
        configured_reserve_kg=1000.0,
        spread=None,
    )
    return replace(drawn, **changes)


def finding(
    rule: str,
    judgement: Judgement,
    *,
    at: str = "XAAA",
    breach: Breach = Breach.LANDING_MASS,
    force: Force = Force.RULE,
) -> Finding:
    """What a rule found at a place."""
    stated = stated_as(rule, breach=breach, force=force)
    return Finding(stated=stated, at=at, judgement=judgement)


def stated_as(rule: str, *, breach: Breach, force: Force) -> Stated:
    """A rule that means something else when it is broken."""
    row = next(each for each in RULES if each.code == rule)
    return Stated(by=structs.replace(row, breach=breach), citation="[X]", force=force)


def passed(what: str = "kept") -> Judgement:
    """A rule that is kept."""
    return holds(True, yes=what, no="", unknown="")


def broken(
    rule: str,
    breach: Breach,
    *,
    what: str = "broken",
    at: str = "XAAA",
    force: Force = Force.RULE,
) -> Finding:
    """A rule that fails, with what that means."""
    no = holds(False, yes="", no=what, unknown="")
    return finding(rule, no, at=at, breach=breach, force=force)


def open_question(
    rule: str,
    *lacks: str,
    at: str = "XAAA",
    breach: Breach = Breach.BELOW_MINIMA,
    what: str = "not known",
) -> Finding:
    """A rule that nobody can judge."""
    return finding(rule, unknown(what, lacks=lacks), at=at, breach=breach)


def facts(**changes: Any) -> Facts:
    """Nothing legal and nothing usable, but for what is said."""
    return replace(NOTHING, **changes)


def situation(name: str = "clean", /, **changes: Any) -> Situation:
    """What follows from a demo case with changes, before any course is thought of."""
    return situation_of(case_from_mapping(with_changes(demo(name), changes)))


def told(name: str, /, **changes: Any) -> dict[str, Any]:
    """The answer to a demo case with changes at JSON Pointers."""
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def landing_here(*found: Finding, again_kg: float | None = None, **changes: Any) -> JudgedCourse:
    """To land at the destination, with nowhere else to go; `again_kg`: after a second approach."""
    again = None if again_kg is None else ledger(again_kg)
    drawn = {"attempts": (attempt(role=Role.COMMITTED),), "again": again, **changes}
    return course(HERE, kind="commit_to_land", found=found, **drawn)


def leaving(icao: str, *found: Finding, **changes: Any) -> JudgedCourse:
    """A diversion from the present position."""
    drawn = {"attempts": (attempt(role=Role.ALTERNATE),), **changes}
    return course(icao, kind="divert_now", found=found, **drawn)


def way_out(icao: str, *found: Finding, **changes: Any) -> JudgedCourse:
    """The approach here, a miss, and the diversion after it."""
    drawn = {"attempts": (attempt(), attempt(role=Role.ALTERNATE)), **changes}
    return course(icao, found=found, **drawn)


def decision(chosen: JudgedCourse, do: str = "DIVERT", **changes: Any) -> Decision:
    """A row that chose this course; which one does not matter unless it is said."""
    drawn = Decision(
        verdict=Verdict.NO_GO,
        do=Do(do),
        basis=Basis.LEAVE_WHILE_CLEAN,
        row=9,
        chosen=chosen,
        asks=(),
    )
    return replace(drawn, **changes)
