"""Courses as flown: where they start, what they fly, what they cost, and what stops them."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest

from decision.course import Course, CourseKind
from decision.decide.attempts import JudgedAttempts
from decision.decide.judge import JudgedCourse
from decision.decide.measures import margin_p95_kg, minutes_left, policy_margin_kg
from decision.decide.rank import ranked
from decision.decide.wait import bar_to_holding, barred_wait, waiting_courses
from decision.flight.approach import (
    approach_flight,
    before_landing_min,
    checklist_min,
    departure_of,
    extension_nm,
    present_flight,
)
from decision.flight.irreversible import penalties
from decision.flight.ledger import Ledger
from decision.flight.stretches import Flight, held
from decision.flight.tracks import from_present_nm, onward_nm, to_run_nm
from decision.flight.ways import Origin
from decision.performance import CannotFly
from decision.rules.combine import at_least, holds, unknown
from decision.rules.finding import Judgement
from decision.rules.row import Breach
from tests.case.builders import REMOVED, demo
from tests.changing import replace
from tests.decide.builders import case_of, courses, judged_in, situation
from tests.decide.by_hand import course as laid_out
from tests.decide.by_hand import finding

AWAY = "approach_then_divert:XTOR"
NOW = "divert_now:XTOR"
POINT = "divert_now:XTOR:from_last_clean_point"
AGAIN = "second_approach:XKAL"
STAY = "commit_to_land:XKAL"
GEAR = {"/failures": [{"id": "gear-retraction"}]}


def ledger(course: Course) -> Ledger:
    assert course.ledger is not None, course.limited_by or course.unknown
    return course.ledger


# --- which courses there are ---


def test_there_is_one_course_of_each_kind_for_each_place() -> None:
    assert set(courses()) == {
        f"{kind}:{icao}{start}"
        for icao in ("XBRE", "XTOR")
        for kind, start in (
            ("approach_then_divert", ""),
            ("divert_now", ""),
            ("divert_now", ":from_last_clean_point"),
        )
    } | {AGAIN, STAY}


def test_without_alternates_there_is_the_destination_only() -> None:
    assert set(courses(**{"/alternates": []})) == {AGAIN, STAY}


def test_past_the_last_clean_point_nothing_leaves_from_it() -> None:
    there = Origin.LAST_CLEAN_POINT
    assert there in {each.origin for each in courses().values()}
    past_it = {each.origin for each in courses(**{"/aircraft/gear": "down"}).values()}
    assert past_it
    assert there not in past_it


def test_a_destination_of_unknown_distance_leaves_the_diversions_and_a_landing_that_says_so() -> (
    None
):
    nowhere = {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED}
    there = courses(**nowhere)
    assert set(there) == {"divert_now:XBRE", NOW, "commit_to_land:XKAL"}
    landing = there["commit_to_land:XKAL"]
    assert (landing.unknown, landing.ledger) == (("distance to XKAL",), None)


# --- miles ---


def test_miles_are_as_given() -> None:
    case = case_of()
    assert to_run_nm(case) == 42.0
    assert from_present_nm(case, case.alternates[0]) == 128.0
    assert onward_nm(case, case.alternates[0]) == 112.0


def test_miles_that_are_not_given_are_the_great_circle_with_the_routing_factor() -> None:
    bare = {"/destination/track_nm": REMOVED, "/alternates/1": {"icao": "XTOR"}}
    case, straight = case_of(**bare), case_of(**bare, **{"/policy/routing_factor": 1.0})
    routed, direct = (
        (to_run_nm(each), from_present_nm(each, leg), onward_nm(each, leg))
        for each in (case, straight)
        for leg in each.alternates[1:]
    )
    assert None not in direct
    for with_factor, without in zip(routed, direct, strict=True):
        assert with_factor == pytest.approx(1.1 * (without or math.nan))


def test_miles_from_an_unknown_position_are_unknown_and_so_is_the_course() -> None:
    changes = {"/aircraft/position": REMOVED, "/alternates/1": {"icao": "XTOR", "track_nm": 103}}
    assert from_present_nm(case_of(**changes), case_of(**changes).alternates[1]) is None
    course = courses(**changes)[NOW]
    assert course.ledger is None
    assert course.unknown == ("distance to XTOR",)
    assert course.limited_by is None


# --- the flight that every approach shares ---


def test_checklists_are_those_of_the_failures_or_the_plan_and_run_on_the_way() -> None:
    assert checklist_min(situation()) == 0.0
    assert checklist_min(situation(**GEAR)) == 3.0
    planned = situation(**GEAR, **{"/plan/checklist_min": 12})
    assert checklist_min(planned) == 12.0
    assert present_flight(planned).state.at == planned.case.as_of
    none, many = (courses(**GEAR, **{"/plan/checklist_min": m}) for m in (0, 12))
    assert none.keys() == many.keys()
    for label, course in none.items():
        assert course.ledger == many[label].ledger, label
        assert course.arrive_at == many[label].arrive_at, label


NEAR = {"/failures": [{"id": "gear-nose-leg-stuck"}], "/destination/track_nm": 15}


def test_only_what_comes_before_a_landing_delays_a_short_way() -> None:
    """15 NM take less than the 12 of 15 minutes that must be over; the plan may have fewer left."""
    seen = situation(**NEAR)
    assert before_landing_min(seen) == 12.0
    flown = {
        minutes: courses(**NEAR, **{"/plan/checklist_min": minutes})["commit_to_land:XKAL"]
        for minutes in (0, 9, 12, 15)
    }
    minutes_to_land = {each: course.time_min for each, course in flown.items()}
    at_once = minutes_to_land[0]
    assert at_once is not None
    assert at_once < 8.9
    assert minutes_to_land[9] == pytest.approx(9.0, abs=0.05)
    assert minutes_to_land[12] == minutes_to_land[15] == pytest.approx(12.0, abs=0.05)
    waits = [step for step in flown[15].steps if step.name == "waiting for checklists"]
    assert [step.time_min for step in waits] == [pytest.approx(12.0 - at_once, abs=0.01)]
    assert ledger(flown[15]).landing_kg < ledger(flown[0]).landing_kg - 100.0


def test_a_way_out_that_is_too_short_waits_as_well() -> None:
    close = {**NEAR, "/alternates/1/track_from_present_nm": 12}
    quick, waited = (
        courses(**close, **{"/plan/checklist_min": minutes})[NOW] for minutes in (0, 15)
    )
    assert quick.time_min is not None
    assert quick.time_min < 12.0
    assert waited.time_min == pytest.approx(12.0, abs=0.1)
    assert "waiting for checklists" in {step.name for step in waited.steps}


def test_the_gear_goes_down_at_the_profile_s_distance_or_as_planned() -> None:
    assert extension_nm(situation()) == 5.0
    assert extension_nm(situation(**{"/failures": [{"id": "hydraulic-1"}]})) == 10.0
    assert extension_nm(situation(**{"/plan/gear_extension_nm": 7})) == 7.0


@pytest.mark.parametrize(
    ("changes", "passed"),
    [
        ({}, False),
        ({"/destination/track_nm": 5}, True),
        ({"/destination/track_nm": 5.1}, False),
        ({"/aircraft/gear": "in_transit"}, True),
    ],
)
def test_the_clean_point_is_passed_inside_its_distance_or_with_the_gear_out(
    changes: dict[str, Any], passed: bool
) -> None:
    seen = situation(**changes)
    flight = approach_flight(seen, present_flight(seen), hold_min=0.0)
    assert flight is not None
    assert flight.passed is passed


def test_an_aircraft_below_the_path_stays_level_until_the_gear_goes_down() -> None:
    seen = situation(**{"/aircraft/pressure_altitude_ft": 1500})
    flight = approach_flight(seen, present_flight(seen), hold_min=0.0)
    assert flight is not None
    assert flight.last_clean.state.pressure_altitude_ft == 1500.0
    assert flight.minimum.state.pressure_altitude_ft == 380.0


def test_on_the_path_inside_the_point_nothing_is_flown_clean() -> None:
    seen = situation(**{"/aircraft/pressure_altitude_ft": 1200, "/destination/track_nm": 4})
    flight = approach_flight(seen, present_flight(seen), hold_min=0.0)
    assert flight is not None
    assert flight.last_clean.steps == ()
    assert len(flight.minimum.steps) == 1


def test_a_hold_before_the_approach_burns_and_takes_its_minutes() -> None:
    now, later = courses()[AWAY], courses(**{"/plan/hold_min": 15})[AWAY]
    assert now.arrive_at is not None
    assert later.arrive_at is not None
    waited = (later.arrive_at - now.arrive_at).total_seconds() / 60
    assert waited == pytest.approx(15.0, abs=0.5)
    assert ledger(now).landing_kg - ledger(later).landing_kg > 400


def test_no_time_is_held_when_there_is_none_to_hold() -> None:
    seen = situation()
    start = present_flight(seen)
    same = held(seen, start, 0.0, configuration=seen.configurations.present, name="holding")
    assert same is start


# --- stopped flights ---


def test_a_flight_that_was_stopped_flies_no_further() -> None:
    seen = situation()
    start = present_flight(seen)
    stopped = start.then(CannotFly(limited_by="a named limit"))
    assert stopped == replace(start, stopped=CannotFly(limited_by="a named limit"))
    assert stopped.then(CannotFly(limited_by="another")) is stopped
    assert isinstance(stopped, Flight)


def test_a_way_over_terrain_that_cannot_be_climbed_names_its_limit() -> None:
    high = courses(**{"/alternates/1/minimum_level_ft": 38_000, "/failures": [{"id": "engine-1"}]})
    assert high[NOW].ledger is None
    assert high[NOW].limited_by
    assert high["divert_now:XBRE"].ledger is not None


def test_an_approach_that_cannot_be_flown_stops_every_course_that_begins_with_it() -> None:
    """Both engines stopped: checklists cannot be flown, so nothing after them can."""
    stopped = courses(**{"/failures": [{"id": "engine-1"}, {"id": "engine-2"}]})
    assert {course.ledger for course in stopped.values()} == {None}
    assert all(course.limited_by for course in stopped.values())
    assert all(course.arrive_at is None for course in stopped.values())


# --- configurations in flight ---


def test_after_a_miss_the_gear_that_stays_down_is_flown_down() -> None:
    stuck = courses(**GEAR)
    assert not stuck[NOW].configuration.gear_down
    assert not stuck[POINT].configuration.gear_down
    assert stuck[AWAY].configuration.gear_down
    assert ledger(stuck[AWAY]).flight_kg > ledger(courses()[AWAY]).flight_kg + 400
    assert ledger(stuck[AWAY]).configured_reserve_kg > ledger(stuck[AWAY]).planned_reserve_kg


def test_slow_flaps_cost_minutes_with_the_flaps_out_after_a_miss() -> None:
    slow = courses(**{"/failures": [{"id": "hydraulic-2"}]})[AWAY]
    assert "flap retraction by the slow drive" in [step.name for step in slow.steps]
    assert "flap retraction by the slow drive" not in [step.name for step in courses()[AWAY].steps]


def test_an_approach_without_published_miss_goes_to_three_thousand_feet() -> None:
    bare = {
        "icao": "XNEW",
        "elevation_ft": 500,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [],
    }
    seen = courses(**{"/destination": bare, "/plan/approach": REMOVED})["approach_then_divert:XTOR"]
    climb = next(step for step in seen.steps if step.name == "go-around")
    assert climb.pressure_altitude_ft == 3500.0


def test_a_second_approach_repositions_and_lands_with_less() -> None:
    again, stay = courses()[AGAIN], courses()[STAY]
    assert "repositioning for a second approach" in [step.name for step in again.steps]
    assert ledger(again).landing_kg < ledger(stay).landing_kg - 300
    assert again.arrive_at is not None
    assert stay.arrive_at is not None
    assert again.arrive_at - stay.arrive_at > timedelta(minutes=10)


def hours_to_arrive(course: Course) -> float:
    assert course.arrive_at is not None
    return (course.arrive_at - case_of().as_of).total_seconds() / 3600


def test_a_leak_drains_in_every_phase() -> None:
    leak = {
        "/failures": [{"id": "fuel-leak"}],
        "/fuel/leak_kg_per_h": 1200,
        "/plan/checklist_min": 0,
    }
    sound, leaking = courses(), courses(**leak)
    for label in (NOW, AWAY, STAY):
        usual_h, own_h = (hours_to_arrive(each[label]) for each in (sound, leaking))
        lost_kg = ledger(sound[label]).landing_kg - ledger(leaking[label]).landing_kg
        # not less than leaks on its own way, but for what need not be carried; and it hurries
        assert 0.97 * 1200 * own_h < lost_kg < 1200 * usual_h
        assert leaking[label].holding_flow_kg_per_h > sound[label].holding_flow_kg_per_h + 1000


def test_unusable_fuel_never_counts() -> None:
    whole, less = courses()[NOW], courses(**{"/fuel/unusable_kg": 300})[NOW]
    assert ledger(whole).landing_kg - ledger(less).landing_kg == pytest.approx(300.0)


# --- what the irreversible step costs ---


def test_a_penalty_names_each_alternate_that_can_be_reached() -> None:
    stuck = situation(**GEAR)
    flight = approach_flight(stuck, present_flight(stuck), hold_min=0.0)
    assert flight is not None
    found = penalties(stuck, flight)
    assert [each.icao for each in found] == ["XBRE", "XTOR"]
    assert all(each.fuel_kg is not None and each.fuel_kg > 500 for each in found)


def test_an_alternate_of_unknown_distance_has_no_penalty() -> None:
    place = {
        "icao": "XNEW",
        "elevation_ft": 100,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [],
    }
    stuck = situation(**GEAR, **{"/alternates/0": place})
    flight = approach_flight(stuck, present_flight(stuck), hold_min=0.0)
    assert flight is not None
    assert [each.icao for each in penalties(stuck, flight)] == ["XTOR"]


def test_a_way_that_cannot_be_flown_after_the_step_has_no_price() -> None:
    """Over high ground on one engine: clean it can be flown, with the gear down it cannot."""
    changes = {
        "/failures": [{"id": "gear-retraction"}, {"id": "engine-1"}],
        "/alternates/1/minimum_level_ft": 12_000,
        "/winds_aloft": REMOVED,
    }
    stuck = situation(**changes)
    flight = approach_flight(stuck, present_flight(stuck), hold_min=0.0)
    assert flight is not None
    tor = next(each for each in penalties(stuck, flight) if each.icao == "XTOR")
    assert tor.after_kg is None
    assert tor.fuel_kg is None


# --- margins ---


def test_the_margin_that_a_policy_wants_is_its_own_or_five_minutes_of_holding() -> None:
    judged = laid_out("XAAA")
    assert policy_margin_kg(judged.course, situation()) == pytest.approx(2400.0 * 5 / 60)
    wants = situation(**{"/policy/margin_kg": 750})
    assert policy_margin_kg(judged.course, wants) == 750.0


def test_what_was_not_flown_has_no_margin_and_no_minutes() -> None:
    unflown = replace(laid_out("XAAA").course, ledger=None, holding_flow_kg_per_h=0.0)
    assert margin_p95_kg(unflown, situation()) is None
    assert minutes_left(unflown) is None
    assert minutes_left(laid_out("XAAA").course) == pytest.approx(50.0)


def test_a_planned_final_reserve_is_taken_as_it_is() -> None:
    told = ledger(courses(**{"/fuel/planned_final_reserve_kg": 1500})[NOW])
    assert told.planned_reserve_kg == 1500.0
    assert told.final_reserve_kg == 1500.0
    assert told.configured_reserve_kg < 1500.0


# --- order ---


def breaking(icao: str, breach: Breach, judgement: Judgement, **changes: Any) -> JudgedCourse:
    found = finding("AD-01", judgement, at=icao, breach=breach)
    return laid_out(icao, found=(found,), **changes)


def order(*judged: JudgedCourse, **changes: Any) -> list[str]:
    return [each.course.icao for each in ranked(judged, situation(**changes))]


def test_no_preference_outvotes_a_limit() -> None:
    rich = breaking(
        "XAAA",
        Breach.PLANNING_BAR,
        holds(False, yes="", no="", unknown=""),
        ledger=replace(ledger(laid_out("XAAA").course), counted_from_kg=9000.0),
    )
    poor = laid_out("XBBB", landing_kg=1201.0)
    assert order(rich, poor) == ["XBBB", "XAAA"]


def test_of_illegal_courses_the_less_grave_breach_comes_first() -> None:
    fails = holds(False, yes="", no="", unknown="")
    by_gravity = [breaking(f"X{breach:03}", breach, fails) for breach in Breach]
    assert order(*by_gravity) == [f"X{breach:03}" for breach in reversed(Breach)]


def test_of_equal_breaches_the_smaller_share_of_the_limit_comes_first() -> None:
    near = breaking("XBBB", Breach.UNDER_RESERVE, at_least("f", 1100.0, 1200.0, unit="kg"))
    far = breaking("XAAA", Breach.UNDER_RESERVE, at_least("f", 700.0, 1200.0, unit="kg"))
    unmeasured = breaking("XCCC", Breach.UNDER_RESERVE, holds(False, yes="", no="", unknown=""))
    assert order(unmeasured, far, near) == ["XBBB", "XAAA", "XCCC"]


def test_time_counts_before_margin_only_where_a_failure_presses() -> None:
    near = laid_out("XNEA", landing_kg=2000.0)
    later = near.course.start_at + timedelta(hours=1)
    far = laid_out("XFAR", landing_kg=3000.0)
    far = replace(far, course=replace(far.course, arrive_at=later))
    assert order(near, far) == ["XFAR", "XNEA"]
    assert order(near, far, **{"/failures": [{"id": "smoke"}]}) == ["XNEA", "XFAR"]


def compared(icao: str, rule: str, margin: float, **changes: Any) -> JudgedCourse:
    """A legal course with one figure near its limit of 1000, and so much fuel."""
    judgement = at_least("figure", 1000.0 + margin, 1000.0, unit="m")
    return laid_out(icao, found=(finding(rule, judgement, at=icao),), **changes)


@pytest.mark.parametrize(
    ("rule", "tight"),
    [("AP-02", 199.0), ("WX-01", 199.0), ("WX-02", 199.0), ("LD-01", 99.0), ("WD-01", 199.0)],
)
def test_little_room_in_weather_runway_or_wind_counts_more_than_fuel(
    rule: str, tight: float
) -> None:
    close = compared("XAAA", rule, tight, landing_kg=3000.0)
    ample = compared("XBBB", rule, tight + 1.0, landing_kg=2000.0)
    assert order(close, ample) == ["XBBB", "XAAA"]
    assert order(replace(close, escape_findings=()), ample) == ["XAAA", "XBBB"]


def test_fewer_open_questions_count_more_than_fuel() -> None:
    asked = finding("AD-01", unknown("weather"))
    asked_twice = laid_out("XAAA", found=(asked, asked))
    poor = laid_out("XBBB", found=(asked,), landing_kg=1800.0)
    assert order(asked_twice, poor) == ["XBBB", "XAAA"]


def test_ten_minutes_less_after_a_miss_count_more_than_fuel() -> None:
    rich, poor = laid_out("XAAA", landing_kg=3000.0), laid_out("XBBB", landing_kg=2000.0)
    arrive_at = rich.course.arrive_at
    assert arrive_at is not None

    def missing(judged: JudgedCourse, minutes: float) -> JudgedCourse:
        missed_at = arrive_at - timedelta(minutes=minutes)
        return replace(judged, course=replace(judged.course, missed_at=missed_at))

    assert order(missing(rich, 21), missing(poor, 19)) == ["XBBB", "XAAA"]
    assert order(missing(rich, 29), missing(poor, 21)) == ["XAAA", "XBBB"]


def test_an_unflown_course_comes_last_among_its_like() -> None:
    unflown = replace(laid_out("XAAA").course, ledger=None, arrive_at=None)
    judged = replace(laid_out("XAAA"), course=unflown)
    assert order(judged, laid_out("XBBB", landing_kg=1201.0)) == ["XBBB", "XAAA"]


# --- waiting ---


def waits(name: str = "wait-for-fog", /, **changes: Any) -> tuple[Course, ...]:
    seen = situation(name, **changes)
    found = waiting_courses(seen, departure_of(seen), judged_in(seen), JudgedAttempts())
    return tuple(each.course for each in found)


def test_a_hold_is_tried_to_every_change_of_the_weather_that_bars() -> None:
    found = waits()
    assert {course.kind for course in found} == {CourseKind.HOLD_THEN_APPROACH}
    assert len({course.hold_min for course in found}) >= 1
    assert all(course.hold_min > 0 for course in found)


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("clean", {}),  # usable now
        ("wait-for-fog", {"/failures": [{"id": "smoke"}]}),  # time presses
        ("flaps-jammed-short-wet", {}),  # the runway is too short, whatever the weather
        ("wait-for-fog", {"/fuel/on_board_kg": 2300}),  # no fuel to hold with
    ],
)
def test_nothing_is_waited_for_where_waiting_mends_nothing(
    name: str, changes: dict[str, Any]
) -> None:
    assert waits(name, **changes) == ()


def test_with_nowhere_else_to_go_the_fuel_to_wait_is_that_of_a_second_approach_here() -> None:
    (only,) = waits(**{"/alternates": []})
    assert (only.icao, len(only.attempts)) == ("XKAL", 2)
    assert waits(**{"/alternates": [], "/fuel/on_board_kg": 2300}) == ()


ICE_UNPROTECTED: dict[str, Any] = {"/failures": [{"id": "wing-anti-ice"}]}
FREEZING_FOG = "METAR XKAL 140600Z 26004KT 0250 R27R/0300N R09L/0300N FZFG VV001 M02/M02 Q1013"


def test_no_hold_is_flown_below_the_minimum_level_of_the_way_in() -> None:
    assert waits(**{"/destination/minimum_level_ft": 9_000})
    assert waits(**{"/destination/minimum_level_ft": 9_100}) == ()


def test_no_hold_is_flown_in_icing_weather_without_protection() -> None:
    reports = demo("wait-for-fog")["weather"]["reports"]
    icing = [FREEZING_FOG, *reports[1:]]
    assert reports[0].startswith("METAR XKAL")
    assert waits(**ICE_UNPROTECTED)  # fog alone is no icing weather
    assert waits(**{"/weather/reports": icing})  # icing with protection
    assert waits(**ICE_UNPROTECTED, **{"/weather/reports": icing}) == ()


def test_what_keeps_from_waiting_is_told() -> None:
    seen = situation("wait-for-fog", **{"/destination/minimum_level_ft": 9_100})
    bar = barred_wait(seen, judged_in(seen))
    assert bar == "9000 ft is below the minimum level of 9100 ft"
    free = situation("wait-for-fog")
    assert barred_wait(free, judged_in(free)) is None


def test_a_hold_in_weather_of_which_nothing_is_known_wants_ice_protection() -> None:
    unread = situation("wait-for-fog", **ICE_UNPROTECTED, **{"/weather/reports": []})
    assert bar_to_holding(unread, 20.0) == (
        "icing weather over XKAL is not known, and ice protection is lost"
    )
    assert bar_to_holding(situation("wait-for-fog", **{"/weather/reports": []}), 20.0) is None


def test_a_last_clean_point_that_cannot_be_reached_has_no_penalties() -> None:
    seen = situation("gear-stuck")
    flight = departure_of(seen).approach
    assert flight is not None
    assert penalties(seen, flight)
    stopped = replace(
        flight, last_clean=replace(flight.last_clean, stopped=CannotFly(limited_by="a named limit"))
    )
    assert penalties(seen, stopped) == ()
