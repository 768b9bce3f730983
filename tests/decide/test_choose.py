"""Runway and procedure at one place: what is broken first, then wind, then length, a name last."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.attempt import Attempt, Role
from decision.case import Aerodrome
from decision.flight.situation import Situation
from decision.rules.row import Breach
from tests.changing import replace
from tests.decide.builders import best_attempt, courses, situation
from tests.rules.builders import PROCEDURE, RUNWAY, attempt, surface

HERE = situation()


def on(ident: str, *, headwind_kt: float = 5.0, lda_m: float = 2000.0, **changes: Any) -> Attempt:
    """An approach that keeps every rule, to a runway of that name."""
    at = attempt()
    assert at.wind is not None
    return replace(
        at,
        runway=replace(RUNWAY, ident=ident, lda_m=lda_m),
        approach=replace(PROCEDURE, id=f"ILS {ident}", runway=ident),
        wind=replace(at.wind, headwind_kt=headwind_kt, tailwind_kt=max(0.0, -headwind_kt)),
        **changes,
    )


def chosen(*candidates: Attempt, here: Situation = HERE) -> str:
    """The runway chosen, which must not depend on the order of the candidates."""
    names = {
        best_attempt(here, ordered).runway.ident  # type: ignore[union-attr]
        for ordered in (candidates, tuple(reversed(candidates)))
    }
    (name,) = names
    return name


@pytest.mark.parametrize("headwind", ["09", "27"])
def test_headwind_decides_between_runways_alike_whatever_their_names(headwind: str) -> None:
    tail = "27" if headwind == "09" else "09"
    assert chosen(on(headwind, headwind_kt=8.0), on(tail, headwind_kt=-8.0)) == headwind


def test_headwind_comes_before_length_and_length_before_the_name() -> None:
    windy, long = on("27", headwind_kt=6.0, lda_m=1900.0), on("09", headwind_kt=5.0, lda_m=3500.0)
    assert chosen(windy, long) == "27"
    assert chosen(on("09", lda_m=1900.0), on("27", lda_m=3500.0)) == "27"
    assert chosen(on("09"), on("27")) == "09"


def test_of_two_procedures_on_one_runway_the_lower_minimum_is_flown() -> None:
    high = on("27")
    high = replace(high, approach=replace(PROCEDURE, id="A", runway="27", dh_ft=450.0))
    best = best_attempt(HERE, [high, on("27")])
    assert best.approach is not None
    assert best.approach.id == "ILS 27"


def test_a_tailwind_runway_is_not_taken_because_stopping_is_unknown_on_both() -> None:
    blind: dict[str, Any] = {
        "landing": None,
        "runway_condition": surface(None),
        "unknown": ("runway condition",),
    }
    assert chosen(on("09", headwind_kt=-9.0, **blind), on("27", headwind_kt=9.0, **blind)) == "27"


def test_a_breach_weighs_more_than_any_headwind_and_the_lighter_breach_is_taken() -> None:
    broken = replace(
        on("27", headwind_kt=20.0), runway=replace(RUNWAY, ident="27", strength_kg=1.0)
    )
    assert chosen(broken, on("09", headwind_kt=-5.0)) == "09"
    shut = replace(on("09", headwind_kt=20.0), runway=replace(RUNWAY, ident="09", closed=True))
    assert chosen(shut, broken) == "27"
    assert Breach.RUNWAY_LIMIT > Breach.CANNOT_STOP


def test_fewer_breaches_of_one_weight_are_better() -> None:
    two = replace(on("27", headwind_kt=20.0), mass_kg=67_000.0)  # landing mass, and the pavement
    two = replace(two, runway=replace(RUNWAY, ident="27", strength_kg=60_000.0))
    one = replace(on("09"), runway=replace(RUNWAY, ident="09", strength_kg=59_000.0))
    assert chosen(two, one) == "09"


def test_what_is_only_advised_against_is_no_breach_but_counts_before_the_wind() -> None:
    """Rescue category is guidance: a place has one, so it is compared between two places."""
    planning = situation(**{"/policy/alternate_bar": "planning"})

    def at(ident: str, category: int, headwind_kt: float) -> Attempt:
        leg = attempt().leg
        place: Aerodrome = replace(leg.aerodrome, rescue_category=category)
        return on(
            ident,
            headwind_kt=headwind_kt,
            role=Role.ALTERNATE,
            leg=replace(leg, aerodrome=place),
        )

    poor, good = at("27", 1, 15.0), at("09", 9, -5.0)
    assert chosen(poor, good, here=planning) == "09"
    broken = replace(good, runway=replace(RUNWAY, ident="09", strength_kg=1.0))
    assert chosen(poor, broken, here=planning) == "27"


def test_a_whole_decision_lands_into_the_wind() -> None:
    """Both runways of the second alternate are as long; the wind blows from 240 degrees."""
    there = courses()["divert_now:XBRE"].attempts[-1]
    assert there.wind is not None
    assert there.wind.headwind_kt > 0.0
