"""What a miss at the alternate leaves: a figure beside the course, which decides nothing."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.course import Course
from decision.decide.afterwards import left_after_each, missed_again
from decision.flight.second_miss import LeftAfterMiss
from decision.flight.situation import Situation, situation_of
from decision.flight.tracks import between_nm
from decision.performance import (
    approach_allowance,
    clean,
    climb,
    final_reserve_kg,
    holding_flow_kg_per_h,
)
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.decide.builders import case_of, courses_in, situation
from tests.physics.outcomes import fly_diversion, fly_go_around

NOW = "divert_now:XTOR"


def left_at(course: Course, seen: Situation) -> LeftAfterMiss | None:
    """What a miss at the end of a course leaves."""
    missed = missed_again(course, seen)
    return None if missed is None else left_after_each({"it": missed}, seen).get("it")


def left(name: str = "clean", /, label: str = NOW, **changes: Any) -> LeftAfterMiss | None:
    seen = situation(name, **changes)
    courses = {course.label: course for course in courses_in(seen)}
    return left_at(courses[label], seen)


def told(name: str, /, **changes: Any) -> dict[str, Any]:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def test_the_fuel_after_a_second_miss_is_flown_like_that_after_the_first() -> None:
    seen = situation("clean")
    courses = {course.label: course for course in courses_in(seen)}
    course, profile = courses[NOW], seen.case.aircraft.profile
    found = left_at(course, seen)
    assert found is not None
    assert found.next_aerodrome == "XKAL"
    assert course.ledger is not None
    elevation_ft, attempt = course.leg.aerodrome.elevation_ft, course.attempts[-1]
    assert attempt.approach is not None
    top_ft = attempt.approach.missed_altitude_ft or elevation_ft + 3_000.0
    up = fly_go_around(
        profile,
        configuration=seen.configurations.go_around,
        mass_kg=attempt.mass_kg,
        start_pressure_altitude_ft=elevation_ft + 200.0,
        end_pressure_altitude_ft=top_ft,
    )
    usable_kg = course.ledger.landing_kg - up.fuel_kg
    flow_kg_per_h = holding_flow_kg_per_h(
        profile,
        configuration=seen.configurations.after_miss,
        mass_kg=up.end_mass_kg,
        pressure_altitude_ft=elevation_ft + 1_500.0,
    )
    assert found.endurance_min == pytest.approx(usable_kg / flow_kg_per_h * 60.0, rel=1e-3)
    home = seen.case.destination
    miles = between_nm(seen.case, course.leg, home)
    assert miles is not None
    on = fly_diversion(
        profile,
        configuration=seen.configurations.after_miss,
        mass_kg=up.end_mass_kg,
        distance_nm=miles + attempt.approach.missed_track_nm,
        start_pressure_altitude_ft=top_ft,
        end_pressure_altitude_ft=home.aerodrome.elevation_ft + 1_500.0,
    )
    # What is left beside the flight is one approach and half an hour in hand.
    approach = approach_allowance(
        profile,
        configuration=seen.configurations.landing,
        mass_kg=on.end_mass_kg,
        pressure_altitude_ft=home.aerodrome.elevation_ft + 1_500.0,
    )
    reserve_kg = max(
        final_reserve_kg(
            profile,
            configuration=each,
            mass_kg=approach.end_mass_kg,
            elevation_ft=home.aerodrome.elevation_ft,
        )
        for each in (clean(profile), seen.configurations.after_miss)
    )
    left_kg = usable_kg - on.fuel_kg - approach.fuel_kg - reserve_kg
    assert found.margin_kg is not None
    winds_kg = 0.02 * on.fuel_kg  # the way home has winds aloft, this flight has none
    assert found.margin_kg == pytest.approx(left_kg, abs=5.0 * winds_kg)


def test_the_way_back_to_the_destination_is_the_way_out() -> None:
    seen = situation("clean")
    home, first = seen.case.destination, seen.case.alternates[0]
    assert between_nm(seen.case, first, home) == first.track_nm


@pytest.mark.parametrize("spare_kg", [100, 400])
def test_more_fuel_lasts_longer_and_reaches_no_less(spare_kg: int) -> None:
    body = demo("clean")
    fuel_kg, mass_kg = body["fuel"]["on_board_kg"], body["aircraft"]["mass_kg"]
    less = left()
    more = left(
        **{
            "/fuel/on_board_kg": fuel_kg + spare_kg,
            "/aircraft/mass_kg": mass_kg + spare_kg,
        }
    )
    assert less is not None
    assert more is not None
    assert more.endurance_min > less.endurance_min
    assert less.margin_kg is not None
    assert more.margin_kg is not None
    kept = (more.margin_kg - less.margin_kg) / spare_kg
    assert 0.90 < kept < 0.99  # carrying it as far as there costs some percent


def test_where_fuel_reaches_nothing_with_its_reserve_there_is_no_next_place() -> None:
    after_a_miss_here = left(label="approach_then_divert:XTOR")
    assert after_a_miss_here is not None
    assert after_a_miss_here.next_aerodrome is None
    assert after_a_miss_here.margin_kg is None
    assert after_a_miss_here.endurance_min > 30.0


def test_a_gear_that_stays_down_shortens_what_is_left() -> None:
    """Clean on the way there, but the approach there leaves the gear down as it would here."""
    free, stuck = left("clean"), left("gear-stuck")
    assert free is not None
    assert stuck is not None
    assert stuck.endurance_min < 0.8 * free.endurance_min


def test_a_place_of_unknown_distance_is_named_and_not_counted_as_out_of_reach() -> None:
    case = case_of("clean")
    nowhere = tuple(
        replace(leg, aerodrome=replace(leg.aerodrome, position=None))
        if leg.aerodrome.icao == "XBRE"
        else leg
        for leg in case.alternates
    )
    seen = situation_of(replace(case, alternates=nowhere))
    courses = {course.label: course for course in courses_in(seen)}
    found = left_at(courses[NOW], seen)
    assert found is not None
    assert found.distance_unknown == ("XBRE",)
    assert found.next_aerodrome == "XKAL"
    known = left()
    assert known is not None
    assert known.distance_unknown == ()


def test_without_the_fuel_to_climb_away_nothing_is_left_to_tell() -> None:
    seen = situation("clean")
    courses = {course.label: course for course in courses_in(seen)}
    course = courses[NOW]
    assert course.ledger is not None
    dry = replace(course.ledger, flight_kg=course.ledger.counted_from_kg - 20.0)
    assert left_at(replace(course, ledger=dry), seen) is None


def test_the_climb_there_is_told_beside_what_is_published_for_it() -> None:
    seen = situation("gear-stuck")
    found = left("gear-stuck")
    courses = {course.label: course for course in courses_in(seen)}
    attempt = courses[NOW].attempts[-1]
    assert found is not None
    assert attempt.approach is not None
    assert found.published_gradient_percent == attempt.approach.missed_gradient_percent
    again = climb(
        seen.case.aircraft.profile,
        configuration=seen.configurations.go_around,
        mass_kg=attempt.mass_kg,
        pressure_altitude_ft=courses[NOW].leg.aerodrome.elevation_ft,
        isa_deviation_degc=0.0,
    )
    assert found.gradient_percent == pytest.approx(again.gradient_percent, abs=0.1)
    assert not found.climb_short


def test_a_climb_that_is_less_than_published_is_short_and_an_unknown_one_is_not() -> None:
    stopped: dict[str, Any] = {"/failures": [{"id": "engine-1"}]}
    weak, whole = left(**stopped), left()
    assert weak is not None
    assert whole is not None
    assert weak.gradient_percent is not None
    assert whole.gradient_percent is not None
    assert weak.gradient_percent < 0.5 * whole.gradient_percent
    for more, short in ((0.1, True), (0.0, False), (-0.1, False)):
        published = weak.gradient_percent + more
        assert replace(weak, published_gradient_percent=published).climb_short is short
    assert not replace(weak, published_gradient_percent=None).climb_short
    assert not replace(weak, gradient_percent=None).climb_short


def test_courses_without_a_diversion_have_none() -> None:
    for label in ("commit_to_land:XKAL", "second_approach:XKAL"):
        assert left(label=label) is None


@pytest.mark.parametrize("name", ["clean", "gear-stuck", "nothing-legal"])
def test_the_best_legal_diversions_and_the_chosen_one_tell_it_and_no_others(name: str) -> None:
    answer = told(name)
    courses = answer["courses"]
    assert courses
    for course in courses:
        wanted = course["legal"] is True and course["rank"] <= 2
        wanted = wanted or course["course"] == answer["action"]["course"]
        diversion = course["kind"] not in ("commit_to_land", "second_approach")
        assert (course["after_miss_there"] is not None) == (wanted and diversion)
