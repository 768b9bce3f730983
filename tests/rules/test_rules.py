"""Every rule in its cases: below, at and above the limit, unknown, not applicable.

A rule that asks a question instead of comparing figures holds or is broken; which those are stands
in `QUESTIONS`, and which cases a rule cannot have, with the reason, in `CANNOT`. Both lists are
closed, so that a case is never missing by accident.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any, NamedTuple

import pytest

from decision.attempt.attempt import Attempt, CertifiedClimb, Clearance, Role, Scene
from decision.case import Case, Obstacle
from decision.case.types import Closure, Opening
from decision.course import Course, CourseKind
from decision.performance import Step
from decision.profile.types import LowVisibility
from decision.quantities import Bound
from decision.rules import AMONG_RULES, ATTEMPT_RULES, COURSE_RULES, RETIRED, RULES
from decision.rules.cold import cold_error_ft
from decision.rules.finding import Finding, Outcome
from decision.rules.registry import (
    Beside,
    Context,
    Standing,
    judge_among,
    judge_course,
)
from decision.rules.row import Breach
from decision.systems import Limit, LimitName, assess
from decision.weather.readings import Hazard, HazardWeight
from decision.weather.report import Element
from tests.changing import replace
from tests.physics.builders import flying
from tests.rules.builders import (
    AWAY,
    PROCEDURE,
    RUNWAY,
    STOP,
    T0,
    attempt,
    ceiling,
    context,
    course,
    drawn,
    findings,
    ledger,
    rvr,
    seen,
    surface,
    visibility,
)

PASS, FAIL = Outcome.PASS, Outcome.FAIL
UNKNOWN, NOT_APPLICABLE = Outcome.UNKNOWN, Outcome.NOT_APPLICABLE
COMMIT = CourseKind.COMMIT_TO_LAND
THERE: dict[str, Any] = {"role": Role.ALTERNATE}
HERE_FOR_GOOD: dict[str, Any] = {"role": Role.COMMITTED}
AFTER = {"kind": CourseKind.APPROACH_THEN_DIVERT}
PLANNING = {"/policy/alternate_bar": "planning"}
NOTHING_SEEN = {"visibility": visibility(None), "ceiling": ceiling(None, doubtful=True)}


class Claim(NamedTuple):
    """One case of one rule."""

    rule: str
    position: str
    subject: Attempt | Course | Beside
    outcome: Outcome
    rulebook: str = "icao"
    changes: dict[str, Any] | None = None


def blowing(**changes: Any) -> Attempt:
    at = attempt()
    assert at.wind is not None
    return replace(at, wind=replace(at.wind, **changes))


def stormy(phenomenon: str, weight: HazardWeight) -> Attempt:
    """One hazard, from a report of ten minutes before."""
    hazard = Hazard(
        phenomenon=phenomenon,
        words=phenomenon.replace("_", " "),
        weight=weight,
        kind="METAR",
        text="quoted",
        from_at=T0,
        until_at=None,
    )
    return attempt(weather=seen(hazards=(hazard,)))


def blowing_on_snow(crosswind_kt: float) -> Attempt:
    return replace(blowing(crosswind_kt=crosswind_kt), runway_condition=surface(None))


def stops_on(**changes: Any) -> Attempt:
    """A landing that takes 1500 m, 1725 m with its factor, on a runway with other lengths."""
    return attempt(landing=replace(STOP, distance_m=1500.0), runway=replace(RUNWAY, **changes))


def slippery(**best: Any) -> Attempt:
    """A runway of unknown condition, with the landing on the best that it may have."""
    return attempt(
        landing=None, landing_at_best=replace(STOP, **best), runway_condition=surface(None)
    )


def planned(dry_m: float | None, **changes: Any) -> Attempt:
    """A landing on a dry runway, as it is planned."""
    dry = None if dry_m is None else replace(STOP, distance_m=dry_m)
    return attempt(**{"landing_dry": dry, "runway_condition": surface(6), **changes})


def without_ice_protection(**weather: Any) -> Attempt:
    at = attempt(weather=seen(**weather))
    return replace(at, capability=replace(at.capability, anti_ice=False))


def closed_at(minute: int) -> Attempt:
    at = attempt()
    aerodrome = replace(
        at.leg.aerodrome,
        closures=(
            Closure(from_at=T0 - timedelta(minutes=minute), until_at=T0 + timedelta(minutes=1)),
        ),
    )
    return replace(at, leg=replace(at.leg, aerodrome=aerodrome))


def open_for(*minutes: tuple[int, int]) -> Attempt:
    """Hours from and to so many minutes after the arrival; the window is its first quarter."""
    at = attempt()
    hours = tuple(
        Opening(from_at=T0 + timedelta(minutes=a), until_at=T0 + timedelta(minutes=b))
        for a, b in minutes
    )
    return replace(at, leg=replace(at.leg, aerodrome=replace(at.leg.aerodrome, opening=hours)))


def wide(width_m: float | None) -> Attempt:
    return attempt(runway=replace(RUNWAY, width_m=width_m))


def separate(answer: bool | None) -> Attempt:
    at = attempt(**HERE_FOR_GOOD)
    aerodrome = replace(at.leg.aerodrome, separate_runways=answer)
    return replace(at, leg=replace(at.leg, aerodrome=aerodrome))


def lands_with(landing_kg: float, **reserves: float) -> Course:
    return course(ledger=ledger(landing_kg, **reserves))


def onward(**weather: Any) -> Course:
    return course(**AFTER, attempts=(attempt(), attempt(**THERE, weather=seen(**weather))))


def climbing(percent: float) -> Attempt:
    return attempt(climb=replace(AWAY, ground_gradient_percent=percent))


def certified(approach_percent: float = 5.7, landing_percent: float = 19.0) -> Attempt:
    figures = CertifiedClimb(approach_percent=approach_percent, landing_percent=landing_percent)
    return attempt(certified_climb=figures)


def failed(*ids: str) -> Attempt:
    """An attempt with what these failures leave."""
    reported: dict[str, Any] = {"/failures": [{"id": id_} for id_ in ids]}
    case = context(**reported).case
    aircraft = case.aircraft
    left = assess(aircraft.profile, case.failures, gear=aircraft.gear, flap="0", slats=None)
    return attempt(capability=left)


def at_cold(degc: float | None, ceiling_ft: float, **changes: Any) -> Attempt:
    return attempt(
        **{
            "surface_temperature_degc": degc,
            "weather": seen(ceiling=ceiling(ceiling_ft)),
            **changes,
        }
    )


COLD_LIMIT_FT = 200.0 + cold_error_ft(
    height_ft=200.0,
    elevation_ft=attempt().leg.aerodrome.elevation_ft,
    temperature_degc=-20.0,
)
CATEGORY_II = replace(PROCEDURE, id="ILS II", dh_ft=100.0, rvr_m=300.0)


def one_engine(
    net_ft: float | None, lowest_ft: float | None, *, now_ft: float = 9000.0, **changes: Any
) -> tuple[Course, dict[str, Any]]:
    """A diversion on one engine whose net path holds a level, and where the aircraft is now."""
    flown = course(configuration=ONE_ENGINE, net_level_ft=net_ft, **changes)
    over = replace(flown, leg=replace(flown.leg, minimum_level_ft=lowest_ft))
    return over, {"/aircraft/pressure_altitude_ft": now_ft}


def terrain(rule: str, position: str, outcome: Outcome, *given: float | None, **more: Any) -> Claim:
    over, at = one_engine(*given, **more)
    return Claim(rule, position, over, outcome, "icao", at)


AIRLESS: dict[str, Any] = {"certified_climb": None, "unknown": ("QNH",)}


def over_obstacles(*above_ft: float, **changes: Any) -> Attempt:
    """A missed approach over an obstacle for each height, or over one at no known height."""
    given = tuple(Obstacle(distance_nm=4.0, elevation_ft=900.0) for _ in above_ft or (0.0,))
    return attempt(
        approach=replace(PROCEDURE, obstacles=given),
        clearances=tuple(
            Clearance(obstacle=each, altitude_ft=each.elevation_ft + ft)
            for each, ft in zip(given, above_ft, strict=False)
        ),
        **changes,
    )


def lost(*equipment: str) -> Attempt:
    at = attempt()
    lacking = replace(at.capability, lost_approach_equipment=frozenset(equipment))
    return replace(at, capability=lacking)


def minimum_level(lowest_ft: float | None, cruise_ft: float | None) -> Course:
    flown = course(cruise_level_ft=cruise_ft)
    return replace(flown, leg=replace(flown.leg, minimum_level_ft=lowest_ft))


def unpressurised(cruise_ft: float | None) -> Course:
    return course(configuration=flying(pressurised=False), cruise_level_ft=cruise_ft)


def limited_to(minutes: float) -> Course:
    """A course of half an hour, with a failure that leaves so many minutes."""
    at = attempt(**THERE)
    limit = Limit(
        name=LimitName.MAX_TIME_ALOFT_MIN, value=minutes, unit="min", because="battery only"
    )
    return course(attempts=(replace(at, capability=replace(at.capability, limits=(limit,))),))


ONE_ENGINE = flying(engines_running=1)


def first_at(minutes: float | None, **changes: Any) -> Standing:
    """A diversion on one engine that could land after so many minutes, and keeps every rule."""
    flown = course(configuration=ONE_ENGINE)
    stood = Standing(
        course=flown,
        place=flown.icao,
        first_min=minutes,
        suitable=True,
        legal=True,
        worst=None,
    )
    return replace(stood, **changes)


def beside(standing: Standing, others: tuple[Standing, ...] = ()) -> Beside:
    """A course as the other rules left it, beside all the others."""
    return Beside(standing=standing, everybody=(standing, *others))


def going_on(worst: Breach | None, **changes: Any) -> Standing:
    """An approach on one engine that breaks something."""
    flown = course(kind=CourseKind.APPROACH_THEN_DIVERT, configuration=ONE_ENGINE)
    return first_at(16.0, **{"course": flown, "legal": worst is None, "worst": worst, **changes})


def down_from(level_ft: float) -> Course:
    """Twenty minutes level without pressurisation, then down to 6000 ft in ten."""
    steps = (
        Step(
            name="cruise",
            distance_nm=90.0,
            time_min=20.0,
            fuel_kg=500.0,
            pressure_altitude_ft=level_ft,
            cas_kt=220.0,
            configuration="clean",
        ),
        Step(
            name="descent",
            distance_nm=40.0,
            time_min=10.0,
            fuel_kg=100.0,
            pressure_altitude_ft=6000.0,
            cas_kt=220.0,
            configuration="clean",
        ),
    )
    return course(configuration=flying(pressurised=False), steps=steps)


def breathing(
    position: str,
    outcome: Outcome,
    *,
    rule: str = "ER-05",
    level_ft: float = 14_000.0,
    **given: float,
) -> Claim:
    """Of twenty minutes level and ten of descent 25 are above 10 000 ft from 14 000 ft.

    `oxygen_min` left, not said if absent; the Annex, which knows no delay after loss of pressure
    and counts everybody.
    """
    changes = {"/aircraft/pressure_altitude_ft": level_ft}
    changes |= {f"/aircraft/{name}": value for name, value in given.items()}
    return Claim(rule, position, down_from(level_ft), outcome, "icao", changes)


def lands_again(landing_kg: float, **changes: Any) -> Course:
    """A landing for good that lands with so much from a second approach."""
    return course(kind=CourseKind.COMMIT_TO_LAND, again=ledger(landing_kg), **changes)


def for_good(there: Attempt) -> Attempt:
    """The same as an approach that has to end in a landing."""
    return replace(there, **HERE_FOR_GOOD)


def over_terrain(cruise_ft: float, lowest_ft: float) -> Course:
    flown = unpressurised(cruise_ft)
    return replace(flown, leg=replace(flown.leg, minimum_level_ft=lowest_ft))


def rescued_by(
    category: int | None, position: str, outcome: Outcome, *, rule: str = "AD-04"
) -> Claim:
    """A place with that rescue category, judged for planning; the aeroplane's own is 6."""
    roles: dict[str, dict[str, Any]] = {"AD-04": THERE, "AD-06": {}}
    leg, role = attempt().leg, roles[rule]
    place = replace(leg, aerodrome=replace(leg.aerodrome, rescue_category=category))
    return Claim(rule, position, attempt(**role, leg=place), outcome, changes=PLANNING)


