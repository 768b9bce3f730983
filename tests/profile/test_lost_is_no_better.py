"""A node that is lost must leave no more than one that is degraded: each kind of effect."""

from __future__ import annotations

from pathlib import Path

import pytest

from decision.errors import DataError
from tests.systems.builders import small_systems

DEGRADED = 'when_degraded = [{ kind = "flap-drive", drive = "slow" }]\n'
LOST = 'when_lost = [{ kind = "flap-drive", drive = "none", source = "PRACTICE" }]'
NOTHING = '{ kind = "steering" }'  # some other effect, so that the node has one
OTHER = '{ kind = "blocks-runway" }'
MILD_AND_WORSE = [
    ('{ kind = "brakes", share = 0.3 }', '{ kind = "brakes", share = 0.5 }'),
    ('{ kind = "spoilers", share = 0.3 }', '{ kind = "spoilers", share = 0.5 }'),
    ('{ kind = "drag", increment = 0.001 }', '{ kind = "drag", increment = 0.002 }'),
    ('{ kind = "fuel-flow", share = 0.01 }', '{ kind = "fuel-flow", share = 0.02 }'),
    ('{ kind = "checklist", minutes = 2 }', '{ kind = "checklist", minutes = 3 }'),
    (
        '{ kind = "gear-extension", extension = "alternate" }',
        '{ kind = "gear-extension", extension = "none" }',
    ),
    ('{ kind = "flap-drive", drive = "slow" }', '{ kind = "flap-drive", drive = "none" }'),
    ('{ kind = "slat-drive", drive = "slow" }', '{ kind = "slat-drive", drive = "none" }'),
    ('{ kind = "anti-skid", level = "quasi" }', '{ kind = "anti-skid", level = "none" }'),
    (
        '{ kind = "urgency", urgency = "nearest_suitable" }',
        '{ kind = "urgency", urgency = "as_soon_as_possible" }',
    ),
    (
        '{ kind = "limit", name = "max_cas_kt", value = 250 }',
        '{ kind = "limit", name = "max_cas_kt", value = 230 }',
    ),
    (
        '{ kind = "limit", name = "min_approach_speed_increment_kt", value = 5 }',
        '{ kind = "limit", name = "min_approach_speed_increment_kt", value = 10 }',
    ),
]
SAME_OR_NOTHING = [
    '{ kind = "steering" }',
    '{ kind = "approach-equipment", equipment = "ILS" }',
    '{ kind = "landing-hazard", code = "HAZARD", text = "No.", weight = "warning" }',
]


def written(tmp_path: Path, *, degraded: str, lost: str) -> None:
    small_systems(
        tmp_path, change=(DEGRADED + LOST, f"when_degraded = [{degraded}]\nwhen_lost = [{lost}]")
    )


def refused(tmp_path: Path, *, degraded: str, lost: str) -> str:
    with pytest.raises(DataError) as caught:
        written(tmp_path, degraded=degraded, lost=lost)
    assert caught.value.key == "node.flaps.when_lost"
    return caught.value.problem


@pytest.mark.parametrize(("mild", "worse"), MILD_AND_WORSE)
def test_as_bad_or_worse_when_lost_is_right_and_less_bad_or_nothing_is_not(
    tmp_path: Path, mild: str, worse: str
) -> None:
    written(tmp_path, degraded=mild, lost=mild)
    written(tmp_path, degraded=mild, lost=worse)
    assert "is better than degraded" in refused(tmp_path, degraded=worse, lost=mild)
    assert "is better than degraded" in refused(tmp_path, degraded=mild, lost=OTHER)


@pytest.mark.parametrize("effect", SAME_OR_NOTHING)
def test_an_effect_without_degrees_holds_when_lost_too(tmp_path: Path, effect: str) -> None:
    written(tmp_path, degraded=effect, lost=effect.replace(" }", ', source = "PRACTICE" }'))

    assert "is better than degraded" in refused(tmp_path, degraded=effect, lost=OTHER)


def test_another_limit_is_no_substitute(tmp_path: Path) -> None:
    problem = refused(
        tmp_path,
        degraded='{ kind = "limit", name = "max_cas_kt", value = 250 }',
        lost='{ kind = "limit", name = "max_mach", value = 0.4 }',
    )
    assert "Calibrated airspeed at most 250 kt" in problem


def test_shares_of_one_kind_count_together(tmp_path: Path) -> None:
    half = '{ kind = "brakes", share = 0.25 }'
    written(tmp_path, degraded='{ kind = "brakes", share = 0.5 }', lost=f"{half}, {half}")
    assert "brakes" in refused(tmp_path, degraded=f"{half}, {half}", lost=half)


def test_words_and_what_is_used_up_belong_to_their_state(tmp_path: Path) -> None:
    words = '{ kind = "caution", code = "SLOW", text = "Slow.", weight = "info" }'
    step = '{ kind = "one-way", what = "brakes", step = "apply them" }'
    written(tmp_path, degraded=f"{words}, {step}", lost=NOTHING)
