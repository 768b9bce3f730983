"""Faults in a report of failures: each names its place, its code, and what would be accepted."""

from __future__ import annotations

import math

import pytest

from decision.errors import Fault
from decision.quantities import GearPosition, SlatPosition
from decision.systems import Failure, check_failures
from tests.systems.builders import XTJ

JAM = Failure(id="flaps-jammed", detent="12")
SLATS_OUT = Failure(id="slats-jammed", position=SlatPosition.OUT)


def faults(
    *failures: Failure,
    gear: GearPosition = GearPosition.UP,
    flap: str = "0",
    slats: SlatPosition | None = None,
) -> tuple[Fault, ...]:
    return check_failures(XTJ, failures, gear=gear, flap=flap, slats=slats)


@pytest.mark.parametrize(
    ("failure", "pointer", "code", "accepted"),
    [
        (Failure(id="warp-core"), "/failures/0/id", "unknown_failure", "hydraulic-1"),
        (Failure(id="flaps-jammed"), "/failures/0/detent", "missing_detent", "0, 6, 12, 20, 34"),
        (Failure(id="flaps-limited"), "/failures/0/detent", "missing_detent", "34"),
        (Failure(id="flaps-jammed", detent="7"), "/failures/0/detent", "unknown_detent", "34"),
        (Failure(id="engine-1", detent="6"), "/failures/0/detent", "unexpected_detent", "absent"),
        (Failure(id="slats-jammed"), "/failures/0/position", "missing_position", "in, out"),
        (
            Failure(id="engine-1", position=SlatPosition.IN),
            "/failures/0/position", "unexpected_position", "absent",
        ),
        (Failure(id="fuel-leak", rate_kg_per_h=0.0), "/failures/0/rate_kg_per_h", "range", "0"),
        (Failure(id="fuel-leak", rate_kg_per_h=1e6), "/failures/0/rate_kg_per_h", "range", "50000"),
        (Failure(id="fuel-trapped", quantity_kg=-1.0), "/failures/0/quantity_kg", "range", "kg"),
        (
            Failure(id="fuel-trapped", quantity_kg=math.nan),
            "/failures/0/quantity_kg", "range", "absent",
        ),
    ],
)  # fmt: skip
def test_one_wrong_report_has_one_fault(
    failure: Failure, pointer: str, code: str, accepted: str
) -> None:
    found = faults(failure)
    assert [(f.pointer, f.code) for f in found] == [(pointer, code)]
    assert accepted in found[0].accepted
    assert found[0].message


def test_an_unknown_failure_lists_every_known_one() -> None:
    accepted = faults(Failure(id="x"))[0].accepted.split(", ")
    assert accepted == sorted(XTJ.systems.catalogue)


@pytest.mark.parametrize(
    "failures",
    [
        (),
        (JAM,),
        (JAM, JAM),
        (JAM, Failure(id="flaps-asymmetric", detent="12")),
        (SLATS_OUT,),
        (Failure(id="fuel-leak"),),
        (Failure(id="fuel-leak", rate_kg_per_h=400.0), Failure(id="fuel-trapped", quantity_kg=50)),
        (Failure(id="engine-1", rate_kg_per_h=400.0),),
    ],
)
def test_a_sound_report_has_no_fault(failures: tuple[Failure, ...]) -> None:
    assert faults(*failures) == ()


@pytest.mark.parametrize("flap", ["0", "6", "12"])
def test_the_lever_may_stand_short_of_a_jam(flap: str) -> None:
    assert faults(JAM, flap=flap) == ()


@pytest.mark.parametrize("flap", ["20", "34"])
def test_flaps_beyond_the_jam_contradict_it(flap: str) -> None:
    found = faults(JAM, flap=flap)
    assert [(f.pointer, f.code, f.accepted) for f in found] == [
        ("/aircraft/flap", "contradiction", "0, 6, 12")
    ]


def test_an_unknown_flap_position_is_named_once_and_hides_no_other_fault() -> None:
    found = faults(JAM, Failure(id="x"), flap="99")
    assert [f.code for f in found] == ["unknown_failure", "unknown_detent"]
    assert found[1].pointer == "/aircraft/flap"


def test_two_jams_at_different_detents_contradict_each_other() -> None:
    found = faults(JAM, Failure(id="flaps-asymmetric", detent="20"))
    assert [(f.pointer, f.code) for f in found] == [("/failures/1/detent", "contradiction")]


def test_one_failure_reported_twice_differently_contradicts_itself() -> None:
    found = faults(Failure(id="fuel-leak"), Failure(id="fuel-leak", rate_kg_per_h=100.0))
    assert [(f.pointer, f.code) for f in found] == [("/failures/1", "contradiction")]


def test_slats_reported_elsewhere_than_jammed_contradict_the_jam() -> None:
    assert faults(SLATS_OUT, slats=SlatPosition.OUT) == ()
    found = faults(SLATS_OUT, slats=SlatPosition.IN)
    assert [(f.pointer, f.accepted) for f in found] == [("/aircraft/slats", "out")]


@pytest.mark.parametrize(
    ("id_", "gear"),
    [
        ("gear-alternate-extension-used", GearPosition.UP),
        ("gear-nose-leg-stuck", GearPosition.DOWN),
        ("gear-main-leg-stuck", GearPosition.DOWN),
    ],
)
def test_a_failure_that_cannot_be_with_the_gear_there_contradicts_it(
    id_: str, gear: GearPosition
) -> None:
    found = faults(Failure(id=id_), gear=gear)
    assert [(f.pointer, f.code) for f in found] == [("/aircraft/gear", "contradiction")]
    assert gear not in found[0].accepted.split(", ")
