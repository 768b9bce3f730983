"""Every function of the minima: below, at and above its limit, unknown, not applicable.

The rules stand on these functions, so they are held to the same five cases. What a function cannot
have stands in `CANNOT` with the reason, a closed list: a new function without its cases fails here.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any, NamedTuple

import pytest

from decision.attempt import minima as room
from decision.attempt.category import AeroplaneCategory, category_of, circling_minimum
from decision.attempt.daylight import is_night, solar_elevation_deg
from decision.attempt.minima import (
    LandingBasis,
    OperatingMinima,
    Scheme,
    Seen,
    is_precision_runway,
    minima_at,
    operating_minima,
    planning_met,
    planning_minima,
    reported_to_required,
    required_landing_distance_m,
    same_strip,
    worst_seen,
)
from decision.attempt.runway_wind import credited_headwind_kt
from decision.case.types import Approach, ApproachKind
from decision.errors import OutOfRange
from decision.quantities import Position
from decision.rulebooks.rulebook import load_rulebook
from tests.attempt.minima_builders import (
    aerodrome,
    approach,
    ceiling,
    minima,
    non_precision,
    rvr,
    visibility,
)

B, C = AeroplaneCategory.B, AeroplaneCategory.C
EASA = load_rulebook("easa")
EQUATOR = Position(latitude_deg=0.0, longitude_deg=0.0)
# Civil twilight of that evening at that place begins its night between these two instants
# [USNO-SUN]; the instant at which the sun stands exactly at 6 degrees is found between them.
EVENING = datetime(2026, 3, 20, 18, 0, tzinfo=UTC)
_SECOND = timedelta(seconds=1)
ICAO = load_rulebook("icao")


def nightfall() -> datetime:
    """The first whole second of night, by halving."""
    low, high = 0, 3600
    while high - low > 1:
        middle = (low + high) // 2
        night = is_night(EQUATOR, EVENING + timedelta(seconds=middle), ICAO)
        low, high = (low, middle) if night else (middle, high)
    return EVENING + timedelta(seconds=high)


def seen(metres: float | None, *, planning: bool = False) -> Seen:
    """An RVR against a minimum of 550 m."""
    return reported_to_required(
        approach(),
        minima(approach()),
        rvr=rvr(metres),
        visibility=visibility(None),
        is_night=False,
        rulebook=EASA,
        planning=planning,
    )


def worst_of(*metres: float | None) -> object:
    """What decides of several ranges against 550 m."""
    worst = worst_seen(seen(each) for each in metres)
    return "none" if worst is None else worst.value_m


def beside(other: Approach, **changes: Any) -> OperatingMinima:
    """Those of a Type A approach to runway 09 without published RVR, where there is another."""
    changes = {"id": "RNP 09", "kind": ApproachKind.TYPE_A_3D, "dh_ft": 250.0, **changes}
    subject = approach(**changes, needs=("GNSS",), rvr_m=None)
    return minima_at(
        aerodrome(subject, other),
        subject,
        rulebook=EASA,
        category=C,
        is_night=False,
        lost_equipment=frozenset(),
        approvals=frozenset(),
    )


def options(*, of: str = "ILS", scheme: Scheme | None = None, usable: bool = True) -> object:
    """Ceiling of the planning minima of an aerodrome with one approach, or whether there is one."""
    place = aerodrome(approach() if of == "ILS" else non_precision(mdh_ft=None))
    found = planning_minima(
        place,
        rulebook=EASA,
        category=C,
        is_night=False,
        lost_equipment=frozenset(),
        approvals=frozenset(),
        usable_runways=frozenset({"09"}) if usable else frozenset(),
        scheme=scheme,
    )
    return found.ceiling_ft if found.options else found.available


def met(ceiling_ft: float | None, visibility_m: float | None) -> bool | None:
    """Whether 400 ft and 1350 m are met."""
    options = planning_minima(
        aerodrome(approach()),
        rulebook=EASA,
        category=C,
        is_night=False,
        lost_equipment=frozenset(),
        approvals=frozenset(),
    )
    return planning_met(
        options, ceiling=ceiling(ceiling_ft), visibility=visibility(visibility_m)
    ).met


class Claim(NamedTuple):
    """One case of one function: what is asked and what must come back."""

    of: Callable[..., object]
    position: str
    ask: Callable[[], object]
    answer: object


CLAIMS = [
    Claim(category_of, "below", lambda: category_of(120.99), B),
    Claim(category_of, "at", lambda: category_of(121.0), C),
    Claim(category_of, "above", lambda: category_of(121.01), C),
    Claim(category_of, "not applicable", lambda: category_of(211.0), OutOfRange),
    Claim(circling_minimum, "at", lambda: _mdh_ft(C), 600.0),
    Claim(circling_minimum, "unknown", lambda: circling_minimum(AeroplaneCategory.E), None),
    Claim(credited_headwind_kt, "below", lambda: _credited_kt(-10.0), -15.0),
    Claim(credited_headwind_kt, "at", lambda: _credited_kt(0.0), 0.0),
    Claim(credited_headwind_kt, "above", lambda: _credited_kt(10.0), 5.0),
    Claim(is_night, "below", lambda: is_night(EQUATOR, nightfall(), ICAO), True),
    Claim(is_night, "above", lambda: is_night(EQUATOR, nightfall() - _SECOND, ICAO), False),
    Claim(is_night, "unknown", lambda: is_night(None, EVENING, ICAO), None),
    Claim(
        is_precision_runway, "at", lambda: is_precision_runway(aerodrome(approach()), "09"), True
    ),
    Claim(
        is_precision_runway,
        "below",
        lambda: is_precision_runway(aerodrome(non_precision()), "09"),
        False,
    ),
    Claim(
        is_precision_runway,
        "not applicable",
        lambda: is_precision_runway(aerodrome(approach()), "27"),
        False,
    ),
    Claim(minima_at, "below", lambda: beside(non_precision()).rvr_m, 750.0),
    Claim(minima_at, "at", lambda: beside(approach()).rvr_m, 550.0),
    Claim(minima_at, "unknown", lambda: beside(approach(), dh_ft=None).usable, None),
    Claim(minima_at, "not applicable", lambda: beside(approach(runway="27")).rvr_m, 750.0),
    Claim(operating_minima, "below", lambda: minima(approach(dh_ft=199.0)).usable, False),
    Claim(operating_minima, "at", lambda: minima(approach(dh_ft=200.0)).usable, True),
    Claim(operating_minima, "above", lambda: minima(approach(dh_ft=201.0)).usable, True),
    Claim(operating_minima, "unknown", lambda: minima(approach(dh_ft=None)).usable, None),
    Claim(operating_minima, "not applicable", lambda: minima(approach(), lost=("NDB",)).barred, ()),
    Claim(planning_met, "below", lambda: met(399.0, 1350.0), False),
    Claim(planning_met, "at", lambda: met(400.0, 1350.0), True),
    Claim(planning_met, "above", lambda: met(401.0, 1351.0), True),
    Claim(planning_met, "unknown", lambda: met(None, 1350.0), None),
    Claim(planning_minima, "at", options, 400.0),
    Claim(planning_minima, "unknown", lambda: options(of="unpublished"), None),
    Claim(planning_minima, "not applicable", lambda: options(usable=False), False),
    Claim(reported_to_required, "below", lambda: seen(549.0).reached, False),
    Claim(reported_to_required, "at", lambda: seen(550.0).reached, True),
    Claim(reported_to_required, "above", lambda: seen(551.0).reached, True),
    Claim(reported_to_required, "unknown", lambda: seen(None).reached, None),
    Claim(reported_to_required, "not applicable", lambda: seen(None).quantity, "nothing"),
    Claim(required_landing_distance_m, "below", lambda: _fits(2069.0), False),
    Claim(required_landing_distance_m, "at", lambda: _fits(2070.0), True),
    Claim(required_landing_distance_m, "above", lambda: _fits(2071.0), True),
    Claim(same_strip, "at", lambda: same_strip("09", "27"), True),
    Claim(same_strip, "below", lambda: same_strip("09L", "27L"), False),
    Claim(same_strip, "above", lambda: same_strip("09", "28"), False),
    Claim(worst_seen, "below", lambda: worst_of(551.0, 549.0), 549.0),
    Claim(worst_seen, "at", lambda: worst_of(551.0, 550.0), 550.0),
    Claim(worst_seen, "above", lambda: worst_of(700.0, 600.0), 600.0),
    Claim(worst_seen, "unknown", lambda: worst_of(700.0, None), None),
    Claim(worst_seen, "not applicable", worst_of, "none"),
    Claim(solar_elevation_deg, "below", lambda: _high(nightfall()), False),
    Claim(solar_elevation_deg, "above", lambda: _high(nightfall() - _SECOND), True),
    Claim(
        solar_elevation_deg,
        "not applicable",
        lambda: _high(datetime(2201, 1, 1, tzinfo=UTC)),
        OutOfRange,
    ),
]
NEVER = "its arguments are always known"
ALWAYS = "it has an answer for every argument"
CANNOT = {
    ("category_of", "unknown"): "a speed is computed, never reported",
    ("circling_minimum", "below"): "it looks a category up and compares nothing",
    ("circling_minimum", "above"): "it looks a category up and compares nothing",
    ("circling_minimum", "not applicable"): "every category that is not in the table is unknown",
    ("credited_headwind_kt", "unknown"): NEVER,
    ("credited_headwind_kt", "not applicable"): ALWAYS,
    ("is_night", "at"): "the sun stands at exactly 6 degrees at no whole second",
    ("is_night", "not applicable"): "day or night is at every place",
    ("is_precision_runway", "above"): "there is nothing better than a Type B procedure",
    ("is_precision_runway", "unknown"): "what proves nothing is no precision approach runway here",
    ("minima_at", "above"): "there is nothing better than a Type B procedure",
    ("planning_met", "not applicable"): "minima that there are none of are not met",
    ("planning_minima", "below"): "it adds figures and compares nothing",
    ("planning_minima", "above"): "it adds figures and compares nothing",
    ("required_landing_distance_m", "unknown"): NEVER,
    ("required_landing_distance_m", "not applicable"): ALWAYS,
    ("same_strip", "unknown"): NEVER,
    ("same_strip", "not applicable"): ALWAYS,
    ("solar_elevation_deg", "at"): "the sun stands at exactly 6 degrees at no whole second",
    ("solar_elevation_deg", "unknown"): NEVER,
}
POSITIONS = {"below", "at", "above", "unknown", "not applicable"}
DRAWN = (  # with every attempt, for the minima to be looked up by
    category_of,
    circling_minimum,
    credited_headwind_kt,
    is_night,
    solar_elevation_deg,
)
FUNCTIONS = {name for name in room.__all__ if inspect.isfunction(getattr(room, name))} | {
    each.__name__ for each in DRAWN
}


def _mdh_ft(category: AeroplaneCategory) -> float | None:
    found = circling_minimum(category)
    return None if found is None else found.mdh_ft


def _credited_kt(headwind_kt: float) -> float:
    return credited_headwind_kt(headwind_kt, rulebook=EASA)


def _fits(lda_m: float) -> bool:
    """[EU-AO] CAT.OP.MPA.303: 1800 m need 2070 m."""
    needed = required_landing_distance_m(1800.0, basis=LandingBasis.ARRIVAL, rulebook=EASA)
    return lda_m >= round(needed.distance_m, 6)


def _high(at: datetime) -> bool:
    return solar_elevation_deg(EQUATOR, at) > -6.0


@pytest.mark.parametrize(
    "claim", [pytest.param(each, id=f"{each.of.__name__} {each.position}") for each in CLAIMS]
)
def test_the_minima_answer_each_of_their_cases(claim: Claim) -> None:
    if claim.answer is OutOfRange:
        with pytest.raises(OutOfRange):
            claim.ask()
    else:
        assert claim.ask() == claim.answer


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_every_function_of_the_minima_has_all_the_cases_it_can_have(name: str) -> None:
    tried = {claim.position for claim in CLAIMS if claim.of.__name__ == name}
    assert tried == {position for position in POSITIONS if (name, position) not in CANNOT}


def test_the_closed_list_names_only_functions_and_cases_that_there_are() -> None:
    assert {name for name, _ in CANNOT} <= FUNCTIONS
    assert {position for _, position in CANNOT} <= POSITIONS
