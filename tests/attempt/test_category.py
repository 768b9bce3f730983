"""The category of the minima: of the type at maximum landing mass, or higher as flown."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.attempt import Attempt
from decision.attempt.category import category_flown, circling_category, circling_speed_kt
from decision.case import ApproachKind
from decision.errors import OutOfRange
from tests.attempt.minima_builders import approach
from tests.decide.builders import courses, situation

LIGHT = {"/aircraft/mass_kg": 46_000, "/fuel/on_board_kg": 3300}


def missed(**changes: Any) -> Attempt:
    (first, *_) = courses(**changes)["approach_then_divert:XBRE"].attempts
    return first


def test_a_light_aircraft_keeps_the_category_of_its_type() -> None:
    """At 46 t it flies below 121 kt, which would be category B; at 66 t it is C."""
    light = missed(**LIGHT)
    assert light.approach_speed_kt < 121.0
    assert light.category == missed().category == "C"


def test_a_failure_that_adds_speed_raises_it() -> None:
    """Flaps jammed up: 1.23 times the clean stall speed at 60 t is beyond category C."""
    jammed = missed(**{"/failures": [{"id": "flaps-jammed", "detent": "0"}]})
    assert jammed.approach_speed_kt > 141.0
    assert jammed.category is not None
    assert jammed.category > "C"


# [PANS-OPS-I] greatest speeds for circling; B and C as quoted, the others from memory
@pytest.mark.parametrize(
    ("speed_kt", "category"),
    [(100.0, "A"), (100.1, "B"), (135.0, "B"), (135.1, "C"), (180.0, "C"), (205.0, "D")],
)
def test_circling_faster_than_the_area_allows_is_the_next_category(
    speed_kt: float, category: str
) -> None:
    assert circling_category(speed_kt) == category


def test_no_category_is_drawn_for_circling_beyond_the_last_speed() -> None:
    assert circling_category(240.0) == "E"
    with pytest.raises(OutOfRange):
        circling_category(240.1)


def test_the_circling_speed_is_that_of_the_approach_flap_with_what_failures_add() -> None:
    flown = situation()
    ordinary = circling_speed_kt(flown, mass_kg=60_000.0)
    heavier = circling_speed_kt(flown, mass_kg=66_000.0)
    assert heavier / ordinary == pytest.approx((66.0 / 60.0) ** 0.5)
    assert ordinary > missed().approach_speed_kt  # less flap than for landing


def test_only_circling_looks_at_the_circling_speed() -> None:
    jammed = situation(**{"/failures": [{"id": "flaps-jammed", "detent": "0"}]})
    fast_kt = circling_speed_kt(jammed, mass_kg=66_000.0)
    assert fast_kt > 180.0
    straight = category_flown(jammed, approach(), mass_kg=66_000.0, approach_speed_kt=130.0)
    round_ = category_flown(
        jammed,
        approach(kind=ApproachKind.CIRCLING),
        mass_kg=66_000.0,
        approach_speed_kt=130.0,
    )
    assert (straight, round_) == ("C", circling_category(fast_kt))


def test_beyond_every_category_none_is_known() -> None:
    assert category_flown(situation(), None, mass_kg=60_000.0, approach_speed_kt=211.0) is None
