"""Moments of the kind that accident reports tell of, with invented aircraft, places and figures.

Each states what a captain would want of the answer then; the kind of event is all that is taken
from any account.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from tests.outside.claims import Rows, each_claim, told, wanted_of
from tests.outside.world import (
    EAST,
    FAIR,
    LOW,
    RULEBOOKS,
    STORM,
    WIDE,
    Answer,
    body_of,
    breaches,
    case,
    chosen,
    courses,
    decide,
    minutes_to,
    place,
    weather,
    with_,
)

NEAR_HOME = place("XDES", 12)
GO_CLASS = ("GO", "GO_WITH_CAUTION")
FINE_FAR = place("XEAS", 110, 125, elevation_ft=400, at=(45.6, -33.2))

MOMENTS: Rows = {
    # tanks run dry while a gear lamp is worked on: the runway ahead is fair and near
    "gear-lamp-and-little-fuel": (
        case(
            "gear-unsafe-indication",
            home=NEAR_HOME,
            level_ft=3000,
            fuel_kg=1500,
            aircraft={"gear": "unsafe", "mass_kg": 56000},
            plan={"checklist_min": 40},
        ),
        {
            "at": "XDES",
            "not_do": "HOLD",
            "fuel_state": ("MINIMUM_FUEL", "MAYDAY_FUEL"),
            # lists are worked on the way; nobody is told to fly on until the tanks are empty
            "no_headline": "empty tanks",
        },
    ),
    # smoke, and a long runway straight below while the flight goes on to its base
    "smoke-over-a-long-runway": (
        case(
            "smoke",
            home=place("XDES", 120),
            others=(place("XBEL", 100, 22, at=(47.3, -36.3)),),
            level_ft=15000,
        ),
        {
            "basis": "TIME_CRITICAL",
            "do": "DIVERT",
            "at": "XBEL",
            "level": "DISTRESS",
            "no_hold": True,
            "headline_minutes": ("XBEL", "XDES"),
        },
    ),
    # cargo fire at night, nearest place just below minima, the next far better but much later
    "cargo-fire-with-the-nearest-just-below-minima": (
        case(
            "cargo-fire",
            home=place("XDES", 220),
            others=(place("XBEL", 200, 35, at=(47.5, -36.4)),),
            level_ft=25000,
            aircraft=WIDE,
            fuel_kg=16000,
            reports=weather(
                ("XDES", FAIR, FAIR),
                ("XBEL", "00000KT 0500 R27/0450N R09/0450N FG VV001", "00000KT 0500 FG VV001"),
            ),
        ),
        {
            "basis": "TIME_CRITICAL",
            "level": "DISTRESS",
            "no_hold": True,
            "by_additions": {"XDES": 0.0, "XBEL": 15.0},
            "headline_minutes": ("XDES", "XBEL"),
        },
    ),
    # a hold of 40 minutes is assigned to a flight that has fuel for 25
    "assigned-hold-beyond-the-fuel": (
        case(fuel_kg=2600, plan={"hold_min": 40}),
        {"remedy": "hold", "not_verdict": "GO"},
    ),
    # weather cells over the threshold, gusts, a wet runway
    "storm-over-the-threshold": (
        case(here="27018G34KT 4000 +TSRA SCT015CB", home=place("XDES", 40, code=5)),
        {"not_verdict": "GO", "first_caution": "thunderstorm", "level": ("NONE", "URGENCY")},
    ),
    "microburst-warned-of-on-the-runway-in-use": (
        case(
            home=place("XDES", 9),
            level_ft=3000,
            reports=[
                "METAR XDES 140600Z 27018G34KT 6000 TSRA SCT015CB 24/20 Q1008 WS ALL RWY",
                "TAF XDES 140500Z 1406/1506 27010KT 9999 SCT030",
                *weather(("XEAS", FAIR, FAIR), ("XNOR", FAIR, FAIR)),
            ],
        ),
        {"verdict": "NO_GO", "do": ("DIVERT", "HOLD"), "words": "shear"},
    ),
    "squall-line-with-a-named-end": (
        case(
            here=("27012KT 5000 TSGR SCT020CB", "27012KT 9999 SCT030 TEMPO 1406/1407 TSGR SCT020CB")
        ),
        {"not_verdict": "GO", "first_caution": "hail"},
    ),
    # braking poor, runway short, flaps that do not come out
    "contaminated-short-runway-without-flaps": (
        case(
            {"id": "flaps-jammed", "detent": "0"},
            home=place("XDES", 40, lda_m=1900, code=2),
            here="27010KT 3000 -SN OVC010",
        ),
        {"verdict": "NO_GO", "not_at": "XDES", "do": "DIVERT", "basis": "NOT_FIT_HERE"},
    ),
    "contaminated-runway-too-short-everywhere": (
        case(
            {"id": "flaps-jammed", "detent": "0"},
            home=place("XDES", 40, lda_m=1900, code=1),
            others=(place("XEAS", 110, 125, lda_m=2900, code=2),),
        ),
        {"verdict": "NO_GO", "at": "XEAS", "level": ("URGENCY", "DISTRESS")},
    ),
    # fuel goes faster than it should and nobody calls it a leak
    "more-fuel-is-used-than-the-model-says": (
        case(fuel_kg=4000, here=LOW, fuel={"observed_flow_kg_per_h": 3800}),
        {"not_verdict": "GO", "caution_words": "leak"},
    ),
    # one engine out at cruise level, terrain above its ceiling on one way
    "drift-down-over-terrain": (
        case(
            "engine-1",
            home=place("XDES", 150),
            others=(
                place("XHIL", 110, 90, minimum_level_ft=24000, at=(46.2, -37.5)),
                place("XEAS", 110, 125, at=(45.6, -33.2)),
            ),
            level_ft=35000,
        ),
        {"not_at": "XHIL", "level": "URGENCY", "not_basis": "NO_LEGAL_COURSE"},
    ),
    # pressure lost at cruise level, bottles that last for the descent alone, hills on the way
    "no-pressure-no-oxygen-over-terrain": (
        case(
            "pressurisation",
            home=place("XDES", 150),
            others=(
                place("XHIL", 110, 90, minimum_level_ft=13500, at=(46.2, -37.5)),
                place("XEAS", 110, 125, at=(45.6, -33.2)),
            ),
            level_ft=35000,
            aircraft={"oxygen_min": 6},
        ),
        {"not_at": "XHIL", "not_basis": "NO_LEGAL_COURSE", "level": "URGENCY"},
    ),
    # gear stuck down, and the next place looks near enough on the clean figures
    "gear-down-to-a-place-out-of-reach": (
        case(
            "gear-retraction",
            fuel_kg=3300,
            aircraft={"gear": "down"},
            others=(place("XEAS", 210, 215, at=(45.6, -31.0)),),
            here=LOW,
        ),
        {"at": "XDES", "not_do": "DIVERT", "level": "URGENCY"},
    ),
    "widebody-gear-down-to-a-place-out-of-reach": (
        case(
            "gear-retraction",
            fuel_kg=8500,
            aircraft={**WIDE, "gear": "down"},
            others=(place("XEAS", 240, 250, at=(45.6, -30.5)),),
            here=LOW,
        ),
        {"at": "XDES", "not_do": "DIVERT"},
    ),
    # flaps will not come in again
    "flaps-fully-out-and-a-long-way": (
        case(
            {"id": "flaps-jammed", "detent": "34"},
            aircraft={"flap": "34"},
            fuel_kg=3000,
            level_ft=5000,
            home=place("XDES", 15),
            others=(place("XEAS", 160, 165, at=(45.6, -32.0)),),
            here=LOW,
        ),
        {"at": "XDES", "not_do": "DIVERT", "ways_out": 0},
    ),
    "no-engine-gives-thrust": (
        case("engine-1", "engine-2", home=place("XDES", 20), level_ft=15000),
        {"basis": "TIME_CRITICAL", "level": "DISTRESS", "no_hold": True, "at": "XDES"},
    ),
    "no-engine-gives-thrust-and-no-runway-is-in-gliding-range": (
        case("engine-1", "engine-2", home=place("XDES", 60), others=(), level_ft=9000),
        {
            "basis": "TIME_CRITICAL",
            "level": "DISTRESS",
            "no_hold": True,
            "at": "XDES",
            "not_do": "DIVERT",
        },
    ),
    # fog here with fuel, a good aerodrome with 24 minutes of fuel on landing
    "little-fuel-at-a-good-place-beats-fog": (
        case(
            fuel_kg=1830,
            aircraft={"mass_kg": 56000},
            here="00000KT 0300 R09/0250N R27/0250N FG VV001",
            others=(FINE_FAR,),
        ),
        {"do": "DIVERT", "at": "XEAS", "verdict": "NO_GO"},
    ),
    "every-place-below-reserve": (
        case(fuel_kg=1000, aircraft={"mass_kg": 56000}),
        {
            "fuel_state": "MAYDAY_FUEL",
            "level": "DISTRESS",
            "at": "XDES",
            "to_control": "mayday fuel",
            "headline": "breaks",
        },
    ),
    "gale-across-the-only-runway": (
        case(here="36035G50KT 9999 SCT030"),
        {"verdict": "NO_GO", "do": "DIVERT", "basis": "NOT_FIT_HERE", "level": "NONE"},
    ),
    "tailwind-beyond-the-limit-on-the-only-approach": (
        case(home=place("XDES", 40, ends=("09",)), here="27016KT 9999 SCT030"),
        {"verdict": "NO_GO", "do": "DIVERT", "basis": "NOT_FIT_HERE", "level": "NONE"},
    ),
}


@cache
def answer_to(name: str) -> Answer:
    return decide(MOMENTS[name][0])


@each_claim(wanted_of(MOMENTS))
def test_the_moment_is_answered_as_a_captain_would_want(name: str, key: str, wanted: Any) -> None:
    difference = told(answer_to(name), key, wanted)
    assert difference is None, difference


@pytest.mark.parametrize("rulebook", RULEBOOKS)
@pytest.mark.parametrize("rvr_m", [150, 350, 500])
def test_nobody_is_sent_below_minima_while_a_legal_place_is_in_reach(
    rulebook: str, rvr_m: int
) -> None:
    fog = f"00000KT 0300 R09/{rvr_m:04d}N R27/{rvr_m:04d}N FG VV001"
    answer = decide(case("reverser-1", here=fog, rulebook=rulebook))
    assert answer["action"]["do"] == "DIVERT"
    assert answer["action"]["aerodrome"] != "XDES"
    assert not breaches(chosen(answer))


@pytest.mark.parametrize("more", [5, 20, 40])
def test_minutes_at_a_checklist_bring_neither_fuel_nor_an_earlier_touchdown(more: int) -> None:
    body = MOMENTS["gear-lamp-and-little-fuel"][0]
    none, some = (
        courses(decide(with_(body, plan__checklist_min=minutes)), "commit_to_land")[0]
        for minutes in (0, more)
    )
    assert some["fuel"]["landing_kg"] <= none["fuel"]["landing_kg"]
    assert some["minutes_to_touchdown"] >= none["minutes_to_touchdown"]


def test_gear_down_to_the_far_place_burns_at_least_half_as_much_again_as_clean() -> None:
    """Public orders of magnitude of gear-down fuel: 1.6 to 2.8 times clean for the way (trade press
    and safety reports, second hand)."""
    stuck = MOMENTS["gear-down-to-a-place-out-of-reach"][0]
    sound = with_(stuck, failures=[], aircraft__gear="up")
    flights = [
        courses(decide(body), "divert_now")[0]["fuel"]["flight_kg"] for body in (stuck, sound)
    ]
    assert 1.5 <= flights[0] / flights[1] <= 2.8


def test_flaps_fully_out_burn_at_least_half_as_much_again_as_clean() -> None:
    """Second hand: flaps fully out at FL150 up to 3.2 times clean; slats and flaps 1.6 to 2.0."""
    stuck = MOMENTS["flaps-fully-out-and-a-long-way"][0]
    sound = with_(stuck, failures=[], aircraft__flap="0")
    flights = [
        courses(decide(body), "divert_now")[0]["fuel"]["flight_kg"] for body in (stuck, sound)
    ]
    assert 1.5 <= flights[0] / flights[1] <= 3.2


def test_observed_flow_above_the_model_lowers_every_landing_fuel() -> None:
    body = MOMENTS["more-fuel-is-used-than-the-model-says"][0]
    plain = with_(body, fuel={"on_board_kg": 4000})
    pairs = [
        {each["course"]: each["fuel"]["landing_kg"] for each in decide(one)["courses"]}
        for one in (body, plain)
    ]
    same = set(pairs[0]) & set(pairs[1])
    assert len(same) >= 4
    assert all(pairs[0][name] < pairs[1][name] for name in same)


@pytest.mark.parametrize("profile", ["xtj150", "xtwide"])
def test_a_storm_at_the_destination_does_not_hide_behind_a_fair_alternate(profile: str) -> None:
    state = {**WIDE} if profile == "xtwide" else {}
    answer = decide(
        case(here=STORM, others=(EAST,), aircraft=state, fuel_kg=16000 if state else 6000)
    )
    assert answer["verdict"] != "GO"
    assert "thunderstorm" in answer["cautions"][0]["text"].lower()


def test_with_smoke_the_touchdown_below_does_not_wait_for_a_far_one() -> None:
    answer = decide(MOMENTS["smoke-over-a-long-runway"][0])
    assert minutes_to(answer, "XBEL") < minutes_to(answer, "XDES")
    assert chosen(answer)["minutes_to_touchdown"] == minutes_to(answer, "XBEL")


def test_the_little_fuel_case_is_what_it_says() -> None:
    """The body itself: 10 to 30 minutes of fuel on landing at the good place, under the reserve."""
    answer = decide(MOMENTS["little-fuel-at-a-good-place-beats-fog"][0])
    fuel = courses(answer, "divert_now", "XEAS")[0]["fuel"]
    assert 10.0 < fuel["landing_min"] < 30.0
    assert fuel["landing_kg"] < fuel["final_reserve_kg"]


def test_the_stored_bodies_are_not_changed_by_deciding() -> None:
    body = body_of("smoke-no-dispatch-message")
    before = body_of("smoke-no-dispatch-message")
    decide(body)
    assert body == before
