"""Attempts, courses and weather laid out by hand, for the cases of every rule."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from decision.attempt.attempt import Attempt, CertifiedClimb, Role, RunwayWind
from decision.attempt.category import AeroplaneCategory
from decision.attempt.minima import minima_at
from decision.attempt.runway_wind import wind_on
from decision.case import Case, Leg, Runway, case_from_mapping
from decision.course import Course, CourseKind
from decision.flight.ledger import Ledger
from decision.flight.ways import Origin
from decision.performance import Climb, Landing
from decision.quantities import Bound
from decision.rulebooks.rulebook import load_rulebook
from decision.rules import findings_on
from decision.rules.finding import Finding
from decision.rules.registry import Context
from decision.systems import assess
from decision.weather.readings import (
    CeilingReading,
    Governing,
    Reported,
    RvrReading,
    VisibilityReading,
    WeatherMet,
    WindReading,
)
from decision.weather.report import CeilingState, Element
from decision.weather.runway import RunwayCondition, runway_condition
from decision.windows import around
from tests.attempt.minima_builders import approach
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.physics.builders import flying

T0 = datetime(2026, 3, 14, 6, 30, tzinfo=UTC)
SAID = Governing(kind="METAR", text="quoted", why="laid out by hand")


def case_of(**changes: Any) -> Case:
    """The clean demo case with changes at JSON Pointers."""
    return case_from_mapping(with_changes(demo("clean"), changes))


def context(rulebook: str = "icao", **changes: Any) -> Context:
    """What rules look at besides their subject."""
    return Context(case=case_of(**changes), rulebook=load_rulebook(rulebook))


def ceiling(feet: float | None, *, doubtful: bool = False) -> CeilingReading:
    """A ceiling; None is no ceiling, or an unknown one when doubtful."""
    state = CeilingState.VALUE
    if feet is None:
        state = CeilingState.UNKNOWN if doubtful else CeilingState.NONE
    return CeilingReading(
        state=state,
        feet=feet,
        possibly_worse=doubtful,
        possible_ceiling_ft=None,
        governing=SAID,
    )


def visibility(metres: float | None, *, bound: Bound = Bound.EXACT) -> VisibilityReading:
    """A visibility; None is unknown."""
    return VisibilityReading(
        metres=metres,
        bound=Bound.UNKNOWN if metres is None else bound,
        prevailing_metres=metres,
        minimum_metres=None,
        possibly_worse=metres is None,
        possible_metres=None,
        governing=SAID,
    )


def wind(from_true_deg: float | None, speed_kt: float | None, **changes: Any) -> WindReading:
    """A wind; no direction is variable."""
    reading = WindReading(
        from_true_deg=from_true_deg,
        variable=from_true_deg is None,
        variation=None,
        speed_kt=speed_kt,
        speed_bound=Bound.EXACT,
        gust_kt=None,
        gust_bound=Bound.EXACT,
        gust_counts=False,
        possibly_worse=False,
        governing=SAID,
    )
    return replace(reading, **changes)


def seen(**changes: Any) -> WeatherMet:
    """Good weather, all of it known; reported ten minutes ago, and no forecast of the visibility.

    A visibility or range that is given is what is reported, unless that is given, too.
    """
    calm = wind(270.0, 8.0)
    good = WeatherMet(
        ceiling=ceiling(None),
        visibility=visibility(9999.0, bound=Bound.AT_LEAST),
        rvr=(),
        wind=calm,
        winds=(calm,),
        weather=(),
        recent=(),
        thunderstorm=False,
        transient_thunderstorm=False,
        freezing_precipitation=False,
        cb=False,
        icing_phenomena=(),
        wind_shear=(),
        temperature_degc=8.0,
        qnh_hpa=1013.0,
        disregarded=(),
        unread=(),
        observation_age_min=10.0,
        unknown=frozenset(),
        unknown_reasons=(),
        not_at_hand=(),
        changes_at=(),
    )
    told = replace(good, **changes)
    if "reported" in changes:
        return told
    at = T0 - timedelta(minutes=10)
    report = Reported(at=at, visibility=told.visibility, rvr=told.rvr)
    return replace(told, reported=(report,))


def rvr(low_m: float | None, **changes: Any) -> RvrReading:
    """A runway visual range of runway 27R."""
    reading = RvrReading(
        runway="27R",
        low_m=low_m,
        low_bound=Bound.UNKNOWN if low_m is None else Bound.EXACT,
        high_m=None,
        midpoint_m=None,
        stop_end_m=None,
        high_bound=None,
        tendency=None,
        possibly_worse=False,
        governing=SAID,
    )
    return replace(reading, **changes)


RUNWAY = Runway(
    ident="27R",
    true_bearing_deg=270.0,
    lda_m=2000.0,
    slope_percent=0.0,
    width_m=45.0,
    grooved=False,
    condition_code=None,
    contaminant=None,
    depth_mm=None,
    closed=False,
    strength_kg=None,
)
PROCEDURE = approach(id="ILS 27R", runway="27R", missed_altitude_ft=4000.0)
STOP = Landing(
    distance_m=1200.0,
    computed_m=1200.0,
    floor_m=None,
    air_m=500.0,
    transition_m=120.0,
    roll_m=580.0,
    approach_speed_kt=130.0,
    tyre_speed_kt=125.0,
    brake_energy_mj=60.0,
    overweight=False,
    limited_by=None,
)
AWAY = Climb(
    gradient_percent=8.0,
    ground_gradient_percent=8.0,
    ft_per_nm=486.0,
    rate_fpm=1100.0,
    cas_kt=135.0,
)


def attempt(**changes: Any) -> Attempt:
    """An attempt that keeps every rule, drawn in the demo case."""
    case = case_of()
    good = Attempt(
        role=Role.MISSED,
        leg=replace(case.destination, track_nm=40.0),
        approach=PROCEDURE,
        runway=RUNWAY,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        weather=seen(),
        mass_kg=60_000.0,
        flap="34",
        approach_speed_kt=130.0,
        category=AeroplaneCategory.C,
        is_night=False,
        minima=None,
        runway_condition=surface(5),
        wind=RunwayWind(
            headwind_kt=8.0,
            crosswind_kt=2.0,
            tailwind_kt=0.0,
            possibly_worse=False,
            text="quoted",
        ),
        landing=STOP,
        landing_at_best=None,
        climb=AWAY,
        engine_out_climb=AWAY,
        capability=assess(case.aircraft.profile, (), gear=case.aircraft.gear, flap="0", slats=None),
        unknown=(),
        certified_climb=CertifiedClimb(approach_percent=5.7, landing_percent=19.0),
        surface_temperature_degc=8.0,
    )
    return drawn(replace(good, **changes), Context(case=case, rulebook=load_rulebook("icao")))


def drawn(at: Attempt, what: Context) -> Attempt:
    """The attempt with its minima and the winds on all runways as they are drawn in this case."""
    minima = None
    if at.approach is not None:
        minima = minima_at(
            at.leg.aerodrome,
            at.approach,
            rulebook=what.rulebook,
            category=at.category,
            is_night=at.is_night,
            lost_equipment=at.capability.lost_approach_equipment,
            approvals=what.case.approvals,
        )
    limits = what.case.aircraft.profile.wind
    winds = {
        each.ident: wind_on(each, at.weather, limits=limits, rulebook=what.rulebook)
        for each in at.leg.aerodrome.runways
    }
    return replace(at, minima=minima, winds=winds)


def findings(at: Attempt, what: Context) -> tuple[Finding, ...]:
    """What every rule finds on an attempt that was drawn in the case it is judged in."""
    return findings_on(drawn(at, what), what)


def finding(rule: str, at: Attempt, what: Context) -> Finding:
    """What one rule finds on such an attempt."""
    return next(each for each in findings(at, what) if each.rule == rule)


def surface(code: int | None) -> RunwayCondition:
    """A runway condition by its reported code; None: nothing is known of it."""
    if code is not None:
        thirds = (code, code, code)
        return runway_condition(runway="27R", weather=seen(), landing_at=T0, thirds=thirds)
    blind = seen(unknown=frozenset(Element), unknown_reasons=("no report",))
    return runway_condition(runway="27R", weather=blind, landing_at=T0)


def course(**changes: Any) -> Course:
    """A diversion that keeps every rule."""
    leg: Leg = case_of().alternates[0]
    good = Course(
        kind=CourseKind.DIVERT_NOW,
        origin=Origin.PRESENT,
        leg=leg,
        hold_min=0.0,
        attempts=(),
        steps=(),
        configuration=flying(),
        ledger=ledger(),
        start_at=T0,
        missed_at=None,
        arrive_at=T0 + timedelta(minutes=30),
        cruise_level_ft=20_000.0,
        cruise_cas_kt=240.0,
        limited_by=None,
        unknown=(),
        holding_flow_kg_per_h=2400.0,
    )
    return replace(good, **changes)


def ledger(landing_kg: float = 2000.0, **changes: Any) -> Ledger:
    """A ledger that lands with this much."""
    drawn = Ledger(
        at_missed_approach_kg=None,
        counted_from_kg=landing_kg + 1000.0,
        flight_kg=1000.0,
        planned_reserve_kg=1200.0,
        configured_reserve_kg=1200.0,
        spread=None,
    )
    return replace(drawn, **changes)
