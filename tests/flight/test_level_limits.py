"""Above a level limit: every failure of every aircraft from cruise levels through whole decisions.

The first leg is a descent to the limit, with its name, fuel, miles and minutes; no failure at a
cruise level leaves a course that cannot be flown for its level alone.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.performance import Descent, ceiling_ft, clean, climb, level_limit, uniform_air
from decision.performance.envelope import envelope
from decision.performance.thrust import en_route_rating
from decision.profile import load_profile, profile_ids
from decision.profile.systems_effects import FlapsJammed, FlapsLimited, SlatsJammed
from decision.recommend import recommend as decide
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.physics.outcomes import fly_level_limit

LEVELS_FT = (10_000, 25_000, 35_000)
LOW_FT = 8_000
DESCENTS = {each.value for each in Descent}
FAR = {
    "/destination/track_nm": 180,
    "/alternates/0/track_from_present_nm": 200,
    "/alternates/1/track_from_present_nm": 210,
    "/include": ["steps"],
}
EVERY = [
    (profile_id, entry.id)
    for profile_id in profile_ids()
    for entry in load_profile(profile_id).systems.catalogue.values()
]


def body_of(profile_id: str, id_: str | None, level_ft: float, **changes: Any) -> dict[str, Any]:
    """Far from everywhere at a level, with fuel for hours and a state that the failure allows."""
    profile = load_profile(profile_id)
    masses = profile.masses
    fuel_kg = 0.35 * masses.max_fuel_kg
    body = with_changes(
        demo("clean"),
        {
            "/aircraft/profile": profile_id,
            "/aircraft/flap": profile.flaps_up,
            "/aircraft/pressure_altitude_ft": level_ft,
            "/aircraft/mass_kg": round(masses.oew_kg + 0.5 * (masses.mzfw_kg - masses.oew_kg))
            + fuel_kg,
            "/aircraft/oxygen_min": 240,
            "/fuel/on_board_kg": fuel_kg,
            **FAR,
            **changes,
        },
    )
    return body if id_ is None else with_changes(body, _reported(profile_id, id_))


def _reported(profile_id: str, id_: str) -> dict[str, Any]:
    profile = load_profile(profile_id)
    entry = profile.systems.catalogue[id_]
    kinds = {type(effect) for effect in entry.effects}
    failure: dict[str, Any] = {"id": id_}
    if kinds & {FlapsJammed, FlapsLimited}:
        failure["detent"] = profile.flaps_up
    if SlatsJammed in kinds:
        failure["position"] = "in"
    allowed = {str(each) for each in entry.gear}
    gear = "up" if not allowed or "up" in allowed else sorted(allowed)[0]
    return {"/failures": [failure], "/aircraft/gear": gear}


@cache
def told(profile_id: str, id_: str | None, level_ft: float) -> dict[str, Any]:
    return told_of(case_from_mapping(body_of(profile_id, id_, level_ft)))


def limits(answer: dict[str, Any]) -> dict[str, str | None]:
    return {each["course"]: each["limited_by"] for each in answer["courses"]}


@pytest.mark.parametrize("level_ft", LEVELS_FT)
@pytest.mark.parametrize(("profile_id", "id_"), EVERY)
def test_no_failure_at_a_cruise_level_is_limited_by_its_level_alone(
    profile_id: str, id_: str, level_ft: int
) -> None:
    """What cannot be flown from there cannot be flown from 8000 ft either."""
    low, high = (limits(told(profile_id, id_, each)) for each in (LOW_FT, level_ft))
    assert len(high) >= 5
    short = {label for label, why in high.items() if why and low.get(label) is None}
    assert not short, {label: high[label] for label in short}


@pytest.mark.parametrize(("profile_id", "id_"), EVERY)
def test_the_first_leg_from_cruise_is_a_named_descent_wherever_a_level_cannot_be_kept(
    profile_id: str, id_: str
) -> None:
    answer = decide(case_from_mapping(body_of(profile_id, id_, 35_000)))
    situation = answer.situation
    aircraft = situation.case.aircraft
    configuration = situation.configurations.clean
    limit = level_limit(
        aircraft.profile,
        configuration,
        mass_kg=aircraft.mass_kg,
        pressure_altitude_ft=35_000.0,
        lowest_ft=4_000.0,
    )
    flown = [each.course for each in answer.courses if each.course.steps]
    assert flown or situation.capability.engines_running == 0
    for course in flown:
        first = course.steps[0]
        assert (first.name in DESCENTS) == (limit is not None), course.label
        if limit is not None:
            assert first.pressure_altitude_ft == limit.limit.value
            assert (
                first.pressure_altitude_ft
                <= envelope(aircraft.profile, configuration).highest_above_ft(4_000.0).value
            )
            assert min(first.time_min, first.fuel_kg, first.distance_nm) > 0.0


@pytest.mark.parametrize(
    ("failure", "name", "level_ft"),
    [
        ({"id": "pressurisation"}, Descent.EMERGENCY, 10_000.0),
        ({"id": "flaps-jammed", "detent": "12"}, Descent.ORDINARY, 20_000.0),
        ({"id": "gear-doors-open"}, Descent.ORDINARY, 25_000.0),
        ({"id": "engine-1"}, Descent.DRIFT_DOWN, None),
    ],
)
def test_each_limit_has_its_own_descent_and_the_miles_are_credited(
    failure: dict[str, str], name: Descent, level_ft: float | None
) -> None:
    changes = {
        "/failures": [failure],
        "/aircraft/flap": failure.get("detent", "0"),
        "/alternates/1/track_from_present_nm": 320,
    }
    answer = decide(case_from_mapping(body_of("xtj150", None, 35_000, **changes)))
    course = next(each.course for each in answer.courses if each.course.label == "divert_now:XTOR")
    first, *rest = course.steps
    assert first.name == name.value
    if level_ft is not None:
        assert first.pressure_altitude_ft == level_ft
    onward_nm = math.fsum(step.distance_nm for step in rest if step.name != "approach and landing")
    assert first.distance_nm + onward_nm == pytest.approx(320.0, abs=0.01)
    spent_kg = math.fsum(step.fuel_kg for step in course.steps)
    assert course.ledger is not None
    assert course.ledger.flight_kg + first.fuel_kg == pytest.approx(spent_kg, abs=0.01)


def test_oxygen_counts_the_minutes_of_the_descent() -> None:
    """From FL350: minutes above 10 000 ft are those of the descent, whoever breathes."""
    changes = {"/failures": [{"id": "pressurisation"}], "/aircraft/oxygen_min": 1}
    short = told_of(case_from_mapping(body_of("xtj150", None, 35_000, **changes)))
    long = told_of(
        case_from_mapping(
            body_of("xtj150", None, 35_000, **(changes | {"/aircraft/oxygen_min": 30}))
        )
    )

    def oxygen(answer: dict[str, Any]) -> set[str]:
        return {
            finding["outcome"]
            for course in answer["courses"]
            for finding in course["findings"]
            if finding["rule"] == "ER-05"
        }

    assert "FAIL" in oxygen(short)
    assert oxygen(long) <= {"PASS", "NOT_APPLICABLE"}


# --- the descents themselves, against arithmetic ---


def test_an_emergency_descent_from_fl350_takes_minutes_not_seconds() -> None:
    """25 000 ft at 5000 to 8000 ft/min [PRACTICE]: 3.1 to 5 min; 340 kt, so 20 to 35 NM."""
    profile = load_profile("xtj150")
    configuration = replace(clean(profile), pressurised=False)
    limit = level_limit(profile, configuration, mass_kg=60_000.0, pressure_altitude_ft=35_000.0)
    assert limit is not None
    flown = fly_level_limit(
        profile,
        configuration=configuration,
        mass_kg=60_000.0,
        pressure_altitude_ft=35_000.0,
        limit=limit,
    )
    assert 25.0 / 8.0 < flown.time_min < 25.0 / 5.0
    assert 20.0 < flown.distance_nm < 35.0


@pytest.mark.parametrize("mass_kg", [50_000.0, 60_000.0, 70_000.0])
def test_a_drift_down_sinks_no_slower_than_is_expected_and_ends_where_300_ft_per_min_are_left(
    mass_kg: float,
) -> None:
    profile = load_profile("xtj150")
    configuration = clean(profile, engines_stopped=1)
    limit = level_limit(profile, configuration, mass_kg=mass_kg, pressure_altitude_ft=35_000.0)
    assert limit is not None
    assert limit.descent is Descent.DRIFT_DOWN
    flown = fly_level_limit(
        profile,
        configuration=configuration,
        mass_kg=mass_kg,
        pressure_altitude_ft=35_000.0,
        limit=limit,
    )
    end_ft = limit.limit.value
    rates = [
        climb(
            profile,
            configuration=configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=level_ft,
            isa_deviation_degc=0.0,
            rating=en_route_rating(profile, configuration),
            cas_kt=flown.cas_kt,
        ).rate_fpm
        for level_ft in (end_ft, end_ft + 1_500.0)
    ]
    assert rates[0] >= 300.0 - 15.0
    assert rates[1] < 300.0
    highest_ft = ceiling_ft(profile, configuration=configuration, mass_kg=mass_kg)
    assert highest_ft is not None
    assert end_ft < highest_ft
    assert flown.time_min <= (35_000.0 - end_ft) / 500.0 + 0.01


def test_a_drift_down_without_room_for_it_gives_way_to_an_ordinary_descent() -> None:
    near, far = (
        decide(
            case_from_mapping(
                body_of(
                    "xtj150",
                    "engine-1",
                    35_000,
                    **{"/alternates/1/track_from_present_nm": miles},
                )
            )
        )
        for miles in (120, 400)
    )
    names = [
        next(c.course for c in answer.courses if c.course.label == "divert_now:XTOR").steps[0].name
        for answer in (near, far)
    ]
    assert names == [Descent.ORDINARY.value, Descent.DRIFT_DOWN.value]


def test_headwind_shortens_the_miles_of_a_descent_and_nothing_else() -> None:
    profile = load_profile("xtj150")
    configuration = clean(profile, engines_stopped=1)
    asked: dict[str, Any] = {
        "configuration": configuration,
        "mass_kg": 60_000.0,
        "pressure_altitude_ft": 35_000.0,
    }
    limit = level_limit(profile, configuration, mass_kg=60_000.0, pressure_altitude_ft=35_000.0)
    assert limit is not None
    flights = [
        fly_level_limit(profile, limit=limit, air=uniform_air(headwind_kt=wind), **asked)
        for wind in (0.0, 40.0, 80.0)
    ]
    for calm, windy in pairwise(flights):
        assert windy.fuel_kg == calm.fuel_kg
        lost_nm = 40.0 * calm.time_min / 60.0
        assert calm.distance_nm - windy.distance_nm == pytest.approx(lost_nm)


def test_an_idle_that_holds_the_aircraft_up_is_no_descent() -> None:
    profile = load_profile("xtj150")
    loud = replace(profile, engine=replace(profile.engine, idle_thrust_ratio=0.2))
    limited = replace(clean(loud), max_pressure_altitude_ft=5_000.0)
    limit = level_limit(loud, limited, mass_kg=60_000.0, pressure_altitude_ft=25_000.0)
    assert limit is not None
    flown = fly_level_limit(
        loud,
        configuration=limited,
        mass_kg=60_000.0,
        pressure_altitude_ft=25_000.0,
        limit=limit,
    )
    assert not flown.feasible
    assert "idle holds the aircraft up" in (flown.limited_by or "")


def test_an_aircraft_that_holds_no_level_has_only_the_limits_that_it_is_given() -> None:
    """Both engines stopped: what cannot be flown is for its courses to say."""
    profile = load_profile("xtj150")
    glider = clean(profile, engines_stopped=2)
    asked: dict[str, Any] = {"mass_kg": 60_000.0, "pressure_altitude_ft": 25_000.0}
    assert level_limit(profile, glider, **asked) is None
    thin = level_limit(profile, replace(glider, pressurised=False), **asked)
    assert thin is not None
    assert (thin.descent, thin.limit.value) == (Descent.EMERGENCY, 10_000.0)


def test_without_pressure_and_with_one_weak_engine_the_emergency_comes_first() -> None:
    profile = load_profile("xtj150")
    weak = replace(clean(profile, engines_stopped=1), pressurised=False, gear_down=True)
    limit = level_limit(profile, weak, mass_kg=60_000.0, pressure_altitude_ft=20_000.0)
    assert limit is not None
    assert limit.descent is Descent.EMERGENCY
    assert limit.limit.value < 10_000.0
