"""Laws of physics and of decisions that hold for every aircraft that comes with the product."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from decision.case import case_from_mapping
from decision.performance import clean, final_reserve_kg
from decision.profile import Profile, load_profile, profile_ids
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.physics.outcomes import Seen, fly_diversion
from tests.profile.builders import WIDEBODY
from tests.recommend.generated import with_flaps_of

AIRCRAFT = [load_profile(id_) for id_ in profile_ids()]
WIDE = load_profile(WIDEBODY)
CASE = "widebody-gear-stays-down"
REPORTS_OF_NOTHING_BUT_ID = sorted(
    entry.id
    for entry in WIDE.systems.catalogue.values()
    if not (entry.needs_detent or entry.needs_position) and "up" in entry.gear
)
ROUNDING_KG = 1e-6
aircraft = st.sampled_from(profile_ids())
shares = st.floats(min_value=0.0, max_value=1.0)
distances_nm = st.floats(min_value=90.0, max_value=300.0)


def mass_of(profile: Profile, share: float) -> float:
    """A mass between empty and maximum landing mass."""
    masses = profile.masses
    return masses.oew_kg + share * (masses.mlw_kg - masses.oew_kg)


def flown(profile: Profile, *, mass_kg: float, distance_nm: float, gear_down: bool) -> Seen:
    return fly_diversion(
        profile,
        configuration=replace(clean(profile), gear_down=gear_down),
        mass_kg=mass_kg,
        distance_nm=distance_nm,
        start_pressure_altitude_ft=1_500.0,
        end_pressure_altitude_ft=1_500.0,
        pressure_altitude_ft=15_000.0,
        cas_kt=230.0,
    )


@given(profile_id=aircraft, share=shares, distance_nm=distances_nm)
@settings(deadline=None)
def test_the_gear_costs_fuel_and_so_do_mass_and_miles(
    profile_id: str, share: float, distance_nm: float
) -> None:
    profile = load_profile(profile_id)
    mass_kg = mass_of(profile, 0.5 + 0.4 * share)  # with fuel to burn, and room for more
    usual: dict[str, Any] = {"mass_kg": mass_kg, "distance_nm": distance_nm, "gear_down": False}
    changes = ({"gear_down": True}, {"mass_kg": 1.02 * mass_kg}, {"distance_nm": distance_nm + 10})
    least = flown(profile, **usual)
    assert least.feasible
    for change in changes:
        more = flown(profile, **{**usual, **change})
        assert not more.feasible or more.fuel_kg > least.fuel_kg


@pytest.mark.parametrize("profile", AIRCRAFT, ids=lambda profile: profile.id)
def test_a_heavier_aircraft_needs_a_greater_reserve(profile: Profile) -> None:
    reserves = [
        final_reserve_kg(
            profile,
            configuration=clean(profile),
            mass_kg=mass_of(profile, share / 10),
            elevation_ft=0.0,
        )
        for share in range(11)
    ]
    assert all(lighter < heavier for lighter, heavier in pairwise(reserves))


def answered(body: dict[str, Any]) -> dict[str, Any]:
    return told_of(case_from_mapping(body))


def best_margins(answer: dict[str, Any]) -> dict[tuple[str, str], tuple[bool, float]]:
    """Legality and margin of each kind of course to each place."""
    return {
        (each["kind"], each["aerodrome"]): (each["legal"] is True, each["fuel"]["margin_kg"])
        for each in answer["courses"]
        if each["fuel"]
    }


@given(
    fuel_kg=st.integers(min_value=7_000, max_value=14_000),
    less_kg=st.integers(min_value=100, max_value=1_500),
)
@settings(max_examples=15, deadline=None)
def test_less_fuel_never_gives_the_widebody_a_better_course(fuel_kg: int, less_kg: int) -> None:
    changes = {"/aircraft/mass_kg": 180_000, "/fuel/on_board_kg": fuel_kg}
    rich = best_margins(answered(with_changes(demo(CASE), changes)))
    poor = best_margins(
        answered(with_changes(demo(CASE), {**changes, "/fuel/on_board_kg": fuel_kg - less_kg}))
    )
    for course, (legal, margin_kg) in poor.items():
        if course in rich:
            assert (legal, margin_kg) <= (rich[course][0], rich[course][1] + ROUNDING_KG)


@given(
    first=st.sampled_from(REPORTS_OF_NOTHING_BUT_ID),
    second=st.sampled_from(REPORTS_OF_NOTHING_BUT_ID),
)
@example(first="hydraulic-gear-flaps", second="high-lift-changeover")
@settings(max_examples=20, deadline=None)
def test_a_further_failure_never_makes_a_course_of_the_widebody_legal(
    first: str, second: str
) -> None:
    """At the same time spent on checklists, which would otherwise meet other weather, and for a
    landing at the same flap setting.
    """
    one = with_changes(demo(CASE), {"/failures": [{"id": first}], "/plan/checklist_min": 0})
    ids = dict.fromkeys((first, second))
    both = answered(with_changes(one, {"/failures": [{"id": id_} for id_ in ids]}))
    alone = best_margins(answered(with_flaps_of(one, both)))
    for course, (legal, _) in best_margins(both).items():
        if legal and course in alone:
            assert alone[course][0]
