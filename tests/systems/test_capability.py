"""What is left after each failure that other documents rely on, and the state of what moves."""

from __future__ import annotations

import pytest

from decision.errors import InvalidCase
from decision.quantities import AntiSkid, DoorPosition, GearPosition, SlatPosition
from decision.systems import (
    Capability,
    Drive,
    Extension,
    Failure,
    LimitName,
    Urgency,
    Weight,
    assess,
    explain,
)
from tests.changing import replace
from tests.systems.builders import XTJ, degraded

SOUND = degraded()
ALL_DETENTS = ("0", "6", "12", "20", "34")


def lost(capability: Capability, *, degraded: bool = False) -> set[str]:
    """Functions that are lost, or degraded."""
    return {
        item.function
        for item in capability.lost
        if item.kind == "function" and item.degraded is degraded
    }


def codes(capability: Capability) -> set[str]:
    return {caution.code for caution in capability.cautions}


def test_a_sound_aircraft_lacks_nothing() -> None:
    assert not SOUND.lost
    assert not SOUND.limits
    assert not SOUND.cautions
    assert not SOUND.landing_hazards
    assert not SOUND.irreversible
    assert SOUND.engines_running == SOUND.reversers == 2
    assert SOUND.brakes_fraction == SOUND.thrust_ratio == SOUND.fuel_flow_scale == 1.0
    assert SOUND.ground_spoilers
    assert SOUND.anti_skid is AntiSkid.FULL
    assert SOUND.urgency is Urgency.NONE
    assert SOUND.flap.reachable == ALL_DETENTS
    assert explain(SOUND) == ()


def test_hydraulic_1_costs_all_that_it_feeds() -> None:
    left = degraded("hydraulic-1")
    assert lost(left) == {
        "gear-retraction", "gear-normal-extension", "nose-wheel-steering",
        "ground-spoilers-inboard",
    }  # fmt: skip
    assert lost(left, degraded=True) == {
        "gear-extension", "brake-left-inboard", "brake-right-inboard", "autobrake", "reverser-1",
    }  # fmt: skip
    assert left.gear.extension is Extension.ALTERNATE
    assert not left.gear.retractable
    assert left.gear.doors_after_extension is DoorPosition.OPEN
    assert left.gear.doors_now is DoorPosition.CLOSED
    assert left.brakes_fraction == 1.0 - 2 * 0.09375
    assert left.ground_spoiler_fraction == 0.5
    assert not left.ground_spoilers
    assert left.reversers == 2
    assert not left.nose_wheel_steering
    assert left.blocks_runway
    assert [c.what for c in left.irreversible] == ["gear", "brakes"]
    assert left.irreversible[0].step == "extend the gear by the alternate system"
    assert left.irreversible[0].because == ("hydraulic-1", "gear-retraction")
    assert left.flap.drive is Drive.NORMAL


def test_hydraulic_2_slows_flaps_and_slats() -> None:
    left = degraded("hydraulic-2")
    assert lost(left) == {"yaw-damper", "ground-spoilers-outboard"}
    assert left.flap.drive is left.slats.drive is Drive.SLOW
    assert left.flap.reachable == ALL_DETENTS
    assert left.slats.movable
    assert left.gear == SOUND.gear
    assert left.brakes_fraction == 1.0 - 2 * 0.09375


def test_hydraulic_reserve_alone_costs_no_function() -> None:
    assert lost(degraded("hydraulic-reserve")) == set()


@pytest.mark.parametrize(
    ("pair", "gone"),
    [
        (("hydraulic-1", "hydraulic-2"), "primary-flight-controls"),
        (("hydraulic-2", "hydraulic-reserve"), "slat-drive"),
        (("hydraulic-1", "hydraulic-reserve"), "reverser-1"),
        (("hydraulic-2", "hydraulic-reserve"), "reverser-2"),
        (("hydraulic-2", "ac-bus-2"), "flap-drive"),
    ],
)
def test_two_supplies_lose_what_either_keeps(pair: tuple[str, str], gone: str) -> None:
    assert gone in lost(degraded(*pair))
    assert gone not in lost(degraded(pair[0])) | lost(degraded(pair[1]))
    item = next(i for i in degraded(*pair).lost if i.function == gone)
    assert {item.because[0], *item.together_with} == set(pair)


def test_gear_retraction_alone_extends_normally_and_closes_the_doors() -> None:
    left = degraded("gear-retraction")
    assert left.gear.extension is Extension.NORMAL
    assert left.gear.doors_after_extension is DoorPosition.CLOSED
    assert not left.gear.retractable
    assert [c.step for c in left.irreversible] == ["extend the gear"]
    assert left.nose_wheel_steering


