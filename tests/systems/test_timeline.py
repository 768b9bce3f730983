"""The steps before the threshold: where they start, what they push back, what is for good."""

from __future__ import annotations

import pytest

from decision.errors import OutOfRange
from decision.quantities import GearPosition
from decision.systems import Capability, Failure, TimelineStep, timeline
from tests.systems.builders import XTJ, degraded

GROUNDSPEED_KT = 180.0  # 3 NM each minute
NM_PER_MIN = 3.0


def steps(capability: Capability, *, track_nm: float = 60.0) -> dict[str, TimelineStep]:
    found = timeline(XTJ, capability, track_nm=track_nm, groundspeed_kt=GROUNDSPEED_KT)
    starts = [step.distance_to_go_nm for step in found]
    assert starts == sorted(starts, reverse=True)
    return {step.name: step for step in found}


def test_a_sound_aircraft_has_gear_and_flaps_to_extend_in_time() -> None:
    found = steps(degraded())
    assert found.keys() == {"extend the gear", "flaps to 34"}
    gear = found["extend the gear"]
    assert gear.distance_to_go_nm == XTJ.approach.gear_extension_normal_nm
    assert gear.in_min == (60.0 - 5.0) / NM_PER_MIN
    assert not gear.one_way
    assert all(step.late_nm == 0.0 for step in found.values())
    assert found["flaps to 34"].distance_to_go_nm == 3.0 + 0.5 * NM_PER_MIN


def test_alternate_extension_starts_earlier_and_is_marked_as_for_good() -> None:
    gear = steps(degraded("hydraulic-1"))["extend the gear by the alternate system"]
    assert gear.distance_to_go_nm == XTJ.approach.gear_extension_alternate_nm
    assert gear.duration_min == XTJ.approach.gear_extension_alternate_min
    assert gear.one_way
    assert gear.because[0] == "hydraulic-1"


def test_a_slow_flap_drive_starts_earlier_by_its_travel() -> None:
    slow = steps(degraded("hydraulic-2"))["flaps to 34 by the slow drive"]
    assert slow.distance_to_go_nm == 3.0 + XTJ.approach.flap_retraction_slow_min * NM_PER_MIN
    part = steps(degraded("hydraulic-2", flap="20"))["flaps to 34 by the slow drive"]
    assert part.duration_min == pytest.approx(slow.duration_min * 14.0 / 34.0)


def test_flaps_that_only_extend_are_marked_as_for_good() -> None:
    assert steps(degraded("flaps-retraction"))["flaps to 34"].one_way


def test_slats_that_only_extend_make_the_step_of_their_lever_one_for_good() -> None:
    lever = steps(degraded("slats-retraction"))["flaps to 34"]
    assert lever.one_way
    assert lever.because[0] == "slats-retraction"


def test_flaps_go_out_where_it_is_planned() -> None:
    found = timeline(
        XTJ, degraded(), track_nm=60.0, groundspeed_kt=GROUNDSPEED_KT, flap_extension_nm=8.0
    )
    assert {step.name: step.distance_to_go_nm for step in found}["flaps to 34"] == 8.0


def test_checklists_come_first_and_push_back_what_follows() -> None:
    found = steps(degraded("hydraulic-1"), track_nm=20.0)  # 8 min are 24 NM
    assert found["checklists"].in_min == 0.0
    assert found["checklists"].duration_min == 8.0
    gear = found["extend the gear by the alternate system"]
    assert gear.distance_to_go_nm == -4.0
    assert gear.late_nm == 14.0
    assert gear.in_min == 8.0


def test_what_cannot_or_need_not_move_has_no_step() -> None:
    jammed = degraded(Failure(id="flaps-jammed", detent="6"), gear=GearPosition.DOWN)
    assert steps(jammed).keys() == {"checklists"}
    none = degraded("gear-normal-extension", "gear-gravity-release", flap="34")
    assert steps(none).keys() == {"checklists"}


def test_flaps_already_beyond_the_landing_detent_have_no_step() -> None:
    limited = degraded(Failure(id="flaps-limited", detent="12"), flap="20")
    assert "flaps to 20" not in steps(limited)


@pytest.mark.parametrize(
    ("track_nm", "groundspeed_kt"), [(2.9, 180.0), (501.0, 180.0), (60.0, 59.0), (60.0, 401.0)]
)
def test_figures_out_of_range_are_refused(track_nm: float, groundspeed_kt: float) -> None:
    with pytest.raises(OutOfRange):
        timeline(XTJ, degraded(), track_nm=track_nm, groundspeed_kt=groundspeed_kt)
