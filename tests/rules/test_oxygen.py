"""Oxygen after the loss of pressure: minutes along the profile, levels by rulebook, terrain."""

from __future__ import annotations

from typing import Any

import pytest

from decision.course import Course
from decision.performance import Step
from decision.performance.diversion import EXTRA_TRACK
from decision.rules import COURSE_RULES
from decision.rules.enroute import minutes_above, oxygen_hold_min
from decision.rules.finding import Finding, Outcome
from decision.rules.registry import judge_course
from tests.decide.builders import courses
from tests.physics.builders import flying
from tests.rules.builders import context, course


def step(name: str, minutes: float, to_ft: float) -> Step:
    return Step(
        name=name,
        distance_nm=1.0,
        time_min=minutes,
        fuel_kg=1.0,
        pressure_altitude_ft=to_ft,
        cas_kt=220.0,
        configuration="clean",
    )


def flown(*steps: Step) -> Course:
    return course(configuration=flying(pressurised=False), steps=steps)


def findings(subject: Course, rulebook: str, **changes: Any) -> dict[str, Finding]:
    what = context(rulebook, **changes)
    return {each.rule: each for each in judge_course(COURSE_RULES, subject, what)}


# Hand arithmetic: up from 9000 to 13 000 ft in 8 min (6 above 10 000), level 20, down to 1000 ft in
# 12 (3 above 10 000).
UP_AND_OVER = (
    step("climb", 8.0, 13_000.0),
    step("cruise", 20.0, 13_000.0),
    step("descent", 12.0, 1_000.0),
)


@pytest.mark.parametrize(
    ("level_ft", "minutes"),
    [(10_000.0, 29.0), (12_000.0, 23.0), (13_000.0, 0.0), (9_000.0, 32.0), (0.0, 40.0)],
)
def test_minutes_above_a_level_add_up_along_climb_cruise_and_descent(
    level_ft: float, minutes: float
) -> None:
    assert minutes_above(level_ft, UP_AND_OVER, 9_000.0) == pytest.approx(minutes)


@pytest.mark.parametrize(
    "parts",
    [
        (step("descent", 12.0, 1_000.0),),
        (step(EXTRA_TRACK, 5.0, 1_000.0), step("descent", 7.0, 1_000.0)),
        (step("descent to level", 7.0, 1_000.0), step(EXTRA_TRACK, 5.0, 1_000.0)),
    ],
)
def test_extra_track_to_lose_height_is_part_of_its_descent(parts: tuple[Step, ...]) -> None:
    assert minutes_above(10_000.0, parts, 13_000.0) == pytest.approx(3.0)


# Crew minutes needed on a course at 14 000 ft for 40 min and down to 4000 ft in 10 (4 above 10 000,
# 1 above 13 000), by the rows of each rulebook: the Annex and part 121 count all 44; Europe the 41
# above 13 000 and of the other 3 nothing, since the first 30 are free.
LONG = (step("cruise", 40.0, 14_000.0), step("descent", 10.0, 4_000.0))


@pytest.mark.parametrize(
    ("rulebook", "crew_min", "passengers_min"),
    [("icao", 44.0, 44.0), ("faa-121", 44.0, 4.4), ("easa", 41.0, 1.4)],
)
def test_each_rulebook_counts_its_own_levels_delays_and_shares(
    rulebook: str, crew_min: float, passengers_min: float
) -> None:
    at = {"/aircraft/pressure_altitude_ft": 14_000, "/aircraft/oxygen_min": 600}
    found = findings(flown(*LONG), rulebook, **at)
    assert found["ER-05"].judgement.value == pytest.approx(crew_min)
    assert found["ER-06"].judgement.value == pytest.approx(passengers_min)


def test_above_the_level_of_all_passengers_every_one_of_them_counts() -> None:
    high = flown(step("cruise", 10.0, 16_000.0), step("descent", 10.0, 6_000.0))
    at = {"/aircraft/pressure_altitude_ft": 16_000, "/aircraft/oxygen_min": 600}
    found = findings(high, "faa-121", **at)
    # 11 min above 15 000 ft by all, 1 more above 14 000 by 30 %, 4 more above 10 000 by 10 %
    assert found["ER-06"].judgement.value == pytest.approx(11.0 + 0.3 + 0.4)


def test_oxygen_that_is_not_given_is_one_unknown_with_one_cause() -> None:
    found = findings(flown(*LONG), "icao", **{"/aircraft/pressure_altitude_ft": 14_000})
    assert found["ER-05"].outcome is found["ER-06"].outcome is Outcome.UNKNOWN
    assert found["ER-05"].cause == found["ER-06"].cause
    assert "oxygen" in found["ER-05"].cause


OVER = {
    "/failures": [{"id": "pressurisation"}],
    "/alternates/0/minimum_level_ft": 12_500,
}


def test_terrain_is_flown_over_without_pressure_at_the_level_it_asks_for() -> None:
    over = courses(**OVER)["divert_now:XBRE"]
    assert over.limited_by is None
    assert over.cruise_level_ft == 13_000.0
    assert courses(**OVER)["divert_now:XTOR"].cruise_level_ft == 10_000.0


def test_however_high_the_terrain_oxygen_alone_decides() -> None:
    high = {**OVER, "/alternates/0/minimum_level_ft": 16_500, "/aircraft/oxygen_min": 600}
    over = courses(**high)["divert_now:XBRE"]
    assert (over.limited_by, over.cruise_level_ft) == (None, 17_000.0)
    found = findings(over, "icao", **high)
    assert found["ER-03"].outcome is Outcome.NOT_APPLICABLE
    assert found["ER-05"].outcome is Outcome.PASS
    assert findings(over, "icao", **{**high, "/aircraft/oxygen_min": 5})["ER-05"].binds


@pytest.mark.parametrize(
    ("rulebook", "level_ft", "oxygen_min", "lasts_min"),
    [
        ("icao", 14_000, 60.0, 16.0),
        ("icao", 14_000, 40.0, 0.0),
        ("icao", 14_000, None, 0.0),
        ("icao", 10_000, 60.0, None),
        ("easa", 14_000, 60.0, 19.0),
    ],
)
def test_a_hold_lasts_as_long_as_the_oxygen_that_the_course_leaves(
    rulebook: str, level_ft: float, oxygen_min: float | None, lasts_min: float | None
) -> None:
    at: dict[str, Any] = {"/aircraft/pressure_altitude_ft": level_ft}
    if oxygen_min is not None:
        at["/aircraft/oxygen_min"] = oxygen_min
    left = oxygen_hold_min(flown(*LONG), context(rulebook, **at))
    assert left == (None if lasts_min is None else pytest.approx(lasts_min))


def test_a_hold_first_uses_what_is_left_of_the_delay() -> None:
    """At 12 000 ft for 20 min and 2 more above 10 000: 8 of the 30 free minutes are left."""
    low = flown(step("cruise", 20.0, 12_000.0), step("descent", 6.0, 6_000.0))
    at = {"/aircraft/pressure_altitude_ft": 12_000, "/aircraft/oxygen_min": 60}
    assert oxygen_hold_min(low, context("easa", **at)) == pytest.approx(60.0 + 8.0)


def test_with_pressure_nobody_counts_oxygen() -> None:
    assert oxygen_hold_min(course(steps=LONG), context()) is None
