"""Laws of the capability: order, repetition, and that one more failure never helps."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import assume, given
from hypothesis import strategies as st

from decision.profile.systems_effects import LIMITS
from decision.quantities import DoorPosition, GearPosition
from decision.systems import Capability, Drive, Extension, Failure, Urgency, Weight, assess
from tests.systems.builders import CATALOGUE, XTJ, report

UNLOCKED = (GearPosition.IN_TRANSIT, GearPosition.UNSAFE)
IDS = [entry.id for entry in CATALOGUE]


@st.composite
def gears(draw: st.DrawFn, ids: Sequence[str]) -> GearPosition:
    """A gear position in which all of these failures can occur."""
    entries = [XTJ.systems.catalogue[id_] for id_ in ids]
    possible = [g for g in GearPosition if all(g in entry.gear for entry in entries)]
    if "gear-unsafe-indication" in ids:  # that report says itself that the gear is not locked
        possible = [gear for gear in possible if gear in UNLOCKED]
    assume(possible)
    return draw(st.sampled_from(possible))


@st.composite
def situations(draw: st.DrawFn) -> tuple[list[Failure], Failure, GearPosition, str]:
    """Some failures, one more, and a state of the aircraft that fits them all."""
    ids = draw(st.lists(st.sampled_from(IDS), max_size=8))
    extra = draw(st.sampled_from(IDS))
    gear = draw(gears([*ids, extra]))
    failures = [report(id_) for id_ in (*ids, extra)]
    told = [each.detent for each in failures if each.detent]  # a jam says where the flaps are
    flap = draw(st.sampled_from(told or ["0", "6", "12"]))
    return failures[:-1], failures[-1], gear, flap


def capability(failures: Sequence[Failure], gear: GearPosition, flap: str) -> Capability:
    return assess(XTJ, failures, gear=gear, flap=flap, slats=None)


def rank(item: Extension | Drive | Urgency | Weight | DoorPosition) -> int:
    return list(type(item)).index(item)


@given(situations(), st.randoms(use_true_random=False))
def test_order_does_not_matter(
    situation: tuple[list[Failure], Failure, GearPosition, str], random: object
) -> None:
    failures, extra, gear, flap = situation
    shuffled = [*failures, extra]
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert capability(shuffled, gear, flap) == capability([*failures, extra], gear, flap)


@given(situations())
def test_reporting_a_failure_twice_changes_nothing(
    situation: tuple[list[Failure], Failure, GearPosition, str],
) -> None:
    failures, extra, gear, flap = situation
    once = capability([*failures, extra], gear, flap)
    assert capability([extra, *failures, extra], gear, flap) == once


@given(situations())
def test_one_more_failure_never_adds_a_function_or_loosens_a_limit(
    situation: tuple[list[Failure], Failure, GearPosition, str],
) -> None:
    failures, extra, gear, flap = situation
    before, after = capability(failures, gear, flap), capability([*failures, extra], gear, flap)
    assert_functions_not_better(before, after)
    assert_limits_not_looser(before, after)
    assert_movement_not_better(before, after)
    assert_landing_not_better(before, after)
    assert_flight_not_better(before, after)
    assert_no_word_less(before, after)


def assert_functions_not_better(before: Capability, after: Capability) -> None:
    left = {item.function: item.degraded for item in after.lost}
    for item in before.lost:
        assert item.function in left
        assert item.degraded or not left[item.function]
    assert before.lost_approach_equipment <= after.lost_approach_equipment
    assert rank(after.urgency) >= rank(before.urgency)
    assert {c.code for c in before.landing_hazards} <= {c.code for c in after.landing_hazards}


def assert_limits_not_looser(before: Capability, after: Capability) -> None:
    for limit in before.limits:
        now = after.limit(limit.name)
        assert now is not None
        assert LIMITS[limit.name].strictest(now.value, limit.value) == now.value


def assert_no_word_less(before: Capability, after: Capability) -> None:
    assert set(before.natures) <= set(after.natures)
    assert set(before.dispatch_lines) <= set(after.dispatch_lines)
    assert set(before.cabin_lines) <= set(after.cabin_lines)


def assert_movement_not_better(before: Capability, after: Capability) -> None:
    assert rank(after.gear.extension) >= rank(before.gear.extension)
    assert before.gear.retractable or not after.gear.retractable
    assert rank(after.gear.doors_after_extension) >= rank(before.gear.doors_after_extension)
    assert rank(after.gear.doors_now) >= rank(before.gear.doors_now)
    assert rank(after.flap.drive) >= rank(before.flap.drive)
    assert set(after.flap.reachable) <= set(before.flap.reachable)
    assert before.slats.movable or not after.slats.movable


def assert_landing_not_better(before: Capability, after: Capability) -> None:
    assert after.brakes_fraction <= before.brakes_fraction
    assert after.ground_spoiler_fraction <= before.ground_spoiler_fraction
    assert before.ground_spoilers or not after.ground_spoilers
    assert 0 <= after.reversers <= before.reversers
    assert after.brakes_fraction >= 0.0
    assert after.ground_spoiler_fraction >= 0.0
    assert before.nose_wheel_steering or not after.nose_wheel_steering
    assert after.blocks_runway or not before.blocks_runway


def assert_flight_not_better(before: Capability, after: Capability) -> None:
    assert after.engines_running <= before.engines_running
    assert after.thrust_ratio <= before.thrust_ratio
    assert before.pressurised or not after.pressurised
    assert before.anti_ice or not after.anti_ice
    assert after.drag_increment >= before.drag_increment
    assert after.fuel_flow_scale >= before.fuel_flow_scale
    assert after.checklist_min >= before.checklist_min
    assert after.leak_rate_unknown or not before.leak_rate_unknown
    assert after.unusable_fuel_unknown or not before.unusable_fuel_unknown
    assert after.fuel_quantity_doubtful or not before.fuel_quantity_doubtful