def test_gear_already_down_has_nothing_left_that_could_not_be_undone() -> None:
    left = degraded("gear-retraction", gear=GearPosition.DOWN)
    assert left.irreversible == ()
    assert not left.gear.retractable
    assert left.gear.doors_now is DoorPosition.CLOSED


def test_gear_down_by_an_unknown_system_has_its_doors_taken_as_open() -> None:
    left = degraded("hydraulic-1", gear=GearPosition.DOWN)
    assert left.gear.doors_now is DoorPosition.OPEN
    assert "GEAR_DOORS_TAKEN_AS_OPEN" in codes(left)


@pytest.mark.parametrize("position", [GearPosition.IN_TRANSIT, GearPosition.UNSAFE])
def test_a_gear_not_locked_is_a_landing_hazard_with_open_doors(position: GearPosition) -> None:
    left = degraded(gear=position)
    assert left.gear.position is position
    assert left.gear.doors_now is DoorPosition.OPEN
    assert left.gear.retractable is (position is GearPosition.IN_TRANSIT)
    assert [h.code for h in left.landing_hazards] == ["GEAR_NOT_LOCKED"]
    assert left.landing_hazards[0].because == (f"gear {position}",)
    assert any(f"Gear {position}" in sentence for sentence in explain(left))


def test_an_unsafe_indication_makes_the_gear_unsafe_wherever_it_is_reported() -> None:
    left = degraded("gear-unsafe-indication", "gear-retraction")
    assert left.gear.position is GearPosition.UNSAFE
    assert left.landing_hazards[0].because == ("gear-unsafe-indication",)


def test_no_means_of_extension_is_a_landing_hazard_only_with_the_gear_up() -> None:
    broken = ("gear-normal-extension", "gear-gravity-release")
    left = degraded(*broken)
    assert left.gear.extension is Extension.NONE
    assert [h.code for h in left.landing_hazards] == ["GEAR_WILL_NOT_EXTEND"]
    assert left.irreversible == ()
    assert degraded(*broken, gear=GearPosition.DOWN).landing_hazards == ()


@pytest.mark.parametrize("leg", ["gear-nose-leg-stuck", "gear-main-leg-stuck"])
def test_a_leg_that_will_not_extend_is_a_landing_hazard_and_blocks_the_runway(leg: str) -> None:
    left = degraded(leg)
    assert left.landing_hazards[0].weight is Weight.WARNING
    assert left.landing_hazards[0].because == (leg,)
    assert left.blocks_runway


def test_open_doors_have_the_limits_of_the_extended_gear() -> None:
    left = degraded("gear-doors-open")
    assert left.gear.doors_now is DoorPosition.OPEN
    speed, level = left.limit(LimitName.MAX_CAS_KT), left.limit(LimitName.MAX_PRESSURE_ALTITUDE_FT)
    assert speed is not None
    assert speed.value <= XTJ.limits.vle_kt
    assert level is not None
    assert level.value == XTJ.limits.max_gear_out_ft


def test_jammed_flaps_stay_at_their_detent() -> None:
    left = degraded(Failure(id="flaps-jammed", detent="12"))
    assert left.flap.position == "12"
    assert left.flap.reachable == ("12",)
    assert left.flap.jammed
    assert left.flap.drive is Drive.NONE
    assert left.slats.position is SlatPosition.OUT


def test_flaps_without_a_drive_stay_where_they_are() -> None:
    left = degraded("flaps-slow", "flap-electric-motor", flap="6")
    assert left.flap.reachable == ("6",)
    assert not left.flap.jammed
    assert left.flap.because[-1] == "flap-drive"


def test_flaps_that_only_extend_make_their_extension_irreversible() -> None:
    left = degraded("flaps-retraction", flap="6")
    assert left.flap.reachable == ("6", "12", "20", "34")
    assert left.flap.extend_only
    assert [c.step for c in left.irreversible] == ["extend the flaps"]
    assert degraded("flaps-retraction", flap="34").irreversible == ()


def test_limited_flaps_keep_every_detent_up_to_the_limit_and_the_present_one() -> None:
    limited = Failure(id="flaps-limited", detent="12")
    assert degraded(limited).flap.reachable == ("0", "6", "12")
    assert degraded(limited, flap="20").flap.reachable == ("0", "6", "12", "20")


