"""The failure catalogue of the demo aircraft: what is in it, and that all of it runs."""

from __future__ import annotations

from itertools import combinations

import pytest

from decision.citations import source
from decision.profile.systems_effects import LIMITS, OneWay
from decision.profile.systems_model import FailureGroup
from decision.quantities import GearPosition, SlatPosition
from decision.systems import LimitName, explain
from tests.systems.builders import CATALOGUE, XTJ, degraded, report

RELIED_ON = (
    "hydraulic-1", "hydraulic-2", "hydraulic-reserve", "gear-retraction", "flaps-jammed",
    "slats-jammed", "engine-1", "engine-2", "pressurisation", "anti-skid", "ground-spoilers",
    "reverser-1", "reverser-2", "fuel-leak",
)  # fmt: skip
IDS = [entry.id for entry in CATALOGUE]
PAIRS = list(combinations(IDS, 2))


def possible_gear(*ids: str) -> GearPosition:
    """A gear position in which all of these can occur."""
    entries = [XTJ.systems.catalogue[id_] for id_ in ids]
    return next(g for g in GearPosition if all(g in entry.gear for entry in entries))


@pytest.mark.parametrize("id_", RELIED_ON)
def test_ids_that_others_rely_on_exist(id_: str) -> None:
    assert id_ in XTJ.systems.catalogue


def test_the_catalogue_has_at_least_forty_failures_over_every_group() -> None:
    assert len(CATALOGUE) >= 40
    assert {entry.group for entry in CATALOGUE} == set(FailureGroup)


def test_every_value_of_the_systems_file_has_a_source() -> None:
    effects = [e for entry in CATALOGUE for e in entry.effects]
    effects += [e for n in XTJ.systems.nodes.values() for e in (*n.when_lost, *n.when_degraded)]
    keys = {e.source for e in effects} | {n.source for n in XTJ.systems.nodes.values()}
    assert keys | {entry.source for entry in CATALOGUE} == {
        source(key).key for key in ("ASSUMED", "PRACTICE", "CFR-25", "CFR-121", "CFR-OXYGEN")
    }


def test_every_effect_has_words() -> None:
    effects = [e for entry in CATALOGUE for e in entry.effects]
    effects += [e for n in XTJ.systems.nodes.values() for e in (*n.when_lost, *n.when_degraded)]
    assert {effect for effect in effects if isinstance(effect, OneWay)}
    for effect in effects:
        assert effect.words
        assert "{" not in effect.words
        if isinstance(effect, OneWay):
            assert effect.step in effect.words


@pytest.mark.parametrize("id_", IDS)
@pytest.mark.parametrize("slats", list(SlatPosition))
def test_every_failure_is_assessed_and_explains_itself(id_: str, slats: SlatPosition) -> None:
    capability = degraded(report(id_, position=slats), gear=possible_gear(id_))
    paths = [s[s.rindex("(") :] for s in explain(capability) if s.endswith(")")]
    assert paths
    assert all(path.startswith(f"({id_}") for path in paths)
    assert capability.checklist_min > 0.0


def test_every_pair_of_failures_is_assessed_and_both_explain_themselves() -> None:
    assert len(PAIRS) == len(IDS) * (len(IDS) - 1) // 2
    for first, second in PAIRS:
        capability = degraded(first, second, gear=possible_gear(first, second))
        for item in capability.lost:
            assert item.because[0] in (first, second)
            assert set(item.together_with) <= {first, second}
        words = " ".join(explain(capability))
        assert first in words, (first, second)
        assert second in words, (first, second)


def test_every_limit_has_a_believable_value_and_its_unit_in_its_name() -> None:
    for name in LimitName:
        spec = LIMITS[name]
        assert spec.low < spec.high
        assert not spec.unit or name.endswith(f"_{spec.unit}")
