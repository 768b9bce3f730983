"""Rules of thumb in the demo profile: common practice, no source."""

from __future__ import annotations

from decision.systems import LimitName, Urgency
from tests.systems.builders import XTJ, degraded


def test_alternate_extension_starts_about_ten_miles_out_common_practice_no_source() -> None:
    assert 4.0 <= XTJ.approach.gear_extension_normal_nm <= 5.0
    assert 9.0 <= XTJ.approach.gear_extension_alternate_nm <= 11.0
    assert XTJ.approach.gear_extension_alternate_min > XTJ.approach.gear_extension_normal_min


def test_extension_limits_lie_above_retraction_limits_common_practice_no_source() -> None:
    assert XTJ.limits.vle_kt >= XTJ.limits.vlo_extend_kt > XTJ.limits.vlo_retract_kt


def test_one_hydraulic_supply_left_means_as_soon_as_possible_common_practice_no_source() -> None:
    for pair in (("hydraulic-1", "hydraulic-2"), ("hydraulic-1", "hydraulic-reserve")):
        assert degraded(*pair).urgency is Urgency.AS_SOON_AS_POSSIBLE
        assert degraded(pair[0]).urgency is Urgency.NONE


def test_smoke_means_as_soon_as_possible_common_practice_no_source() -> None:
    assert degraded("smoke").urgency is Urgency.AS_SOON_AS_POSSIBLE


def test_windscreen_failures_mean_250_kt_common_practice_no_source() -> None:
    for id_ in ("window-heat", "window-cracked"):
        limit = degraded(id_).limit(LimitName.MAX_CAS_KT)
        assert limit is not None
        assert limit.value == 250.0
