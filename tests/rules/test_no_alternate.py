"""Coming without an alternate: each rulebook's own provision, and who it is for."""

from __future__ import annotations

from typing import Any

import pytest

from decision.rulebooks.rulebook import load_rulebook
from decision.rules.finding import Judgement, Outcome
from decision.rules.no_alternate import came_without, provision
from tests.changing import replace
from tests.rules.builders import attempt, ceiling, context, drawn, ledger, seen, visibility

FLOW_KG_PER_H = 2400.0
BOOKS = ("icao", "easa", "faa-121")
SOUND: dict[str, Any] = {"/failures": [], "/alternates": []}
POOR = seen(ceiling=ceiling(900.0), visibility=visibility(3000.0))


def judged(
    rulebook: str,
    weather: Any = None,
    *,
    landing_kg: float | None = 2000.0,
    here: Any = None,
    separate: bool | None = True,
) -> Judgement:
    at, asked = here or attempt(), context(rulebook)
    place = replace(at.leg.aerodrome, separate_runways=separate)
    at = replace(at, leg=replace(at.leg, aerodrome=place))
    return provision(
        drawn(at, asked),
        weather or seen(),
        None if landing_kg is None else ledger(landing_kg),
        asked,
        flow_kg_per_h=FLOW_KG_PER_H,
    )


def number(rulebook: str, row: str) -> float:
    return load_rulebook(rulebook).number(row)


def ceiling_limit_ft(rulebook: str) -> float:
    """The greater of the fixed figure and the one over the minimum height, where there are two."""
    book, limits = load_rulebook(rulebook), []
    fixed = book.number_or_none("no_alternate_ceiling_ft")
    above = book.number_or_none("no_alternate_ceiling_above_circling_ft")
    height_ft = drawn(attempt(), context(rulebook)).minimum_height_ft
    assert height_ft is not None
    if fixed is not None:
        limits.append(fixed)
    if above is not None:
        limits.append(height_ft + above)
    return max(limits)


@pytest.mark.parametrize("rulebook", BOOKS)
def test_the_ceiling_decides_at_the_figure_of_the_rulebook(rulebook: str) -> None:
    limit_ft = ceiling_limit_ft(rulebook)
    assert limit_ft >= 1500.0
    at = judged(rulebook, seen(ceiling=ceiling(limit_ft)), landing_kg=None)
    under = judged(rulebook, seen(ceiling=ceiling(limit_ft - 1.0)), landing_kg=None)
    assert (at.outcome, under.outcome) == (Outcome.PASS, Outcome.FAIL)


@pytest.mark.parametrize("rulebook", BOOKS)
def test_the_visibility_decides_at_the_figure_of_the_rulebook(rulebook: str) -> None:
    limit_m = number(rulebook, "no_alternate_visibility_m")
    at = judged(rulebook, seen(visibility=visibility(limit_m)), landing_kg=None)
    under = judged(rulebook, seen(visibility=visibility(limit_m - 1.0)), landing_kg=None)
    assert (at.outcome, under.outcome) == (Outcome.PASS, Outcome.FAIL)


@pytest.mark.parametrize("rulebook", BOOKS)
def test_what_is_not_known_of_the_weather_is_unknown(rulebook: str) -> None:
    no_ceiling = seen(ceiling=ceiling(None, doubtful=True))
    unseen = seen(visibility=visibility(None))
    for weather in (no_ceiling, unseen):
        assert judged(rulebook, weather, landing_kg=None).outcome is Outcome.UNKNOWN


@pytest.mark.parametrize("rulebook", BOOKS)
@pytest.mark.parametrize(
    ("separate", "outcome"),
    [(True, Outcome.PASS), (False, Outcome.FAIL), (None, Outcome.UNKNOWN)],
)
def test_separate_runways_are_asked_for_where_the_rulebook_does(
    rulebook: str, separate: bool | None, outcome: Outcome
) -> None:
    asked = load_rulebook(rulebook).flag("no_alternate_separate_runways")
    found = judged(rulebook, separate=separate, landing_kg=None).outcome
    assert found is (outcome if asked else Outcome.PASS)


def test_only_the_united_states_ask_for_no_second_runway() -> None:
    asked = {book: load_rulebook(book).flag("no_alternate_separate_runways") for book in BOOKS}
    assert asked == {"icao": True, "easa": True, "faa-121": False}


@pytest.mark.parametrize("rulebook", BOOKS)
def test_without_a_minimum_height_only_a_fixed_ceiling_can_be_judged(rulebook: str) -> None:
    fixed = load_rulebook(rulebook).number_or_none("no_alternate_ceiling_ft")
    bare = attempt(approach=None)
    found = judged(rulebook, seen(ceiling=ceiling(9000.0)), here=bare, landing_kg=None)
    assert found.outcome is (Outcome.UNKNOWN if fixed is None else Outcome.PASS)


def test_a_rulebook_that_goes_by_minimum_height_alone_knows_no_ceiling_without_one() -> None:
    asked = context()
    row = asked.rulebook.row("no_alternate_ceiling_ft")
    rows = {**asked.rulebook.rows, "no_alternate_ceiling_ft": replace(row, value=None)}
    other = replace(asked, rulebook=replace(asked.rulebook, rows=rows, digest="another"))
    bare = attempt(approach=None)
    found = provision(bare, seen(), None, other, flow_kg_per_h=FLOW_KG_PER_H)
    assert found.outcome is Outcome.UNKNOWN
    assert "no minimum height" in found.text


@pytest.mark.parametrize("rulebook", BOOKS)
def test_in_poor_weather_an_isolated_aerodrome_asks_for_fuel_instead(rulebook: str) -> None:
    minutes = load_rulebook(rulebook).number_or_none("isolated_reserve_min")
    assert minutes is not None
    needed_kg = minutes * FLOW_KG_PER_H / 60.0
    enough = judged(rulebook, POOR, landing_kg=needed_kg + 0.1)
    short = judged(rulebook, POOR, landing_kg=needed_kg - 0.1)
    assert (enough.outcome, short.outcome) == (Outcome.PASS, Outcome.FAIL)
    assert "isolated" in enough.text
    assert "ceiling" in short.text, "what is told is the provision by weather"


@pytest.mark.parametrize("rulebook", BOOKS)
def test_fuel_that_is_not_known_makes_no_aerodrome_isolated(rulebook: str) -> None:
    assert judged(rulebook, POOR, landing_kg=None).outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("changes", "without"),
    [
        ({}, True),
        ({"/failures": [{"id": "gear-retraction"}]}, False),
        ({"/fuel/leak_kg_per_h": 10}, False),
    ],
)
def test_it_is_for_a_sound_aircraft_without_an_alternate(
    changes: dict[str, Any], without: bool
) -> None:
    assert came_without(context(**(SOUND | changes))) is without
    with_alternates: dict[str, Any] = {"/failures": []}
    assert came_without(context(**with_alternates)) is False


def test_an_isolated_aerodrome_needs_a_flow_to_count_its_minutes_by() -> None:
    """Where the operator's tables end before normal cruise, its reserve is not known."""
    place = replace(attempt().leg.aerodrome, separate_runways=True)
    here = replace(attempt(), leg=replace(attempt().leg, aerodrome=place))
    told = {
        flow: provision(here, POOR, ledger(9000.0), context("icao"), flow_kg_per_h=flow).outcome
        for flow in (FLOW_KG_PER_H, None)
    }
    assert told == {FLOW_KG_PER_H: Outcome.PASS, None: Outcome.FAIL}
