"""Every body of the review, and what was wanted of it; each claim is a test of its own."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from tests.outside.claims import each_claim, told
from tests.outside.world import BODIES, Answer, body_of, chosen, decide, minutes_to, worse_or_equal

GO_CLASS = frozenset({"GO", "GO_WITH_CAUTION"})

WANTED: dict[str, dict[str, Any]] = {
    "urgent-nearer-runway-smoke": {
        "verdict": "NO_GO",
        "basis": "TIME_CRITICAL",
        "do": "DIVERT",
        "at": "XALB",
        "runway": "27",
        "level": "DISTRESS",
        "fuel_state": "NORMAL",
        "no_hold": True,
        "headline_minutes": ("XALB", "XDES"),
        "chosen_within": (10.0, 22.0),  # a legal place can be reached by 06:31Z
        "nature": "smoke",
    },
    "smoke-far-alternate-flown-for-fuel": {
        "basis": "TIME_CRITICAL",
        "level": "DISTRESS",
        "no_hold": True,
        "minutes": {"XDES": (8.0, 15.0), "XALA": (20.0, 27.0)},  # about 10 here, 23-25 there
        "headline_minutes": ("XDES", "XALA"),
        "by_additions": {"XDES": 15.0, "XALA": 0.0, "XALB": 0.0},
        "nature": "smoke",
    },
    "smoke-no-dispatch-message": {
        "basis": "TIME_CRITICAL",
        "level": "DISTRESS",
        "at": "XDES",
        "do": "APPROACH",
        "verdict": "GO_WITH_CAUTION",
        "no_hold": True,
        "nature": "smoke",
        "to_control": ("mayday", "smoke", "XDES", "runway 27"),
    },
    "engine-fire-hot-high": {
        "basis": "TIME_CRITICAL",
        "at": "XDES",
        "do": ("APPROACH", "COMMIT"),
        "level": "DISTRESS",
        "no_hold": True,
        "no_remedy": ("hold", "burn"),
        "headline_minutes": ("XDES",),
        "nature": "fire",
    },
    "engine-out-at-cruise-level": {
        "flyable": True,
        "not_basis": "NO_LEGAL_COURSE",
        "fuel_state": "NORMAL",
        "level": "URGENCY",
        "no_words": ("cannot be flown", "cannot be held", "mayday"),
        # 150 NM at an engine-out speed over ground of 230 to 400 kt
        "minutes": {"XDES": (22.0, 45.0)},
    },
    "terrain-above-unpressurised-ceiling": {
        "verdict": "INSUFFICIENT_DATA",
        "basis": "MISSING",
        "ask": "oxygen",
        "not_do": "HOLD",
        "level": "URGENCY",
        "at": "XDES",
    },
    "terrain-with-oxygen": {
        "verdict": GO_CLASS,
        "ways_out": 2,
        "open_way": ("XTOR", "XBRE"),
        "at": "XKAL",
    },
    "hold-without-improvement": {
        "verdict": "NO_GO",
        "do": "DIVERT",
        "basis": "APPROACH_BARRED",
        "level": "NONE",
        "no_headline": "hold",
    },
    "leak-holds-instead-of-leaving": {
        "verdict": "NO_GO",
        "do": "DIVERT",
        "at": "XALB",
        "basis": ("APPROACH_BARRED", "NEAREST_SUITABLE"),
        "level": "URGENCY",
        "fuel_state": "NORMAL",
        "nature": "leak",
    },
    "leak-rate-unknown": {
        "verdict": "INSUFFICIENT_DATA",
        "basis": "MISSING",
        "ask": "leak",
        "at": "XDES",
        "not_do": "HOLD",
        "no_hold": True,
        "at_most": True,
        "level": "URGENCY",
    },
    "ban-from-forecast": {
        "verdict": "GO_WITH_CAUTION",
        "basis": "ESCAPE_THIN",
        "do": "APPROACH",
        "at": "XKAL",
        "codes": {"MAY_BE_BARRED"},
        "caution_words": "TEMPO 1406/1410 0200 FG VV001",
        "no_finding": ("Approach ban", "XKAL"),
        "level": "NONE",
    },
    "gate-height-without-qnh": {
        "not_verdict": GO_CLASS,
        "not_do": "APPROACH",
        "level": "NONE",
    },
    "reports-differ-same-minute": {
        "verdict": "NO_GO",
        "basis": "APPROACH_BARRED",
        "do": "DIVERT",
        "codes": {"REPORTS_DIFFER"},
        "weights": {"REPORTS_DIFFER": "warning"},
        "caution_words": (
            "METAR XKAL 140600Z 26011KT 1800 BR BKN004",
            "METAR XKAL 140600Z 26005KT 0100 FG VV000",
        ),
    },
    "forecast-removed-before": {
        "not_verdict": "GO",
        "codes": {"MAY_BE_BARRED"},
        "caution_words": "0400 FG VV001",
    },
    "forecast-removed-after": {
        "not_verdict": "GO",
        "codes": {"NO_FORECAST"},
        "weights": {"NO_FORECAST": "warning"},
        "caution_words": "XQAA",
    },
    "funnel-cloud-plain-go": {
        "verdict": "NO_GO",
        "do": "DIVERT",
        "basis": "NOT_FIT_HERE",
        "not_at": "XDES",
        "first_caution": "funnel cloud",
        "headline": "funnel cloud",
        "level": "NONE",
    },
    "thunderstorm-plain-go": {
        "verdict": "GO_WITH_CAUTION",
        "do": "APPROACH",
        "at": "XDES",
        "first_caution": "thunderstorm",
    },
    "gust-spread": {
        "not_verdict": "GO",
        "first_caution": "gust",
        "caution_words": "27035G58KT",
    },
    "sound-aircraft-no-alternate": {
        "verdict": "NO_GO",
        "basis": ("NO_ALTERNATE", "COMMIT_PERMITTED", "WAIT", "NO_LEGAL_COURSE"),
        "level": "NONE",
        "fuel_state": "NORMAL",
        "at": "XKAL",
        "chosen_kind": "commit_to_land",
        "not_to_control": ("mayday", "pan pan"),
        "headline": "breaks only",
    },
    "island-sound-aircraft": {
        "basis": ("NO_ALTERNATE", "COMMIT_PERMITTED", "WAIT", "NO_LEGAL_COURSE"),
        "level": "NONE",
        "fuel_state": "NORMAL",
        "at": "XDES",
        "chosen_kind": "commit_to_land",
        "not_to_control": ("mayday", "pan pan"),
    },
    "both-alternates-in-fog": {
        "verdict": "NO_GO",
        "basis": "NO_LEGAL_COURSE",
        "at": "XKAL",
        "do": "COMMIT",
        "level": "URGENCY",
        "fuel_state": "NORMAL",
        "headline": "breaks only",
        "breaks_only": {"COMMIT_CONDITIONS"},
        "not_to_control": "mayday",
    },
    "over-landing-mass-only": {
        "verdict": "NO_GO",
        "level": "NONE",
        "fuel_state": "NORMAL",
        "breaks_only": {"LANDING_MASS"},
        "remedy": "burn",
        "not_to_control": ("mayday", "pan pan"),
    },
    "planning-bar-only": {
        "level": "NONE",
        "fuel_state": "NORMAL",
        "breaks_only": {"PLANNING_BAR"},
        "not_to_control": ("mayday", "pan pan"),
    },
    "minimum-fuel-is-no-emergency": {
        "fuel_state": "MINIMUM_FUEL",
        "level": "NONE",
        "to_control": "minimum fuel",
        "not_to_control": ("mayday", "pan pan"),
        "at": "XDES",
        "chosen_kind": "commit_to_land",
    },
    "tailwind-runway-when-stopping-unknown": {
        "at": "XDES",
        "runway": "27",
        "basis": "TIME_CRITICAL",
        "level": "DISTRESS",
    },
    "category-light": {"verdict": "NO_GO", "words": "2400 m"},
    "category-heavy": {"verdict": "NO_GO", "words": "2400 m"},
    "stops-but-factor-missed": {
        "verdict": "NO_GO",
        "at": "XSUN",
        "do": "COMMIT",
        "runway": "11",
        "level": "URGENCY",
        "ahead": ("commit_to_land:XSUN", "divert_now:XKAL"),
        "not_to_control": "mayday",
    },
    "guidance-gradient-makes-no-go": {
        "verdict": GO_CLASS,
        "at": "XMON",
        "do": "APPROACH",
        "level": "URGENCY",
        "chosen_within": (0.0, 64.5),
        "own": lambda answer: (
            None if minutes_to(answer, "XMON") < 20 else "a landing here is not near"
        ),
    },
    "row-value-not-read-gust": {
        # 200 degrees of runway and 23020G45KT: the mean is within 35 kt on either end; what the
        # row says of gusts (a caution, unless the limits of this aircraft include them) decides
        "level": "NONE",
        "caution_words": "23020G45KT",
        "own": lambda answer: (
            None
            if "gust" in " ".join(each["text"] for each in answer["reasons"]).lower()
            or chosen(answer)["legal"]
            else "the gust decides without a word"
        ),
    },
}


@cache
def answer_to(name: str) -> Answer:
    return decide(body_of(name))


def test_every_stored_body_has_its_claims() -> None:
    assert {path.stem for path in BODIES.glob("*.json")} == set(WANTED)


@each_claim(WANTED)
def test_the_answer_is_as_wanted(name: str, key: str, wanted: Any) -> None:
    difference = told(answer_to(name), key, wanted)
    assert difference is None, difference


def test_taking_the_fog_forecast_away_is_no_improvement() -> None:
    after = answer_to("forecast-removed-after")
    assert worse_or_equal(after, answer_to("forecast-removed-before"))


def test_the_lighter_aircraft_has_the_category_of_the_heavier_one() -> None:
    seen = [
        {
            attempt["category"]
            for course in answer_to(name)["courses"]
            for attempt in course["attempts"]
            if attempt["aerodrome"] == "XDES"
        }
        for name in ("category-light", "category-heavy")
    ]
    assert seen[0] == seen[1] != set()
    assert not seen[0] & {"A", "B"}


def test_with_an_engine_out_at_cruise_level_the_nearer_place_decides_by_its_minutes() -> None:
    answer = answer_to("engine-out-at-cruise-level")
    here = minutes_to(answer, "XDES")
    first = min(minutes_to(answer, "XALA"), minutes_to(answer, "XALB"))
    assert (answer["action"]["do"] == "DIVERT") == (here - first > 5.0), (here, first)


def test_first_of_the_steps_from_cruise_level_with_an_engine_out_is_a_descent() -> None:
    steps = chosen(answer_to("engine-out-at-cruise-level"))["steps"]
    levels = [each["pressure_altitude_ft"] for each in steps if each["pressure_altitude_ft"]]
    assert max(levels) <= 35000
    assert any("descent" in each["name"] or "drift" in each["name"] for each in steps[:2]), steps


@pytest.mark.parametrize(
    ("rulebook", "terrain_ft"),
    [
        ("icao", 12500),
        ("faa-121", 12500),
        ("easa", 13500),
        ("icao", 14500),
        ("easa", 14500),
        ("faa-121", 14500),
    ],
)
def test_oxygen_decides_over_terrain_above_the_unpressurised_ceiling(
    rulebook: str, terrain_ft: int
) -> None:
    """120 minutes suffice, none do not, and what is not stated is not known."""
    body = body_of("terrain-with-oxygen")
    legs = [
        {**each, "minimum_level_ft": terrain_ft} if each["icao"] == "XTOR" else each
        for each in body["alternates"]
    ]
    legal = {}
    for minutes in (120, 0, None):
        state = {**body["aircraft"], "oxygen_min": minutes}
        if minutes is None:
            del state["oxygen_min"]
        answer = decide({**body, "aircraft": state, "alternates": legs, "rulebook": rulebook})
        (course,) = (
            each for each in answer["courses"] if each["course"] == "approach_then_divert:XTOR"
        )
        legal[minutes] = course["legal"]
    assert legal == {120: True, 0: False, None: None}