@pytest.mark.parametrize("position", list(SlatPosition))
def test_jammed_slats_stay_whatever_the_flap_lever_does(position: SlatPosition) -> None:
    for flap in ALL_DETENTS:
        left = degraded(Failure(id="slats-jammed", position=position), flap=flap)
        assert left.slats.position is position
        assert not left.slats.movable


@pytest.mark.parametrize(("flap", "position"), [("0", SlatPosition.IN), ("6", SlatPosition.OUT)])
def test_slats_not_reported_follow_the_flap_lever(flap: str, position: SlatPosition) -> None:
    assert degraded(flap=flap).slats.position is position


def test_slats_that_only_extend_make_their_extension_irreversible_while_in() -> None:
    assert [c.what for c in degraded("slats-retraction").irreversible] == ["slats"]
    assert degraded("slats-retraction", slats=SlatPosition.OUT).irreversible == ()


@pytest.mark.parametrize("side", ["1", "2"])
def test_an_engine_takes_its_reverser_but_no_hydraulic_supply(side: str) -> None:
    left = degraded(f"engine-{side}")
    assert left.engines_running == 1
    assert left.engines_failed == (f"engine-{side}",)
    assert left.thrust_ratio == 0.5
    assert left.reversers == 1
    assert left.urgency is Urgency.NEAREST_SUITABLE
    fallen = {item.function for item in left.lost}
    assert {f"engine-pump-{side}", f"generator-{side}", f"bleed-{side}"} <= fallen
    assert not fallen & {"hydraulic-1", "hydraulic-2", "hydraulic-reserve", "pressurisation"}
    assert left.anti_ice


@pytest.mark.parametrize("side", ["1", "2"])
def test_an_engine_and_the_electric_pump_of_its_supply_lose_the_supply(side: str) -> None:
    left = degraded(f"engine-{side}", f"electric-pump-{side}")
    assert f"hydraulic-{side}" in {item.function for item in left.lost}


def test_both_engines_leave_controls_on_the_ram_air_turbine_and_a_battery() -> None:
    left = degraded("engine-1", "engine-2")
    assert left.engines_running == left.reversers == 0
    assert left.thrust_ratio == 0.0
    assert "primary-flight-controls" in lost(left, degraded=True)
    battery = left.limit(LimitName.MAX_TIME_ALOFT_MIN)
    assert battery is not None
    assert battery.value == 30.0
    assert left.urgency is Urgency.AS_SOON_AS_POSSIBLE
    without = degraded("engine-1", "engine-2", "ram-air-turbine")
    assert "primary-flight-controls" in lost(without)


def test_thrust_counts_the_stricter_limit_of_an_engine_that_runs() -> None:
    assert degraded("engine-1-thrust-limited").thrust_ratio == pytest.approx(0.8)
    both = degraded("engine-1-thrust-limited", "engine-1-vibration")
    assert both.thrust_ratio == pytest.approx(0.8)
    assert degraded("engine-1-thrust-limited", "engine-1").thrust_ratio == 0.5
    assert degraded("engine-1-thrust-limited", "engine-2").thrust_ratio == pytest.approx(0.3)


def test_pressurisation_lost_limits_the_level_and_says_why() -> None:
    left = degraded("pressurisation")
    level = left.limit(LimitName.MAX_PRESSURE_ALTITUDE_FT)
    assert not left.pressurised
    assert level is not None
    assert (level.value, level.unit, level.because) == (10_000.0, "ft", "pressurisation")
    assert level.value == XTJ.limits.max_unpressurised_ft


def test_both_bleeds_lose_pressurisation_and_wing_anti_ice_together() -> None:
    assert lost(degraded("bleed-1")) == set()
    left = degraded("bleed-1", "engine-2")
    assert {"pressurisation", "wing-anti-ice"} <= lost(left)
    assert not left.anti_ice


def test_of_conflicting_limits_the_strictest_holds_with_its_own_cause() -> None:
    left = degraded("gear-doors-open", "fuel-pumps", "window-cracked", "yaw-damper")
    level = left.limit(LimitName.MAX_PRESSURE_ALTITUDE_FT)
    speed = left.limit(LimitName.MAX_CAS_KT)
    assert level is not None
    assert speed is not None
    assert (level.value, level.because) == (10_000.0, "window-cracked")
    assert (speed.value, speed.because) == (245.0, "gear-doors-open")
    assert left.limit(LimitName.MAX_MACH) is None


