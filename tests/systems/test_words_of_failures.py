"""What failures say of themselves to air traffic control, dispatch and the cabin, in what order."""

from __future__ import annotations

import re

import pytest

from decision.profile import load_profile, profile_ids
from decision.profile.systems_model import CatalogueEntry
from decision.quantities import GearPosition
from tests.systems.builders import CATALOGUE, XTJ, degraded

EVERY = [
    pytest.param(entry, id=f"{profile_id} {entry.id}")
    for profile_id in profile_ids()
    for entry in load_profile(profile_id).systems.catalogue.values()
]
LONGEST_NATURE = 40  # characters: it is spoken first, and in one breath
LONGEST_LINE = 220
FIRE_OR_SMOKE = re.compile(r"\b(fire|smoke)\b")
CODE = re.compile(r"[A-Z]+_[A-Z]+|[a-z]+-[a-z]*-?\d|\[")


def natures(*ids: str, gear: GearPosition = GearPosition.UP) -> list[str]:
    return list(degraded(*ids, gear=gear).natures)


@pytest.mark.parametrize("entry", EVERY)
def test_every_failure_has_words_short_enough_to_say_and_without_codes(
    entry: CatalogueEntry,
) -> None:
    assert 0 < len(entry.nature) <= LONGEST_NATURE
    assert not entry.nature.endswith(".")
    for line in (entry.dispatch, entry.cabin):
        assert 0 < len(line) <= LONGEST_LINE
        assert line.endswith(".")
        assert line[0].isupper()
    for words in (entry.nature, entry.dispatch, entry.cabin):
        assert not CODE.search(words)


@pytest.mark.parametrize("entry", EVERY)
def test_fire_and_smoke_are_named_to_everybody_who_is_told(entry: CatalogueEntry) -> None:
    burns = entry.group == "smoke_fire" or entry.id.endswith("-fire")
    assert burns == bool(FIRE_OR_SMOKE.search(entry.nature))
    if burns:
        assert "fire services" in entry.dispatch
        assert "evacuation" in entry.cabin
        assert FIRE_OR_SMOKE.search(entry.cabin.lower())


@pytest.mark.parametrize("id_", [entry.id for entry in CATALOGUE])
def test_a_failure_alone_says_its_own_words(id_: str) -> None:
    entry = XTJ.systems.catalogue[id_]
    left = degraded(id_, gear=entry.gear[0])
    assert left.natures == (entry.nature,)
    assert left.dispatch_lines == (entry.dispatch,)
    assert left.cabin_lines == (entry.cabin,)


def test_a_sound_aircraft_says_nothing() -> None:
    left = degraded()
    assert left.natures == left.dispatch_lines == left.cabin_lines == ()


@pytest.mark.parametrize(
    ("ids", "expected"),
    [
        # as soon as possible, nearest suitable, neither
        (
            ("radio-altimeter", "engine-1", "smoke"),
            ["smoke on board, origin unknown", "engine 1 failure", "radio altimeter failure"],
        ),
        # of two without urgency, the one that makes the landing unsafe
        (
            ("flaps-jammed", "gear-nose-leg-stuck"),
            ["nose gear will not extend", "flaps jammed"],
        ),
        # then the one whose caution weighs more: warning, info, none
        (
            ("brake-accumulator", "autobrake", "brakes-left"),
            ["brake failure on one side", "automatic braking failure", "brake accumulator empty"],
        ),
        # equals as the catalogue has them
        (("ils", "electric-pump-2"), ["hydraulic pump failure", "ILS receiver failure"]),
        # neither is urgent alone; together they leave no generator
        (
            ("generator-2", "fuel-leak", "generator-1"),
            ["generator 1 failure", "generator 2 failure", "fuel leak"],
        ),
        # together they leave the gear up
        (
            ("gear-normal-extension", "flaps-jammed", "gear-gravity-release"),
            [
                "normal gear extension failure",
                "alternate gear extension failure",
                "flaps jammed",
            ],
        ),
    ],
)
def test_the_most_urgent_nature_is_said_first(ids: tuple[str, ...], expected: list[str]) -> None:
    assert natures(*ids) == natures(*reversed(ids)) == expected


def test_a_gear_that_is_not_locked_is_said_before_what_the_landing_survives() -> None:
    said = natures("flaps-jammed", "gear-unsafe-indication", gear=GearPosition.UNSAFE)
    assert said == ["unsafe gear indication", "flaps jammed"]


def test_lines_stand_in_the_order_of_the_natures() -> None:
    left = degraded("ils", "engine-1-fire", "hot-brakes")
    entries = [XTJ.systems.catalogue[id_] for id_ in ("engine-1-fire", "hot-brakes", "ils")]
    assert left.dispatch_lines == tuple(entry.dispatch for entry in entries)
    assert left.cabin_lines == tuple(entry.cabin for entry in entries)


def test_the_same_words_are_said_once() -> None:
    left = degraded("hydraulic-1", "hydraulic-2")
    assert left.natures == ("hydraulic failure",)
    assert len(left.dispatch_lines) == 2
