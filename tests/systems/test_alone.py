"""What each failure does by itself is what the assessment of it alone says."""

from __future__ import annotations

import pytest

from decision.profile import load_profile, profile_ids
from decision.quantities import GearPosition
from decision.systems import Urgency, each_alone
from tests.systems.builders import CATALOGUE, XTJ, degraded, report


@pytest.mark.parametrize("profile", profile_ids())
def test_every_failure_of_a_profile_is_told(profile: str) -> None:
    loaded = load_profile(profile)
    assert each_alone(loaded).keys() == loaded.systems.catalogue.keys()


@pytest.mark.parametrize("id_", [e.id for e in CATALOGUE if GearPosition.UP in e.gear])
def test_it_takes_what_the_assessment_of_it_alone_takes(id_: str) -> None:
    left = degraded(report(id_, detent=XTJ.flaps_up))
    alone = each_alone(XTJ)[id_]
    assert [each.title for each in alone.takes_away] == [each.title for each in left.lost]
    assert alone.urgency is left.urgency


def test_gear_that_cannot_be_retracted_goes_down_for_good() -> None:
    alone = each_alone(XTJ)
    assert alone["gear-retraction"].cannot_be_undone == ("extend the gear",)
    assert [each.title for each in alone["gear-retraction"].takes_away] == ["Gear retraction"]
    assert alone["battery"].cannot_be_undone == ()
    assert alone["smoke"].urgency is Urgency.AS_SOON_AS_POSSIBLE
    assert alone["smoke"].cautions


def test_it_is_worked_out_once() -> None:
    assert each_alone(XTJ) is each_alone(XTJ)