def test_of_two_approach_speed_increments_the_greater_holds() -> None:
    left = degraded("spoiler-panel-up", "stabiliser-trim")
    increment = left.limit(LimitName.MIN_APPROACH_SPEED_INCREMENT_KT)
    assert increment is not None
    assert (increment.value, increment.because) == (10.0, "stabiliser-trim")


def test_landing_devices_by_failure() -> None:
    assert degraded("anti-skid").anti_skid is AntiSkid.ON_OFF
    assert degraded("ground-spoilers").ground_spoiler_fraction == 0.0
    assert degraded("reverser-1").reversers == 1
    assert degraded("reverser-1", "reverser-2").reversers == 0
    assert degraded("reverser-1", "engine-1").reversers == 1
    assert degraded("brakes-left").brakes_fraction == 0.5
    assert degraded("tyre-burst").brakes_fraction == 0.75
    assert degraded("tyre-burst", "brakes-left").brakes_fraction == 0.5


def test_no_brake_at_all_is_a_landing_hazard() -> None:
    left = degraded("brakes-left", "brakes-right")
    assert left.brakes_fraction == 0.0
    assert [h.code for h in left.landing_hazards] == ["NO_WHEEL_BRAKES"]


def test_brakes_on_the_accumulator_have_few_applications() -> None:
    left = degraded("hydraulic-1", "hydraulic-2")
    applications = left.limit(LimitName.MAX_BRAKE_APPLICATIONS)
    assert applications is not None
    assert applications.value == 6.0
    assert left.brakes_fraction == 0.625  # 0.50 / 0.80, quasi against full, 25.109(c)(2)
    assert degraded("hydraulic-1", "brake-accumulator").brakes_fraction == 0.5


def test_lost_approach_equipment_is_named() -> None:
    assert degraded("ils", "gnss").lost_approach_equipment == {"ILS", "GNSS"}
    assert degraded("vor-dme").lost_approach_equipment == {"VOR", "DME"}
    assert "AUTOPILOT" in degraded("unreliable-airspeed").lost_approach_equipment
    assert "FLIGHT_DIRECTOR" in degraded("essential-bus").lost_approach_equipment


def test_a_leak_without_a_rate_is_unknown_never_zero() -> None:
    unknown, known = degraded("fuel-leak"), degraded(Failure(id="fuel-leak", rate_kg_per_h=600.0))
    assert unknown.leak_rate_unknown
    assert unknown.leak_kg_per_h == 0.0
    assert not known.leak_rate_unknown
    assert known.leak_kg_per_h == 600.0
    assert any("unknown rate" in sentence for sentence in explain(unknown))
    assert any("600 kg/h" in sentence for sentence in explain(known))


def test_trapped_fuel_without_a_quantity_is_unknown_never_zero() -> None:
    unknown, known = degraded("fuel-trapped"), degraded(Failure(id="fuel-trapped", quantity_kg=900))
    assert unknown.unusable_fuel_unknown
    assert not known.unusable_fuel_unknown
    assert known.unusable_fuel_kg == 900.0
    assert any("unknown part" in sentence for sentence in explain(unknown))
    assert any("900 kg" in sentence for sentence in explain(known))


def test_checklists_are_done_one_after_another() -> None:
    both = degraded("hydraulic-1", "engine-1").checklist_min
    assert both == degraded("hydraulic-1").checklist_min + degraded("engine-1").checklist_min


def test_a_caution_of_two_failures_stands_once_and_names_both() -> None:
    same = [c for c in degraded("bleed-1", "bleed-2").cautions if c.code == "ONE_BLEED"]
    assert [(c.because, c.also) for c in same] == [(("bleed-1",), ("bleed-2",))]


def test_cautions_come_heaviest_first() -> None:
    weights = [c.weight for c in degraded("hydraulic-1", "engine-1", "yaw-damper").cautions]
    assert weights == sorted(weights, key=list(Weight).index, reverse=True)


def test_a_brake_system_worse_as_delivered_stays_as_it_is() -> None:
    quasi = replace(XTJ, tyres=replace(XTJ.tyres, anti_skid=AntiSkid.NONE))
    left = assess(quasi, [Failure(id="anti-skid")], gear=GearPosition.UP, flap="0", slats=None)
    assert left.anti_skid is AntiSkid.NONE


def test_a_contradictory_report_is_refused_with_its_faults() -> None:
    with pytest.raises(InvalidCase) as caught:
        degraded(Failure(id="flaps-jammed", detent="12"), flap="34")
    assert [fault.pointer for fault in caught.value.faults] == ["/aircraft/flap"]
