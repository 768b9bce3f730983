"""Published examples, worked again by the rules themselves: from the report to the finding.

Each names its source. Figures that follow from published ones by arithmetic say "derived".
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from decision.attempt.attempt import Attempt, Clearance, Role
from decision.case import Aerodrome, Approach, Obstacle
from decision.decide.measures import minutes_left
from decision.flight.situation import situation_of
from decision.performance import holding_flow_kg_per_h
from decision.rulebooks.rulebook import load_rulebook
from decision.rules.finding import Finding, Outcome
from decision.units import FT_PER_NM, M_PER_STATUTE_MILE, MIN_PER_H, PERCENT
from decision.weather import decode
from decision.weather.collect import collect
from decision.weather.conditions import conditions
from decision.weather.readings import WeatherMet
from decision.windows import around
from tests.changing import replace
from tests.decide.builders import courses_in
from tests.rules.builders import (
    AWAY,
    PROCEDURE,
    RUNWAY,
    STOP,
    attempt,
    case_of,
    ceiling,
    course,
    ledger,
    seen,
    visibility,
)
from tests.rules.test_rules import PASS, Claim, judged

FAIL = Outcome.FAIL
FOG = "TAF XABC 160500Z 1605/1705 24008KT 0050 FG OVC001 BECMG 1608/1610 CAVOK"
CHICAGO = (
    "TAF KORD 051130Z 0512/0618 14008KT 5SM BR BKN030 TEMPO 0513/0516 1 1/2SM BR"
    " FM051600 16010KT P6SM SKC FM052300 20013G20KT 4SM SHRA OVC020"
    " PROB40 0600/0606 2SM TSRA OVC008CB BECMG 0606/0608 21015KT P6SM NSW SCT040"
)
PLANNING = {"/policy/alternate_bar": "planning"}


def weather_at(raw: str, arrival: datetime, rulebook: str) -> WeatherMet:
    """The forecast over the planning window of that arrival, as the rulebook reads it."""
    book = load_rulebook(rulebook)
    report = decode(raw, received_at=arrival)
    window = around(
        arrival,
        before_min=book.number("alternate_planning_before_min"),
        after_min=book.number("alternate_planning_after_min"),
    )
    as_of = report.issued_at
    station = collect((report,), station=report.station, as_of=as_of)
    return conditions(station, window=window, as_of=as_of, reading=book.reading)


def alternate(
    *approaches: Approach, weather: WeatherMet | None = None, separate: Any = None
) -> Attempt:
    """A landing at an alternate with these approaches, each to a runway of its own name."""
    at = attempt(role=Role.ALTERNATE, weather=weather or seen())
    idents = sorted({each.runway for each in approaches})
    place: Aerodrome = replace(
        at.leg.aerodrome,
        approaches=approaches,
        runways=tuple(replace(RUNWAY, ident=ident) for ident in idents),
        separate_runways=separate,
    )
    return replace(at, leg=replace(at.leg, aerodrome=place), approach=approaches[0])


def found(rule: str, at: Attempt, rulebook: str, **policy: str) -> Finding:
    changes = PLANNING | {f"/policy/{name}": value for name, value in policy.items()}
    return judged(Claim(rule, "", at, PASS, rulebook, changes))


ILS = replace(PROCEDURE, id="ILS 27L", runway="27L", dh_ft=200.0, rvr_m=550.0)
OTHER = replace(PROCEDURE, id="ILS 27R", runway="27R", dh_ft=200.0, rvr_m=550.0)
HALF_MILE = replace(ILS, rvr_m=None, visibility_m=0.5 * M_PER_STATUTE_MILE)
THREE_QUARTERS = replace(
    PROCEDURE,
    id="ILS 18",
    runway="18",
    dh_ft=250.0,
    rvr_m=None,
    visibility_m=0.75 * M_PER_STATUTE_MILE,
)


@pytest.mark.parametrize(
    ("rulebook", "scheme", "approaches", "ceiling_ft", "visibility_m"),
    [
        ("easa", "basic", (ILS,), 400.0, 1350.0),
        ("easa", "variations", (ILS,), 350.0, 1000.0),
        ("easa", "variations", (ILS, OTHER), 300.0, 850.0),
        ("faa-121", "derived_alternate", (HALF_MILE,), 600.0, 1.5 * M_PER_STATUTE_MILE),
        (
            "faa-121",
            "derived_alternate",
            (HALF_MILE, THREE_QUARTERS),
            450.0,
            1.25 * M_PER_STATUTE_MILE,
        ),
        ("faa-121", "standard_alternate", (HALF_MILE,), 600.0, 3200.0),
    ],
    ids=[
        "EU-AO-PLANNING AMC6: one ILS",
        "EU-AO-PLANNING AMC8: one ILS",
        "EU-AO-PLANNING AMC8: two ILS on separate runways",
        "FAA-C055: one navaid",
        "FAA-C055: two navaids on the higher figures",
        "CFR-91 91.169(c): precision",
    ],
)
def test_planning_minima_decide_at_their_figures_and_not_a_foot_or_metre_below(
    rulebook: str,
    scheme: str,
    approaches: tuple[Approach, ...],
    ceiling_ft: float,
    visibility_m: float,
) -> None:
    for below_ft, below_m, outcome in ((0.0, 0.0, PASS), (1.0, 0.0, FAIL), (0.0, 1.0, FAIL)):
        weather = seen(
            ceiling=ceiling(ceiling_ft - below_ft), visibility=visibility(visibility_m - below_m)
        )
        at = alternate(*approaches, weather=weather, separate=True)
        height, sight = (
            found(rule, at, rulebook, planning_scheme=scheme) for rule in ("WX-02", "WX-01")
        )
        assert (height.outcome is PASS and sight.outcome is PASS) == (outcome is PASS)
        if outcome is PASS:
            assert height.judgement.limit == ceiling_ft
            assert sight.judgement.limit == pytest.approx(visibility_m)


@pytest.mark.parametrize(
    ("hour", "minute", "outcome"), [(12, 0, PASS), (11, 0, PASS), (10, 59, FAIL), (10, 30, FAIL)]
)
def test_fog_that_becomes_clear_bars_until_the_end_of_the_change_leaves_the_window(
    hour: int, minute: int, outcome: Outcome
) -> None:
    """[EU-AO-FORECAST]: improvement counts from the end, 1000Z; an hour either way is looked at."""
    arrival = datetime(2026, 3, 16, hour, minute, tzinfo=UTC)
    at = alternate(ILS, weather=weather_at(FOG, arrival, "easa"))
    assert found("WX-01", at, "easa").outcome is outcome


def test_a_probable_storm_over_chicago_counts_for_one_rulebook_only() -> None:
    """[FAA-AIM] 7-1-29, arrival 0430Z on the 6th; [FAA-C055] against [EU-AO-FORECAST], derived."""
    arrival = datetime(2026, 3, 6, 4, 30, tzinfo=UTC)
    european, american = (
        alternate(HALF_MILE, weather=weather_at(CHICAGO, arrival, book))
        for book in ("easa", "faa-121")
    )
    high = found("WX-02", european, "easa")
    low = found("WX-02", american, "faa-121")
    assert (high.judgement.value, low.judgement.value) == (2000.0, 800.0)
    assert found("WX-01", european, "easa").judgement.value == pytest.approx(
        4.0 * M_PER_STATUTE_MILE, abs=1.0
    )
    assert found("WX-01", american, "faa-121").judgement.value == pytest.approx(
        2.0 * M_PER_STATUTE_MILE, abs=1.0
    )
    assert (high.outcome, low.outcome) == (PASS, PASS)
    precise = replace(HALF_MILE, dh_ft=401.0)
    raised = alternate(precise, weather=american.weather)
    assert found("WX-02", raised, "faa-121").outcome is FAIL


def test_mist_at_times_in_chicago_counts_for_both() -> None:
    """[FAA-AIM] 7-1-29, arrival 1430Z on the 5th: persistent, so a mile and a half applies."""
    arrival = datetime(2026, 3, 5, 14, 30, tzinfo=UTC)
    for rulebook in ("easa", "faa-121"):
        at = alternate(HALF_MILE, weather=weather_at(CHICAGO, arrival, rulebook))
        sight = found("WX-01", at, rulebook)
        assert sight.judgement.value == pytest.approx(1.5 * M_PER_STATUTE_MILE, abs=1.0)


def test_the_landing_distance_of_the_example_is_twenty_metres_too_long() -> None:
    """[EU-AO] CAT.OP.MPA.303(a), derived: 1800 m x 1.15 = 2070 m on 2050 m."""
    at = attempt(runway=replace(RUNWAY, lda_m=2050.0), landing=replace(STOP, distance_m=1800.0))
    finding = judged(Claim("LD-01", "", at, FAIL, "easa"))
    assert finding.outcome is FAIL
    assert finding.judgement.margin == pytest.approx(-20.0)
    assert finding.judgement.value == pytest.approx(2070.0)
    assert "CAT.OP.MPA.303(a)" in finding.citation


def test_the_final_reserve_is_half_an_hour_of_holding_above_the_aerodrome() -> None:
    """[ICAO-ANNEX6] 4.3.6.3 e: standard conditions, estimated mass on arrival; [EU-AO] the same."""
    case = case_of()
    situation = situation_of(case)
    book = load_rulebook("icao")
    assert (book.number("final_reserve_min"), book.number("final_reserve_height_ft")) == (
        30.0,
        1500.0,
    )
    flown = [each for each in courses_in(situation) if each.ledger is not None]
    assert flown
    for each in flown:
        flow_kg_per_h = holding_flow_kg_per_h(
            case.aircraft.profile,
            configuration=situation.configurations.clean,
            mass_kg=each.attempts[-1].mass_kg,
            pressure_altitude_ft=each.leg.aerodrome.elevation_ft + 1500.0,
            isa_deviation_degc=0.0,
        )
        assert each.ledger is not None
        assert each.ledger.planned_reserve_kg == pytest.approx(
            flow_kg_per_h * 30.0 / MIN_PER_H, rel=1e-3
        )


@pytest.mark.parametrize(("short_kg", "outcome"), [(0.0, PASS), (1.0, FAIL)])
def test_the_published_fuel_plan_lands_with_its_final_reserve_and_not_a_kilogram_to_spare(
    short_kg: float, outcome: Outcome
) -> None:
    """[ATPL-QA]: 13 000 kg; trip 5352, contingency 5 %, alternate 4380, 30 min at 6000 kg/h."""
    landing_kg = 13_000.0 - 5_352.0 * 1.05 - 4_380.0 - short_kg
    reserve_kg = 6_000.0 * load_rulebook("icao").number("final_reserve_min") / MIN_PER_H
    flown = course(ledger=ledger(landing_kg, planned_reserve_kg=reserve_kg))
    finding = judged(Claim("FU-01", "", flown, outcome, "icao"))
    assert finding.outcome is outcome
    assert finding.judgement.margin == pytest.approx(0.4 - short_kg, abs=1e-6)


def test_the_fuel_of_the_published_hold_lasts_an_hour_and_twenty_minutes() -> None:
    """[ATPL-QA]: from 6629 kg to 5669 kg at 720 kg/h."""
    flown = course(ledger=ledger(6_629.0 - 5_669.0), holding_flow_kg_per_h=720.0)
    assert minutes_left(flown) == pytest.approx(80.0)


CERTIFIED_PERCENT = {2: 2.1, 3: 2.4, 4: 2.7}  # one engine out, approach climb [CFR-25] 25.121(d)


def climbing(*, rate_fpm: float, ground_speed_kt: float) -> Attempt:
    """A miss flown at that rate over the ground, on a procedure that charts no gradient."""
    ft_per_nm = rate_fpm * MIN_PER_H / ground_speed_kt
    climb = replace(
        AWAY,
        rate_fpm=rate_fpm,
        ft_per_nm=ft_per_nm,
        ground_gradient_percent=ft_per_nm / FT_PER_NM * PERCENT,
    )
    return attempt(climb=climb, approach=replace(PROCEDURE, missed_gradient_percent=None))


@pytest.mark.parametrize(
    ("rulebook", "enough_fpm", "ground_speed_kt"),
    [
        ("faa-121", 400.0, 120.0),  # 200 ft/NM
        ("faa-121", 500.0, 150.0),
        ("icao", 304.0, 120.0),  # 2.5 %: 151.9 ft/NM, which [TERPS] prints as 152
        ("easa", 304.0, 120.0),
        ("easa", 456.0, 180.0),
    ],
)
def test_a_rate_of_climb_is_enough_for_the_nominal_gradient_and_one_foot_less_is_not(
    rulebook: str, enough_fpm: float, ground_speed_kt: float
) -> None:
    """[FAA-AIM] 5-4-21: 200 ft/NM; [PANS-OPS-I] 6.1.7.1: 2.5 %. Rates over the ground, derived."""
    for less_fpm, outcome in ((0.0, PASS), (1.0, FAIL)):
        at = climbing(rate_fpm=enough_fpm - less_fpm, ground_speed_kt=ground_speed_kt)
        assert judged(Claim("MA-01", "", at, outcome, rulebook)).outcome is outcome


@pytest.mark.parametrize(
    ("engines", "rulebook", "outcome"),
    [
        (2, "icao", FAIL),
        (2, "faa-121", FAIL),
        (3, "icao", FAIL),
        (3, "faa-121", FAIL),
        (4, "icao", PASS),
        (4, "faa-121", FAIL),
    ],
)
def test_what_an_aircraft_is_certified_for_seldom_meets_a_procedure(
    engines: int, rulebook: str, outcome: Outcome
) -> None:
    """Nobody may take the certified climb for the procedure's: derived from both texts."""
    climb = replace(AWAY, ground_gradient_percent=CERTIFIED_PERCENT[engines])
    at = attempt(climb=climb, approach=replace(PROCEDURE, missed_gradient_percent=None))
    assert judged(Claim("MA-01", "", at, outcome, rulebook)).outcome is outcome


@pytest.mark.parametrize(("distance_nm", "outcome"), [(3.0, FAIL), (3.5, PASS), (8.0, PASS)])
def test_an_obstacle_on_the_surface_is_cleared_by_48_feet_for_each_mile(
    distance_nm: float, outcome: Outcome
) -> None:
    """[TERPS]: a surface of 40:1 (152 ft/NM) under a climb of 200 ft/NM; 50 m are wanted of all."""
    start_ft = 700.0
    obstacle = Obstacle(distance_nm=distance_nm, elevation_ft=start_ft + 152.0 * distance_nm)
    passing = Clearance(obstacle=obstacle, altitude_ft=start_ft + 200.0 * distance_nm)
    procedure = replace(PROCEDURE, obstacles=(obstacle,))
    finding = judged(
        Claim("MA-02", "", attempt(approach=procedure, clearances=(passing,)), outcome, "icao")
    )
    assert finding.outcome is outcome
    assert finding.judgement.value == pytest.approx(48.0 * distance_nm)
    assert finding.judgement.margin == pytest.approx(48.0 * distance_nm - 164.0)