CLAIMS = [
    Claim("AD-01", "holds", attempt(), PASS),
    Claim("AD-01", "broken", closed_at(0), FAIL),
    Claim("AD-01", "holds", open_for((0, 15)), PASS),
    Claim("AD-01", "holds", open_for((5, 60), (-60, 5)), PASS),
    Claim("AD-01", "broken", open_for((0, 14)), FAIL),
    Claim("AD-01", "broken", open_for((1, 60)), FAIL),
    Claim("AD-01", "broken", open_for((-60, 5), (6, 60)), FAIL),
    Claim("AD-02", "holds", attempt(), PASS),
    Claim("AD-02", "holds", attempt(runway=replace(RUNWAY, closed=None)), PASS),
    Claim("AD-02", "broken", attempt(runway=replace(RUNWAY, closed=True)), FAIL),
    Claim("AD-02", "broken", attempt(runway=None), FAIL),
    Claim("AD-02", "broken", attempt(runway_condition=replace(surface(5), closed=True)), FAIL),
    Claim("AD-03", "below", attempt(runway=replace(RUNWAY, strength_kg=61_000.0)), PASS),
    Claim("AD-03", "at", attempt(runway=replace(RUNWAY, strength_kg=60_000.0)), PASS),
    Claim("AD-03", "above", attempt(runway=replace(RUNWAY, strength_kg=59_000.0)), FAIL),
    Claim("AD-03", "unknown", attempt(runway=None), UNKNOWN),
    Claim("AD-03", "not applicable", attempt(), NOT_APPLICABLE),
    rescued_by(3, "below", FAIL),
    rescued_by(4, "at", PASS),
    rescued_by(5, "above", PASS),
    rescued_by(None, "unknown", UNKNOWN),
    Claim("AD-04", "not applicable", attempt(**THERE), NOT_APPLICABLE),
    Claim("AD-04", "not applicable", attempt(), NOT_APPLICABLE, changes=PLANNING),
    Claim("AD-04", "not applicable", attempt(**THERE), NOT_APPLICABLE, "faa-121", PLANNING),
    Claim("AD-05", "below", wide(29.0), FAIL),
    Claim("AD-05", "at", wide(30.0), PASS),
    Claim("AD-05", "above", wide(45.0), PASS),
    Claim("AD-05", "unknown", attempt(runway=None), UNKNOWN),
    Claim("AD-05", "not applicable", wide(None), NOT_APPLICABLE),
    rescued_by(4, "below", FAIL, rule="AD-06"),
    rescued_by(5, "at", PASS, rule="AD-06"),
    rescued_by(6, "above", PASS, rule="AD-06"),
    rescued_by(None, "unknown", UNKNOWN, rule="AD-06"),
    Claim("AD-06", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("AD-06", "not applicable", attempt(**THERE), NOT_APPLICABLE, changes=PLANNING),
    Claim("AD-06", "not applicable", attempt(), NOT_APPLICABLE, "faa-121", PLANNING),
    Claim("AP-01", "holds", attempt(), PASS),
    Claim("AP-01", "broken", lost("ILS"), FAIL),
    Claim("AP-01", "unknown", attempt(approach=None), UNKNOWN),
    Claim("AP-01", "unknown", attempt(approach=replace(PROCEDURE, dh_ft=None)), UNKNOWN),
    Claim("AP-02", "below", attempt(weather=seen(rvr=(rvr(549.0),))), FAIL),
    Claim("AP-02", "at", attempt(weather=seen(rvr=(rvr(550.0),))), PASS),
    Claim("AP-02", "above", attempt(weather=seen(rvr=(rvr(551.0),))), PASS),
    Claim("AP-02", "above", attempt(weather=seen(visibility=visibility(800.0))), PASS),
    Claim("AP-02", "below", attempt(weather=seen(visibility=visibility(250.0))), FAIL),
    Claim("AP-02", "unknown", attempt(weather=seen(visibility=visibility(300.0))), UNKNOWN),
    Claim("AP-02", "unknown", attempt(weather=seen(**NOTHING_SEEN)), UNKNOWN),
    Claim("AP-02", "unknown", attempt(approach=None), UNKNOWN),
    Claim("AP-02", "not applicable", attempt(**THERE), NOT_APPLICABLE),
    Claim("AP-03", "holds", attempt(approach=CATEGORY_II), PASS),
    Claim("AP-03", "broken", replace(lost("AUTOPILOT"), approach=CATEGORY_II), FAIL),
    Claim("AP-03", "broken", replace(lost("RADALT"), approach=CATEGORY_II), FAIL),
    Claim("AP-03", "broken", replace(failed("engine-1"), approach=CATEGORY_II), FAIL),
    Claim("AP-03", "unknown", replace(failed("engine-1"), approach=CATEGORY_II), UNKNOWN, "unsaid"),
    Claim("AP-03", "not applicable", failed("engine-1"), NOT_APPLICABLE),
    Claim("AP-03", "not applicable", attempt(approach=None), NOT_APPLICABLE),
    Claim("CM-01", "below", attempt(**HERE_FOR_GOOD, weather=seen(ceiling=ceiling(699.0))), FAIL),
    Claim("CM-01", "at", attempt(**HERE_FOR_GOOD, weather=seen(ceiling=ceiling(700.0))), PASS),
    Claim("CM-01", "above", attempt(**HERE_FOR_GOOD, weather=seen(ceiling=ceiling(701.0))), PASS),
    Claim("CM-01", "above", attempt(**HERE_FOR_GOOD), PASS),
    Claim("CM-01", "unknown", attempt(**HERE_FOR_GOOD, weather=seen(**NOTHING_SEEN)), UNKNOWN),
    Claim("CM-01", "unknown", attempt(**HERE_FOR_GOOD, approach=None), UNKNOWN),
    Claim("CM-01", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("CM-02", "below", attempt(**HERE_FOR_GOOD, weather=seen(rvr=(rvr(1099.0),))), FAIL),
    Claim("CM-02", "at", attempt(**HERE_FOR_GOOD, weather=seen(rvr=(rvr(1100.0),))), PASS),
    Claim("CM-02", "above", attempt(**HERE_FOR_GOOD, weather=seen(rvr=(rvr(1101.0),))), PASS),
    Claim("CM-02", "unknown", attempt(**HERE_FOR_GOOD, weather=seen(**NOTHING_SEEN)), UNKNOWN),
    Claim("CM-02", "unknown", attempt(**HERE_FOR_GOOD, approach=None), UNKNOWN),
    Claim("CM-02", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("CM-04", "holds", separate(True), PASS),
    Claim("CM-04", "broken", separate(False), FAIL),
    Claim("CM-04", "unknown", separate(None), UNKNOWN),
    Claim(
        "CM-04",
        "holds",
        separate(False),
        PASS,
        changes={"/air_traffic": {"expect_approach_at": "2026-03-14T06:40:00Z"}},
    ),
    Claim("CM-04", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("CT-01", "below", at_cold(-20.0, COLD_LIMIT_FT - 1.0), FAIL),
    Claim("CT-01", "at", at_cold(-20.0, COLD_LIMIT_FT), PASS),
    Claim("CT-01", "above", at_cold(-20.0, COLD_LIMIT_FT + 1.0), PASS),
    Claim("CT-01", "unknown", at_cold(None, 100.0, unknown=("QNH",)), UNKNOWN),
    Claim("CT-01", "unknown", at_cold(-20.0, 100.0, approach=None), UNKNOWN),
    Claim("CT-01", "unknown", at_cold(-20.0, 100.0, weather=seen(**NOTHING_SEEN)), UNKNOWN),
    Claim("CT-01", "not applicable", at_cold(0.1, 100.0), NOT_APPLICABLE),
    Claim("CT-01", "not applicable", at_cold(-20.0, 50.0, approach=CATEGORY_II), NOT_APPLICABLE),
    Claim("CM-05", "below", lands_again(1199.0), FAIL),
    Claim("CM-05", "at", lands_again(1200.0), PASS),
    Claim("CM-05", "above", lands_again(1201.0), PASS),
    Claim("CM-05", "unknown", lands_again(1300.0, unknown=("rate of the fuel leak",)), UNKNOWN),
    Claim("CM-05", "not applicable", course(), NOT_APPLICABLE),
    Claim("CM-06", "holds", for_good(stormy("thunderstorm", HazardWeight.CAUTION)), PASS),
    Claim("CM-06", "broken", for_good(stormy("hail", HazardWeight.WARNING)), FAIL),
    Claim("CM-06", "broken", for_good(stormy("funnel_cloud", HazardWeight.BAR)), FAIL),
    Claim(
        "CM-06",
        "unknown",
        attempt(**HERE_FOR_GOOD, weather=seen(unknown=frozenset({Element.WEATHER}))),
        UNKNOWN,
    ),
    Claim("CM-06", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("EO-01", "below", beside(first_at(24.0), (first_at(20.0),)), PASS, "faa-121"),
    Claim("EO-01", "at", beside(first_at(25.0), (first_at(20.0),)), PASS, "faa-121"),
    Claim("EO-01", "above", beside(first_at(26.0), (first_at(20.0),)), FAIL, "faa-121"),
    Claim("EO-01", "below", beside(first_at(26.0)), PASS, "faa-121"),
    Claim(
        "EO-01", "below", beside(first_at(26.0), (first_at(20.0, suitable=False),)), PASS, "faa-121"
    ),
    Claim("EO-01", "unknown", beside(first_at(None), (first_at(20.0),)), UNKNOWN, "faa-121"),
    Claim(
        "EO-01",
        "unknown",
        beside(first_at(26.0), (first_at(20.9, suitable=None),)),
        UNKNOWN,
        "faa-121",
    ),
    Claim(
        "EO-01",
        "unknown",
        beside(first_at(26.0), (first_at(None, suitable=None),)),
        UNKNOWN,
        "faa-121",
    ),
    Claim(
        "EO-01", "below", beside(first_at(26.0), (first_at(21.0, suitable=None),)), PASS, "faa-121"
    ),
    Claim(
        "EO-01",
        "above",
        beside(first_at(26.0), (first_at(20.0), first_at(1.0, suitable=None))),
        FAIL,
        "faa-121",
    ),
    Claim(
        "EO-01",
        "not applicable",
        beside(first_at(26.0, course=course())),
        NOT_APPLICABLE,
        "faa-121",
    ),
    Claim(
        "EO-01", "not applicable", beside(first_at(26.0, suitable=False)), NOT_APPLICABLE, "faa-121"
    ),
    Claim("EO-01", "not applicable", beside(first_at(26.0), (first_at(20.0),)), NOT_APPLICABLE),
    Claim("EO-02", "holds", beside(going_on(None)), PASS),
    Claim("EO-02", "holds", beside(going_on(Breach.WIND_LIMIT), (first_at(20.0),)), PASS),
    Claim("EO-02", "broken", beside(going_on(Breach.CANNOT_STOP), (first_at(20.0),)), FAIL),
    Claim(
        "EO-02",
        "broken",
        beside(
            going_on(Breach.OBSTACLES),
            (first_at(20.0, legal=False, worst=Breach.WIND_LIMIT),),
        ),
        FAIL,
    ),
    Claim("EO-02", "unknown", beside(going_on(None, legal=None)), UNKNOWN),
    Claim("EO-02", "not applicable", beside(going_on(Breach.CANNOT_STOP)), NOT_APPLICABLE),
    Claim(
        "EO-02",
        "not applicable",
        beside(going_on(Breach.ENGINES_STOP), (first_at(20.0, legal=None),)),
        NOT_APPLICABLE,
    ),
    Claim("EO-02", "not applicable", beside(first_at(20.0)), NOT_APPLICABLE),
    Claim("EO-02", "not applicable", beside(going_on(None, course=onward())), NOT_APPLICABLE),
    Claim("ER-01", "holds", course(), PASS),
    Claim("ER-01", "broken", course(ledger=None, limited_by="gear altitude limit"), FAIL),
    Claim("ER-01", "unknown", course(ledger=None, unknown=("distance",)), UNKNOWN),
    Claim("ER-02", "below", minimum_level(8000.0, 7999.0), FAIL),
    Claim("ER-02", "at", minimum_level(8000.0, 8000.0), PASS),
    Claim("ER-02", "above", minimum_level(8000.0, 8001.0), PASS),
    Claim("ER-02", "not applicable", minimum_level(None, 8000.0), NOT_APPLICABLE),
    Claim("ER-02", "not applicable", minimum_level(8000.0, None), NOT_APPLICABLE),
    Claim("ER-03", "below", unpressurised(9999.0), PASS),
    Claim("ER-03", "at", unpressurised(10_000.0), PASS),
    Claim("ER-03", "above", unpressurised(10_001.0), FAIL),
    Claim("ER-03", "above", over_terrain(13_000.0, 10_000.0), FAIL),
    Claim("ER-03", "not applicable", over_terrain(13_000.0, 12_500.0), NOT_APPLICABLE),
    Claim("ER-03", "not applicable", course(), NOT_APPLICABLE),
    Claim("ER-03", "not applicable", unpressurised(None), NOT_APPLICABLE),
    Claim("ER-04", "below", limited_to(31.0), PASS),
    Claim("ER-04", "at", limited_to(30.0), PASS),
    Claim("ER-04", "above", limited_to(29.0), FAIL),
    Claim("ER-04", "unknown", replace(limited_to(30.0), arrive_at=None), UNKNOWN),
    Claim("ER-04", "not applicable", course(attempts=(attempt(**THERE),)), NOT_APPLICABLE),
    Claim("ER-04", "not applicable", course(), NOT_APPLICABLE),
    breathing("below", PASS, oxygen_min=26.0),
    breathing("at", PASS, oxygen_min=25.0),
    breathing("above", FAIL, oxygen_min=24.0),
    breathing("unknown", UNKNOWN),
    Claim("ER-05", "unknown", replace(unpressurised(None), ledger=None), UNKNOWN),
    breathing("not applicable", NOT_APPLICABLE, level_ft=10_000.0),
    Claim("ER-05", "not applicable", course(), NOT_APPLICABLE),
    breathing("below", PASS, rule="ER-06", oxygen_min=26.0),
    breathing("at", PASS, rule="ER-06", oxygen_min=25.0),
    breathing("above", FAIL, rule="ER-06", oxygen_min=24.0),
    breathing("unknown", UNKNOWN, rule="ER-06"),
    Claim("ER-06", "unknown", replace(unpressurised(None), ledger=None), UNKNOWN),
    breathing("not applicable", NOT_APPLICABLE, rule="ER-06", level_ft=10_000.0),
    Claim("ER-06", "not applicable", course(), NOT_APPLICABLE),
    terrain("ER-07", "below", FAIL, 11_999.0, 12_000.0),
    terrain("ER-07", "at", PASS, 12_000.0, 12_000.0),
    terrain("ER-07", "above", PASS, 12_001.0, 12_000.0),
    terrain("ER-07", "unknown", UNKNOWN, None, 12_000.0),
    terrain("ER-07", "not applicable", NOT_APPLICABLE, 9000.0, 12_000.0, kind=COMMIT),
    Claim("ER-07", "not applicable", course(), NOT_APPLICABLE),
    terrain("ER-08", "below", FAIL, 12_999.0, 12_000.0, now_ft=25_000.0),
    terrain("ER-08", "at", PASS, 13_000.0, 12_000.0, now_ft=25_000.0),
    terrain("ER-08", "above", PASS, 13_001.0, 12_000.0, now_ft=25_000.0),
    terrain("ER-08", "unknown", UNKNOWN, None, 12_000.0, now_ft=25_000.0),
    terrain("ER-08", "not applicable", NOT_APPLICABLE, 12_500.0, 12_000.0, now_ft=12_500.0),
    terrain("ER-08", "not applicable", NOT_APPLICABLE, 12_999.0, None, now_ft=25_000.0),
    Claim("ER-08", "not applicable", course(), NOT_APPLICABLE),
    Claim("FU-01", "below", lands_with(1199.0), FAIL),
    Claim("FU-01", "at", lands_with(1200.0), PASS),
    Claim("FU-01", "above", lands_with(1201.0), PASS),
    Claim("FU-01", "unknown", course(unknown=("rate of the fuel leak",)), UNKNOWN),
    Claim("FU-01", "unknown", course(ledger=None), UNKNOWN),
    Claim("FU-02", "below", lands_with(1599.0, configured_reserve_kg=1600.0), FAIL),
    Claim("FU-02", "at", lands_with(1600.0, configured_reserve_kg=1600.0), PASS),
    Claim("FU-02", "above", lands_with(1601.0, configured_reserve_kg=1600.0), PASS),
    Claim("FU-02", "below", lands_with(1199.0, configured_reserve_kg=900.0), FAIL),
    Claim("FU-02", "unknown", course(unknown=("rate of the fuel leak",)), UNKNOWN),
    Claim("HZ-01", "holds", attempt(), PASS),
    Claim("HZ-01", "holds", stormy("squall", HazardWeight.WARNING), PASS),
    Claim("HZ-01", "broken", stormy("funnel_cloud", HazardWeight.BAR), FAIL),
    Claim("HZ-01", "unknown", attempt(weather=seen(unknown=frozenset({Element.WEATHER}))), UNKNOWN),
    Claim("HZ-02", "holds", stormy("thunderstorm", HazardWeight.CAUTION), PASS),
    Claim("HZ-02", "holds", stormy("funnel_cloud", HazardWeight.BAR), PASS),
    Claim("HZ-02", "broken", stormy("hail", HazardWeight.WARNING), FAIL),
    Claim("HZ-02", "unknown", attempt(weather=seen(unknown=frozenset({Element.WEATHER}))), UNKNOWN),
    Claim("LD-01", "below", attempt(landing=replace(STOP, distance_m=1739.0)), PASS),
    Claim("LD-01", "at", attempt(landing=replace(STOP, distance_m=2000.0 / 1.15)), PASS),
    Claim("LD-01", "above", attempt(landing=replace(STOP, distance_m=1740.0)), FAIL),
    Claim(
        "LD-01",
        "above",
        attempt(landing=replace(STOP, distance_m=None, limited_by="does not stop")),
        FAIL,
    ),
    Claim("LD-01", "unknown", attempt(landing=None, unknown=("QNH",)), UNKNOWN),
    Claim("LD-01", "unknown", attempt(landing=None, runway=None), UNKNOWN),
    Claim("LD-01", "unknown", stops_on(lda_m=None), UNKNOWN),
    Claim("LD-01", "unknown", stops_on(lda_m=None, length_m=6000.0), UNKNOWN),
    Claim("LD-01", "above", stops_on(lda_m=None, length_m=1700.0), FAIL),
    Claim("LD-01", "above", stops_on(lda_m=1700.0, length_m=3000.0), FAIL),
    Claim("LD-01", "below", stops_on(lda_m=2400.0, length_m=1700.0), PASS),
    Claim("LD-01", "above", slippery(distance_m=1740.0), FAIL),
    Claim("LD-01", "above", slippery(distance_m=None, limited_by="does not stop"), FAIL),
    Claim("LD-01", "unknown", slippery(distance_m=1739.0), UNKNOWN),
    Claim("LD-02", "below", attempt(runway_condition=surface(0)), FAIL),
    Claim("LD-02", "at", attempt(runway_condition=surface(1)), PASS),
    Claim("LD-02", "above", attempt(runway_condition=surface(2)), PASS),
    Claim("LD-02", "unknown", attempt(runway_condition=surface(None)), UNKNOWN),
    Claim("LD-03", "below", attempt(mass_kg=65_999.0), PASS),
    Claim("LD-03", "at", attempt(mass_kg=66_000.0), PASS),
    Claim("LD-03", "above", attempt(mass_kg=66_001.0), FAIL),
    Claim("LD-04", "below", attempt(landing=replace(STOP, brake_energy_mj=229.0)), PASS),
    Claim("LD-04", "at", attempt(landing=replace(STOP, brake_energy_mj=230.0)), PASS),
    Claim("LD-04", "above", attempt(landing=replace(STOP, brake_energy_mj=231.0)), FAIL),
    Claim("LD-04", "unknown", attempt(landing=None, unknown=("QNH",)), UNKNOWN),
    Claim(
        "LD-04",
        "not applicable",
        attempt(landing=replace(STOP, brake_energy_mj=None, limited_by="code 0")),
        NOT_APPLICABLE,
    ),
    Claim("LD-05", "below", attempt(landing=replace(STOP, tyre_speed_kt=194.0)), PASS),
    Claim("LD-05", "at", attempt(landing=replace(STOP, tyre_speed_kt=195.0)), PASS),
    Claim("LD-05", "above", attempt(landing=replace(STOP, tyre_speed_kt=196.0)), FAIL),
    Claim("LD-05", "unknown", attempt(landing=None, runway_condition=surface(None)), UNKNOWN),
    Claim("LD-05", "below", slippery(tyre_speed_kt=194.0), PASS),
    Claim("LD-05", "above", slippery(tyre_speed_kt=196.0), FAIL),
    Claim("LD-06", "below", planned(1199.0), PASS, changes=PLANNING),
    Claim("LD-06", "at", planned(1200.0), PASS, changes=PLANNING),
    Claim("LD-06", "above", planned(1201.0), FAIL, changes=PLANNING),
    Claim("LD-06", "above", planned(1201.0), FAIL, "faa-121", PLANNING),
    Claim("LD-06", "not applicable", planned(1201.0), NOT_APPLICABLE),
    Claim("LD-06", "unknown", planned(None, unknown=("QNH",)), UNKNOWN, changes=PLANNING),
    Claim("LD-06", "unknown", planned(900.0, runway=None), UNKNOWN, changes=PLANNING),
    Claim(
        "LD-06",
        "unknown",
        planned(900.0, runway_condition=surface(None)),
        UNKNOWN,
        changes=PLANNING,
    ),
    Claim(
        "LD-06", "above", planned(1201.0, runway_condition=surface(None)), FAIL, changes=PLANNING
    ),
    Claim("LD-06", "above", planned(1050.0, runway_condition=surface(5)), FAIL, changes=PLANNING),
    Claim(
        "LD-06",
        "above",
        planned(1050.0, **THERE, runway_condition=surface(5)),
        FAIL,
        changes=PLANNING,
    ),
    Claim(
        "LD-06",
        "below",
        planned(1050.0, **THERE, runway_condition=surface(5)),
        PASS,
        "faa-121",
        PLANNING,
    ),
    Claim(
        "LD-06",
        "above",
        planned(900.0, runway_condition=surface(2), landing=replace(STOP, distance_m=1750.0)),
        FAIL,
        changes=PLANNING,
    ),
    Claim(
        "LD-06",
        "below",
        planned(900.0, runway_condition=surface(2), landing=replace(STOP, distance_m=1750.0)),
        PASS,
        "faa-121",
        PLANNING,
    ),
    Claim(
        "LD-06",
        "unknown",
        planned(900.0, runway_condition=surface(2), landing=None, unknown=("QNH",)),
        UNKNOWN,
        changes=PLANNING,
    ),
    Claim(
        "LD-06",
        "above",
        planned(
            900.0,
            runway_condition=surface(1),
            landing=replace(STOP, distance_m=None, limited_by="does not stop"),
        ),
        FAIL,
        changes=PLANNING,
    ),
    Claim(
        "LD-06",
        "unknown",
        attempt(landing_dry=replace(STOP, distance_m=None, unknown="no row for flap 20")),
        UNKNOWN,
        changes=PLANNING,
    ),
    Claim("MA-01", "below", climbing(2.49), FAIL),
    Claim("MA-01", "at", climbing(2.5), PASS),
    Claim("MA-01", "above", climbing(2.51), PASS),
    Claim("MA-01", "unknown", attempt(climb=None, unknown=("surface temperature",)), UNKNOWN),
    Claim("MA-01", "unknown", attempt(approach=None), UNKNOWN),
    Claim("MA-01", "not applicable", attempt(**THERE), NOT_APPLICABLE),
    Claim(
        "MA-01",
        "below",
        over_obstacles(500.0, climb=replace(AWAY, ground_gradient_percent=2.49)),
        FAIL,
    ),
    Claim(
        "MA-01",
        "not applicable",
        attempt(
            approach=replace(
                PROCEDURE,
                missed_gradient_percent=None,
                obstacles=(Obstacle(distance_nm=4.0, elevation_ft=900.0),),
            )
        ),
        NOT_APPLICABLE,
    ),
    Claim("MA-02", "below", over_obstacles(500.0, 100.0), FAIL),
    Claim("MA-02", "at", over_obstacles(164.0), PASS),
    Claim("MA-02", "above", over_obstacles(165.0, 2000.0), PASS),
    Claim(
        "MA-02", "unknown", over_obstacles(climb=None, unknown=("surface temperature",)), UNKNOWN
    ),
    Claim("MA-02", "unknown", over_obstacles(), UNKNOWN),
    Claim("MA-02", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("MA-03", "below", certified(approach_percent=2.09), FAIL),
    Claim("MA-03", "at", certified(approach_percent=2.1), PASS),
    Claim("MA-03", "above", certified(approach_percent=2.11), PASS),
    Claim("MA-03", "unknown", attempt(**AIRLESS), UNKNOWN),
    Claim("MA-03", "unknown", attempt(**THERE, **AIRLESS), UNKNOWN),
    Claim("MA-03", "not applicable", failed("engine-1"), NOT_APPLICABLE),
    Claim("MA-03", "not applicable", failed("hydraulic-1"), NOT_APPLICABLE),
    Claim("MA-04", "below", certified(landing_percent=3.19), FAIL),
    Claim("MA-04", "at", certified(landing_percent=3.2), PASS),
    Claim("MA-04", "above", certified(landing_percent=3.21), PASS),
    Claim("MA-04", "unknown", attempt(**AIRLESS), UNKNOWN),
    Claim("MA-04", "not applicable", failed("gear-retraction"), NOT_APPLICABLE),
    Claim("WD-01", "below", blowing(crosswind_kt=24.0), PASS),
    Claim("WD-01", "at", blowing(crosswind_kt=30.0), PASS),
    Claim("WD-01", "above", blowing(crosswind_kt=31.0), FAIL),
    Claim("WD-01", "unknown", blowing(crosswind_kt=1.0, possibly_worse=True), UNKNOWN),
    Claim("WD-01", "unknown", attempt(wind=None), UNKNOWN),
    Claim("WD-01", "unknown", attempt(runway_condition=surface(None)), UNKNOWN),
    Claim("WD-01", "above", blowing_on_snow(36.0), FAIL),
    Claim("WD-01", "unknown", blowing_on_snow(35.0), UNKNOWN),
    Claim("WD-01", "unknown", attempt(runway_condition=surface(0)), UNKNOWN),
    Claim("WD-01", "above", blowing(crosswind_kt=31.0, possibly_worse=True), FAIL),
    Claim("WD-02", "below", blowing(tailwind_kt=9.0), PASS),
    Claim("WD-02", "at", blowing(tailwind_kt=10.0), PASS),
    Claim("WD-02", "above", blowing(tailwind_kt=11.0), FAIL),
    Claim("WD-02", "unknown", attempt(wind=None), UNKNOWN),
    Claim("WX-01", "below", attempt(**THERE, weather=seen(rvr=(rvr(549.0),))), FAIL),
    Claim("WX-01", "at", attempt(**THERE, weather=seen(rvr=(rvr(550.0),))), PASS),
    Claim("WX-01", "above", attempt(**THERE, weather=seen(rvr=(rvr(551.0),))), PASS),
    Claim("WX-01", "unknown", attempt(**THERE, weather=seen(**NOTHING_SEEN)), UNKNOWN),
    Claim("WX-01", "unknown", attempt(**THERE, approach=None), UNKNOWN),
    Claim("WX-01", "not applicable", attempt(), NOT_APPLICABLE),
    Claim(
        "WX-01",
        "below",
        attempt(**THERE, weather=seen(visibility=visibility(1349.0))),
        FAIL,
        changes=PLANNING,
    ),
    Claim(
        "WX-01",
        "at",
        attempt(**THERE, weather=seen(visibility=visibility(1350.0))),
        PASS,
        changes=PLANNING,
    ),
    Claim("WX-02", "below", attempt(**THERE, weather=seen(ceiling=ceiling(199.0))), FAIL),
    Claim("WX-02", "at", attempt(**THERE, weather=seen(ceiling=ceiling(200.0))), PASS),
    Claim("WX-02", "above", attempt(**THERE, weather=seen(ceiling=ceiling(201.0))), PASS),
    Claim("WX-02", "above", attempt(**THERE), PASS),
    Claim("WX-02", "unknown", attempt(**THERE, weather=seen(**NOTHING_SEEN)), UNKNOWN),
    Claim("WX-02", "unknown", attempt(**THERE, approach=None), UNKNOWN),
    Claim("WX-02", "not applicable", attempt(), NOT_APPLICABLE),
    Claim(
        "WX-02",
        "below",
        attempt(**THERE, weather=seen(ceiling=ceiling(399.0))),
        FAIL,
        changes=PLANNING,
    ),
    Claim(
        "WX-02",
        "at",
        attempt(**THERE, weather=seen(ceiling=ceiling(400.0))),
        PASS,
        changes=PLANNING,
    ),
    Claim("WX-03", "holds", without_ice_protection(), PASS),
    Claim("WX-03", "broken", without_ice_protection(icing_phenomena=("SN",)), FAIL),
    Claim("WX-03", "broken", without_ice_protection(freezing_precipitation=True), FAIL),
    Claim("WX-03", "unknown", without_ice_protection(freezing_precipitation=None), UNKNOWN),
    Claim("WX-03", "not applicable", attempt(), NOT_APPLICABLE),
    Claim("WX-04", "below", onward(ceiling=ceiling(399.0)), FAIL, "faa-121"),
    Claim("WX-04", "at", onward(ceiling=ceiling(400.0)), PASS, "faa-121"),
    Claim("WX-04", "above", onward(ceiling=ceiling(401.0)), PASS, "faa-121"),
    Claim("WX-04", "unknown", onward(**NOTHING_SEEN), UNKNOWN, "faa-121"),
    Claim("WX-04", "unknown", course(**AFTER), UNKNOWN, "faa-121"),
    Claim("WX-04", "not applicable", onward(ceiling=ceiling(100.0)), NOT_APPLICABLE),
    Claim("WX-04", "not applicable", course(), NOT_APPLICABLE, "faa-121"),
]
FIGURES = {"below", "at", "above", "unknown", "not applicable"}
QUESTION = {"holds", "broken", "unknown", "not applicable"}
# Rules that ask a question and compare no figures: they hold or are broken. A closed list.
QUESTIONS = {
    "AD-01": "a place is open or closed",
    "AD-02": "there is a runway or there is none",
    "AP-01": "an approach can be flown or cannot",
    "AP-03": "what such minima are flown with is there or is lost",
    "CM-04": "a runway stays free or may be blocked",
    "CM-06": "there is weather that weighs against a landing, or there is none",
    "EO-02": "going on is safe or is not",
    "ER-01": "a way can be flown or cannot",
    "HZ-01": "there is weather in which nobody lands, or there is none",
    "HZ-02": "there is weather that is advised against, or there is none",
    "WX-03": "there is icing weather or there is none",
}
# Cases that a rule cannot have, and why. A closed list, so that none is missing by accident.
CANNOT = {
    ("AD-01", "unknown"): "a case without closures says that there are none",
    ("AD-01", "not applicable"): "every landing needs an open aerodrome",
    ("AD-02", "unknown"): "a case without runways says that there is none",
    ("AD-02", "not applicable"): "every landing needs a runway",
    ("AP-01", "not applicable"): "every landing here is made from a procedure",
    ("ER-01", "not applicable"): "every course is flown",
    ("ER-02", "unknown"): "a level given is compared; one not given is a caution, not a rule",
    ("ER-03", "unknown"): "a course that is flown has a level; one that is not fails ER-01",
    ("FU-01", "not applicable"): "every course lands with some fuel or none",
    ("FU-02", "not applicable"): "every course lands with some fuel or none",
    ("HZ-01", "not applicable"): "every place has weather of some kind",
    ("HZ-02", "not applicable"): "every place has weather of some kind",
    ("LD-01", "not applicable"): "every attempt must be able to land",
    ("LD-02", "not applicable"): "every runway has a surface",
    ("LD-03", "unknown"): "mass and fuel are required of every case",
    ("LD-03", "not applicable"): "every landing has a mass",
    ("LD-05", "not applicable"): "every landing has a speed",
    ("WD-01", "not applicable"): "calm is a wind",
    ("WD-02", "not applicable"): "calm is a wind",
}


def says_nothing_of_one_engine(what: Context) -> Context:
    aircraft = what.case.aircraft
    usual = aircraft.profile.approach
    approach = replace(usual, low_visibility_one_engine=LowVisibility.NOT_STATED)
    profile = replace(aircraft.profile, approach=approach)
    return replace(what, case=replace(what.case, aircraft=replace(aircraft, profile=profile)))


def asked_of(claim: Claim) -> Context:
    unsaid = claim.rulebook == "unsaid"  # a profile that does not say what one engine allows
    what = context("icao" if unsaid else claim.rulebook, **(claim.changes or {}))
    return says_nothing_of_one_engine(what) if unsaid else what


def judged(claim: Claim) -> Finding:
    return judge(claim, asked_of(claim))


def judge(claim: Claim, what: Context) -> Finding:
    """What the rule of a case says of its subject there."""
    if isinstance(claim.subject, Beside):
        found = judge_among(AMONG_RULES, claim.subject, what)
    elif isinstance(claim.subject, Attempt):
        found = findings(claim.subject, what)
    else:
        found = judge_course(COURSE_RULES, claim.subject, what)
    return next(finding for finding in found if finding.rule == claim.rule)


@pytest.mark.parametrize(
    "claim", [pytest.param(each, id=f"{each.rule} {each.position}") for each in CLAIMS]
)
def test_a_rule_decides_each_of_its_cases(claim: Claim) -> None:
    finding = judged(claim)
    assert finding.outcome is claim.outcome, finding.text
    assert finding.text
    assert finding.citation


def kinds_of(code: str) -> set[str]:
    """The cases that a rule must have."""
    whole = QUESTION if code in QUESTIONS else FIGURES
    return {position for position in whole if (code, position) not in CANNOT}


@pytest.mark.parametrize("code", [rule.code for rule in RULES])
def test_every_rule_has_all_the_cases_it_can_have(code: str) -> None:
    """A new rule without its cases fails here, and so does a reason that nothing needs."""
    assert {claim.position for claim in CLAIMS if claim.rule == code} == kinds_of(code)


def test_the_closed_lists_name_only_rules_and_cases_that_there_are() -> None:
    codes = {rule.code for rule in RULES}
    assert set(QUESTIONS) <= codes
    assert {claim.rule for claim in CLAIMS} == codes
    for (code, position), why in CANNOT.items():
        assert code in codes
        assert position in (QUESTION if code in QUESTIONS else FIGURES)
        assert len(why.split()) > 3


@pytest.mark.parametrize("code", sorted({rule.code for rule in RULES} - set(QUESTIONS)))
def test_a_case_stands_where_it_says_below_at_or_above_the_limit(code: str) -> None:
    """A case that calls itself "at" has no room and lacks nothing: the edge is really tried."""
    stood = set()
    for claim in CLAIMS:
        judgement = judged(claim).judgement if claim.rule == code else None
        if judgement is not None and judgement.value is not None and judgement.limit is not None:
            apart = judgement.value - judgement.limit
            at = abs(apart) < 1e-6 * abs(judgement.limit)
            position = "at" if at else "above" if apart > 0.0 else "below"
            assert claim.position in {position, "unknown"}
            stood.add(position)
    assert stood == {"below", "at", "above"}


@pytest.mark.parametrize("code", sorted(QUESTIONS))
def test_a_question_compares_no_figures(code: str) -> None:
    claims = [claim for claim in CLAIMS if claim.rule == code]
    assert claims
    assert {judged(claim).judgement.limit for claim in claims} == {None}


def test_codes_are_unique_sorted_and_never_come_back() -> None:
    for rules in (ATTEMPT_RULES, COURSE_RULES, AMONG_RULES):
        codes = [rule.code for rule in rules]
        assert codes == sorted(set(codes))
        assert not set(codes) & set(RETIRED)
    assert len({rule.code for rule in RULES}) == len(RULES)


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_every_rule_cites_a_row_of_every_rulebook(rulebook: str) -> None:
    book = context(rulebook).rulebook
    assert RULES
    for rule in RULES:
        assert book.row(rule.row).citation


def test_the_bound_of_a_reading_is_never_credited() -> None:
    below = attempt(weather=seen(rvr=(rvr(550.0, low_bound=Bound.BELOW),)))
    assert judged(Claim("AP-02", "", below, FAIL)).outcome is FAIL


def test_one_engine_out_is_judged_by_its_own_procedure_where_one_is_published() -> None:
    failed: dict[str, Any] = {"/failures": [{"id": "engine-1"}]}
    case: Case = context(**failed).case
    aircraft = case.aircraft
    left = assess(aircraft.profile, case.failures, gear=aircraft.gear, flap="0", slats=None)
    published = replace(PROCEDURE, oei_missed_gradient_percent=2.1)
    at = attempt(
        capability=left, approach=published, climb=replace(AWAY, ground_gradient_percent=2.2)
    )
    finding = judged(Claim("MA-01", "", at, PASS))
    assert (finding.outcome, finding.judgement.limit) == (PASS, 2.1)
    assert "one engine out" in finding.text


def test_without_a_charted_gradient_the_rulebooks_differ() -> None:
    """[PANS-OPS-I] 2.5 percent; [FAA-AIM] 5-4-21: 200 ft/NM, which is 3.29 percent."""
    bare = attempt(
        approach=replace(PROCEDURE, missed_gradient_percent=None),
        climb=replace(AWAY, ground_gradient_percent=3.0),
    )
    assert judged(Claim("MA-01", "", bare, PASS)).outcome is PASS
    american = judged(Claim("MA-01", "", bare, FAIL, "faa-121"))
    assert american.outcome is FAIL
    assert american.judgement.limit == pytest.approx(3.29, abs=0.005)


def test_a_context_is_made_of_a_case_and_a_rulebook() -> None:
    assert isinstance(context(), Context)


BY_SCENE = {rule.code: rule.of_scene for rule in ATTEMPT_RULES if rule.of_scene is not None}


@pytest.mark.parametrize("code", sorted(BY_SCENE))
def test_what_a_rule_finds_of_a_scene_it_finds_of_each_attempt_there(code: str) -> None:
    """It is given the members of a scene and nothing more, so that it cannot look at others."""
    check = next(rule.check for rule in ATTEMPT_RULES if rule.code == code)
    found = []
    for claim in CLAIMS:
        what = asked_of(claim)
        if not isinstance(claim.subject, Attempt):
            continue
        at = drawn(claim.subject, what)
        scene = Scene(**{name: getattr(at, name) for name in Scene.__struct_fields__})
        of_scene = BY_SCENE[code](scene, what)
        assert of_scene in (None, check(at, what))
        found.append(of_scene)
    assert any(found)
