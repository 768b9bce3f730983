"""Leaving later: what flying on as planned, and what holding here, leaves for a diversion."""

from __future__ import annotations

from itertools import pairwise

import pytest

from decision.course import Course, CourseKind
from decision.flight.approach import departure_of
from decision.flight.leave_later import hold_then_leave, leave_after, longest_fly_on_min
from decision.flight.situation import Situation
from decision.flight.tracks import from_present_nm, onward_nm
from decision.flight.ways import Ending, Origin
from tests.decide.builders import courses_in, judged_ways, situation

LEAK = {"/failures": [{"id": "fuel-leak"}], "/fuel/leak_kg_per_h": 1_500}
MINUTES = (0.0, 1.0, 2.5, 4.0, 6.0, 8.0, 30.0)


def courses_of(seen: Situation, endings: tuple[Ending, ...]) -> tuple[Course, ...]:
    return tuple(each.course for each in judged_ways(seen, endings))


def fuel_left(courses: tuple[Course, ...]) -> dict[str, float]:
    found = {each.icao: each.ledger.landing_kg for each in courses if each.ledger is not None}
    assert len(found) == len(courses) == 2
    return found


@pytest.mark.parametrize("name", ["clean", "gear-stuck"])
@pytest.mark.parametrize("changes", [{}, {"/plan/hold_min": 6}, LEAK])
def test_flying_on_begins_at_the_present_and_ends_at_the_last_clean_point(
    name: str, changes: dict[str, object]
) -> None:
    seen = situation(name, **changes)
    departure = departure_of(seen)
    flown = courses_in(seen)

    def of(origin: Origin) -> dict[str, float]:
        return fuel_left(
            tuple(
                each
                for each in flown
                if each.kind is CourseKind.DIVERT_NOW and each.origin is origin
            )
        )

    longest = longest_fly_on_min(departure)
    assert longest > 5.0
    assert fuel_left(courses_of(seen, leave_after(seen, departure, 0.0))) == of(Origin.PRESENT)
    for minutes in (longest, longest + 40.0):
        assert fuel_left(courses_of(seen, leave_after(seen, departure, minutes))) == of(
            Origin.LAST_CLEAN_POINT
        )


@pytest.mark.parametrize("name", ["clean", "gear-stuck"])
@pytest.mark.parametrize("changes", [{}, {"/plan/hold_min": 6}, LEAK])
def test_the_longer_it_flies_on_the_less_is_left_and_never_earlier(
    name: str, changes: dict[str, object]
) -> None:
    """The alternates of the case lie no nearer from farther on; so fuel falls all the way."""
    seen = situation(name, **changes)
    departure = departure_of(seen)
    longest = longest_fly_on_min(departure)
    shares = (0.0, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99)
    for earlier, later in pairwise(
        courses_of(seen, leave_after(seen, departure, longest * s)) for s in shares
    ):
        before, after = fuel_left(earlier), fuel_left(later)
        for one, two in zip(earlier, later, strict=True):
            assert after[two.icao] < before[one.icao]
            assert one.arrive_at is not None
            assert two.arrive_at is not None
            assert two.arrive_at > one.arrive_at


def test_the_miles_change_evenly_with_those_that_are_flown() -> None:
    """Half way on the level part; told by the steps of the courses."""
    seen = situation(**{"/winds_aloft": [], "/aircraft/pressure_altitude_ft": 3_000})
    departure = departure_of(seen)
    flight = departure.approach
    assert flight is not None
    level = next(step for step in flight.last_clean.steps if step.name == "cruise")
    assert flight.last_clean.steps[0] is level
    share = 0.5 * level.distance_nm / (42.0 - flight.extension_nm)
    for course in courses_of(seen, leave_after(seen, departure, 0.5 * level.time_min)):
        here, there = from_present_nm(seen.case, course.leg), onward_nm(seen.case, course.leg)
        assert here is not None
        assert there is not None
        wanted_nm = here + (there + flight.extension_nm - here) * share
        own = course.steps[1:-1]
        assert course.steps[0].distance_nm == pytest.approx(0.5 * level.distance_nm)
        assert sum(step.distance_nm for step in own) == pytest.approx(wanted_nm, abs=0.01)


def test_holding_here_costs_minutes_and_fuel_and_no_miles() -> None:
    seen = situation("clean")
    departure = departure_of(seen)
    at_once = courses_of(seen, hold_then_leave(seen, departure, 0.0))
    for earlier, later in pairwise((0.0, 5.0, 10.0, 20.0)):
        before, after = (
            fuel_left(courses_of(seen, hold_then_leave(seen, departure, each)))
            for each in (earlier, later)
        )
        for icao, left_kg in before.items():
            per_min = (left_kg - after[icao]) / (later - earlier)
            assert 25.0 < per_min < 45.0
    for one, two in zip(
        at_once, courses_of(seen, hold_then_leave(seen, departure, 12.0)), strict=True
    ):
        assert one.time_min is not None
        assert two.time_min is not None
        assert two.time_min - one.time_min == pytest.approx(12.0, abs=0.1)
        assert two.hold_min == 12.0


@pytest.mark.parametrize("changes", [{"/aircraft/gear": "down"}, {"/destination/track_nm": 4}])
def test_there_is_no_flying_on_past_the_last_clean_point(changes: dict[str, object]) -> None:
    seen = situation(**changes)
    departure = departure_of(seen)
    assert longest_fly_on_min(departure) == 0.0
    assert leave_after(seen, departure, 3.0) == ()


def test_a_place_of_unknown_distance_is_a_course_that_says_so() -> None:
    seen = situation(**{"/alternates/1": {"icao": "XTOR", "track_from_present_nm": 122}})
    departure = departure_of(seen)
    later = courses_of(seen, leave_after(seen, departure, 2.0))
    known = {each.icao: each.ledger is not None for each in later}
    assert known["XBRE"]


@pytest.mark.parametrize("id_", ["hydraulic-1", "flaps-slow", "engine-1"])
def test_more_checklist_minutes_never_leave_more_fuel_later(id_: str) -> None:
    """A deadline is where the fuel of these courses meets what is needed: so none comes later."""
    for minutes in MINUTES:
        left = []
        for checklists in (0, 3, 6, 20):
            seen = situation(**{"/failures": [{"id": id_}], "/plan/checklist_min": checklists})
            left.append(fuel_left(courses_of(seen, leave_after(seen, departure_of(seen), minutes))))
        for few, many in pairwise(left):
            assert all(many[icao] <= few[icao] + 1e-6 for icao in few)


def test_a_hold_above_a_level_limit_begins_with_the_descent_to_it() -> None:
    lost = {"/failures": [{"id": "pressurisation"}], "/aircraft/pressure_altitude_ft": 30_000}
    seen = situation(**lost, **{"/fuel/on_board_kg": 5_000, "/aircraft/mass_kg": 61_850})
    courses = courses_of(seen, hold_then_leave(seen, departure_of(seen), 20.0))
    assert courses
    for course in courses:
        first, second = course.steps[:2]
        assert (first.name, second.name) == ("emergency descent", "holding")
        assert first.time_min + second.time_min == pytest.approx(20.0)
        assert course.limited_by is None
