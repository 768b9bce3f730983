"""The irreversible step as configurations: what is flown before it, and after it."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import Case, case_from_mapping
from decision.flight.configure import Configurations, configurations, nearest_detent
from decision.systems import assess
from tests.case.builders import demo, with_changes


def configured(failures: list[dict[str, Any]], **changes: Any) -> Configurations:
    body = with_changes(demo("clean"), {"/failures": failures, **changes})
    case: Case = case_from_mapping(body)
    aircraft = case.aircraft
    left = assess(
        aircraft.profile,
        case.failures,
        gear=aircraft.gear,
        flap=aircraft.flap,
        slats=aircraft.slats,
    )
    return configurations(case, left, fuel_flow_scale=1.0)


def test_an_aircraft_without_failures_is_as_clean_after_a_miss_as_before() -> None:
    plan = configured([])
    assert not plan.irreversible
    assert not plan.after_miss.gear_down
    assert plan.landing.gear_down
    assert (plan.approach.flap, plan.landing.flap, plan.go_around.flap) == ("20", "34", "20")
    assert plan.landing.slats_out
    assert not plan.clean.slats_out


def test_gear_that_cannot_be_retracted_is_up_before_and_down_after_the_approach() -> None:
    plan = configured([{"id": "gear-retraction"}])
    assert plan.irreversible
    assert plan.gear_extends
    assert not plan.clean.gear_down
    assert plan.after_miss.gear_down
    assert plan.go_around.gear_down
    assert not plan.after_miss.gear_doors_open


def test_alternate_extension_leaves_the_doors_open() -> None:
    plan = configured([{"id": "hydraulic-1"}])
    assert plan.after_miss.gear_down
    assert plan.after_miss.gear_doors_open
    assert not plan.clean.gear_doors_open


def test_gear_that_is_down_already_and_stays_down_leaves_nothing_to_lose() -> None:
    plan = configured([{"id": "gear-retraction"}], **{"/aircraft/gear": "down"})
    assert plan.clean.gear_down
    assert not plan.irreversible
    assert not plan.gear_extends


def test_gear_that_is_down_and_works_comes_up_for_a_diversion() -> None:
    plan = configured([], **{"/aircraft/gear": "down"})
    assert plan.present.gear_down
    assert not plan.clean.gear_down


@pytest.mark.parametrize("gear", ["in_transit", "unsafe"])
def test_gear_that_is_not_known_to_be_up_counts_as_hanging_with_its_doors(gear: str) -> None:
    plan = configured([{"id": "gear-retraction"}], **{"/aircraft/gear": gear})
    assert plan.present.gear_down
    assert plan.clean.gear_down
    assert plan.clean.gear_doors_open


def test_jammed_flaps_stay_where_they_are_in_every_phase() -> None:
    plan = configured([{"id": "flaps-jammed", "detent": "12"}], **{"/aircraft/flap": "12"})
    phases = (plan.clean, plan.approach, plan.landing, plan.go_around, plan.after_miss)
    assert {phase.flap for phase in phases} == {"12"}


def test_flaps_jammed_up_are_landed_with() -> None:
    plan = configured([{"id": "flaps-jammed", "detent": "0"}])
    assert plan.landing.flap == "0"
    assert plan.go_around.flap == "0"


def test_slats_jammed_in_stay_in_with_the_flaps_out() -> None:
    plan = configured([{"id": "slats-jammed", "position": "in"}])
    assert plan.landing.flap == "34"
    assert not plan.landing.slats_out


def test_slats_jammed_out_stay_out_on_the_way() -> None:
    plan = configured([{"id": "slats-jammed", "position": "out"}], **{"/aircraft/slats": "out"})
    assert plan.clean.slats_out
    assert plan.after_miss.slats_out


def test_slats_that_cannot_come_in_stay_out_once_they_are_out() -> None:
    before = configured([{"id": "slats-retraction"}])
    assert not before.clean.slats_out
    assert before.after_miss.slats_out
    already = configured([{"id": "slats-retraction"}], **{"/aircraft/slats": "out"})
    assert already.clean.slats_out


def test_the_planned_landing_flap_limits_approach_and_go_around() -> None:
    plan = configured([], **{"/plan/landing_flap": "12"})
    assert (plan.approach.flap, plan.landing.flap, plan.go_around.flap) == ("12", "12", "12")


def test_a_stopped_engine_and_a_lost_cabin_show_in_every_phase() -> None:
    plan = configured([{"id": "engine-1"}, {"id": "pressurisation"}])
    assert plan.clean.engines_running == plan.after_miss.engines_running == 1
    assert not plan.clean.pressurised


def test_the_nearest_detent_is_the_smaller_of_two() -> None:
    profile = case_from_mapping(demo("clean")).aircraft.profile
    assert nearest_detent(profile, ("6", "20"), "12") == "6"
    assert nearest_detent(profile, ("0", "34"), "20") == "34"
