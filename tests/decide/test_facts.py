"""What the table asks of the courses, fact by fact, on courses laid out by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import pytest

from decision.decide.facts import (
    Choices,
    Facts,
    Fitness,
    fitness_of,
    has_policy_margin,
    leaving_now,
    look_at,
    ways_out,
)
from decision.decide.judge import JudgedCourse
from decision.decide.rank import ranked
from decision.rulebooks.rulebook import Force
from decision.rules.finding import Finding
from decision.rules.row import Breach
from decision.weather.readings import Foretold, Hazard, HazardWeight, NotAtHand
from tests.changing import replace
from tests.decide.by_hand import (
    HERE,
    T0,
    broken,
    finding,
    landing_here,
    leaving,
    ledger,
    open_question,
    passed,
    situation,
    told,
    way_out,
)
from tests.rules.builders import AWAY, attempt, ceiling, seen, visibility

FIT = finding("AP-01", passed(), at=HERE)
ABOVE = (finding("CM-01", passed(), at=HERE), finding("CM-02", passed(), at=HERE))
FOG = broken("AP-02", Breach.BELOW_MINIMA, at=HERE)
LEAK: dict[str, Any] = {"/fuel/leak_kg_per_h": 300, "/failures": []}
ENGINE: dict[str, Any] = {"/failures": [{"id": "engine-1"}]}
SMOKE: dict[str, Any] = {"/failures": [{"id": "smoke"}]}


def looked(*courses: JudgedCourse, weighty: bool = False, **changes: Any) -> tuple[Facts, Choices]:
    here = situation(**changes)
    return look_at(ranked(courses, here), here, weighty_concern=weighty)


def fact(name: str, *courses: JudgedCourse, **changes: Any) -> Any:
    return getattr(looked(*courses, **changes)[0], name)


# --- fitness ---


@pytest.mark.parametrize(
    ("found", "fitness"),
    [
        ([FIT], Fitness.USABLE),
        ([FOG], Fitness.BARRED),
        ([FIT, *ABOVE], Fitness.USABLE),
        ([FIT, broken("CM-01", Breach.COMMIT_CONDITIONS)], Fitness.USABLE),
        ([FIT, broken("FU-01", Breach.UNDER_RESERVE)], Fitness.USABLE),
        ([FIT, broken("HZ-02", Breach.GUIDANCE, force=Force.GUIDANCE)], Fitness.USABLE),
        ([broken("WD-01", Breach.WIND_LIMIT)], Fitness.UNFIT_FOR_NOW),
        ([broken("HZ-01", Breach.HAZARD)], Fitness.UNFIT_FOR_NOW),
        ([FOG, broken("WD-01", Breach.WIND_LIMIT)], Fitness.UNFIT_FOR_NOW),
        ([broken("LD-01", Breach.LANDING_FACTOR)], Fitness.UNFIT),
        ([broken("LD-02", Breach.CANNOT_STOP)], Fitness.UNFIT),
        ([broken("MA-02", Breach.OBSTACLES)], Fitness.UNFIT),
        ([broken("AD-01", Breach.RUNWAY_LIMIT)], Fitness.UNFIT),
        ([FOG, broken("LD-02", Breach.CANNOT_STOP)], Fitness.UNFIT),
        (
            [broken("WD-01", Breach.WIND_LIMIT), broken("LD-02", Breach.CANNOT_STOP)],
            Fitness.UNFIT,
        ),
        ([], Fitness.UNFIT),
    ],
)
def test_fitness_is_what_the_gravest_against_the_approach_here_leaves(
    found: list[Finding], fitness: Fitness
) -> None:
    assert fitness_of(landing_here(*found)) is fitness


def test_without_a_flight_here_nothing_is_fit() -> None:
    assert fitness_of(None) is Fitness.UNFIT


# --- ways out ---


def hazard(weight: HazardWeight) -> Hazard:
    return Hazard(
        phenomenon="hail",
        words="hail",
        weight=weight,
        kind="METAR",
        text="GR",
        from_at=T0,
        until_at=None,
    )


HAIL = seen(hazards=(hazard(HazardWeight.WARNING),))
GUSTY = seen(hazards=(hazard(HazardWeight.CAUTION),))


def test_ways_out_are_counted_by_aerodrome_and_two_are_enough() -> None:
    ways = [way_out("XAAA"), way_out("XAAA"), way_out("XBBB"), way_out("XCCC")]
    assert fact("ways_out", landing_here(FIT), *ways[:2]) == 1
    assert fact("ways_out", landing_here(FIT), *ways[:3]) == 2
    assert fact("ways_out", landing_here(FIT), *ways) == 2


@pytest.mark.parametrize(
    "no_way",
    [
        pytest.param(way_out("XAAA", broken("FU-01", Breach.UNDER_RESERVE)), id="not legal"),
        pytest.param(way_out("XAAA", open_question("WX-01")), id="not known to be legal"),
        pytest.param(
            way_out("XAAA", attempts=(attempt(), attempt(weather=HAIL))), id="hail at its end"
        ),
        pytest.param(
            way_out(
                "XAAA",
                attempts=(
                    attempt(climb=replace(AWAY, gradient_percent=1.0, ground_gradient_percent=1.0)),
                    attempt(),
                ),
            ),
            id="no climb to it",
        ),
        pytest.param(leaving("XAAA"), id="it is to leave now"),
    ],
)
def test_a_diversion_that_is_illegal_hazardous_or_not_climbed_to_is_no_way_out(
    no_way: JudgedCourse,
) -> None:
    assert ways_out([no_way], situation()) == []
    assert fact("ways_out", landing_here(FIT), no_way) == 0


def test_hazards_of_little_weight_leave_a_way_out() -> None:
    gusty = way_out("XAAA", attempts=(attempt(), attempt(weather=GUSTY)))
    assert fact("ways_out", landing_here(FIT), gusty) == 1


# --- cap ---

TWO = (way_out("XAAA"), way_out("XBBB"))
LOW = seen(ceiling=ceiling(150.0))
TEMPO = Foretold(
    kind="TEMPO",
    text="TEMPO 0400 FG",
    from_at=T0,
    until_at=T0 + timedelta(hours=1),
    prevailing=False,
    visibility=visibility(400.0),
)


def capped(*ways: JudgedCourse, here: Any = None, **changes: Any) -> Any:
    landing = landing_here(FIT) if here is None else landing_here(FIT, attempts=(here,))
    return fact("capped", landing, *(ways or TWO), **changes)


def test_two_ways_out_with_room_in_good_weather_have_no_cap() -> None:
    assert capped() is False


@pytest.mark.parametrize(
    "here",
    [
        pytest.param(attempt(weather=GUSTY), id="a hazard of any weight"),
        pytest.param(attempt(weather=LOW), id="a miss is likely"),
        pytest.param(attempt(weather=seen(ceiling=ceiling(None, doubtful=True))), id="or may be"),
        pytest.param(attempt(approach=None), id="no minimum is known"),
        pytest.param(attempt(weather=seen(foretold=(TEMPO,))), id="it may be barred"),
        pytest.param(
            attempt(
                climb=replace(AWAY, gradient_percent=2.7, ground_gradient_percent=2.7),
            ),
            id="the climb is within the error of the model",
        ),
        pytest.param(
            attempt(landing=replace(attempt().landing, distance_m=1700.0)),
            id="the runway is within the error of the model",
        ),
    ],
)
def test_what_is_doubtful_about_the_approach_here_is_a_cap(here: Any) -> None:
    assert capped(here=here) is True


def test_thin_margins_advice_and_a_lacking_forecast_at_a_way_out_are_caps() -> None:
    thin = way_out("XBBB", landing_kg=1250.0)
    advised = way_out("XBBB", broken("AD-04", Breach.GUIDANCE, force=Force.GUIDANCE))
    blind = seen(not_at_hand=(NotAtHand.NO_FORECAST,))
    unforeseen = way_out("XBBB", attempts=(attempt(), attempt(weather=blind)))
    for poor in (thin, advised, unforeseen):
        assert capped(TWO[0], poor) is True
    assert capped(*TWO, thin) is False, "two with room are enough"
    assert capped(weighty=True) is True
    assert fact("capped", landing_here(FIT, attempts=()), *TWO) is True


def test_the_margin_of_the_policy_is_asked_at_its_percentile() -> None:
    assert has_policy_margin(way_out("XAAA", landing_kg=1400.0), situation())
    assert not has_policy_margin(way_out("XAAA", landing_kg=1399.0), situation())
    assert not has_policy_margin(way_out("XAAA", ledger=None), situation())


# --- nearest suitable ---


def test_a_suitable_place_is_nearer_by_more_than_the_trade() -> None:
    here = landing_here(FIT, minutes=30.0)
    assert fact("nearer", here, leaving("XAAA", minutes=24.9), **ENGINE) is True
    assert fact("nearer", here, leaving("XAAA", minutes=25.0), **ENGINE) is False
    wider = ENGINE | {"/policy/nearest_trade_min": 6}
    assert fact("nearer", here, leaving("XAAA", minutes=24.9), **wider) is False


@pytest.mark.parametrize(
    ("breach", "nearer"),
    [(Breach.LANDING_MASS, True), (Breach.UNDER_RESERVE, False), (Breach.BELOW_MINIMA, False)],
)
def test_a_nearer_place_breaks_nothing_but_landing_mass(breach: Breach, nearer: bool) -> None:
    place = leaving("XAAA", broken("AD-01", breach), minutes=10.0)
    assert fact("nearer", landing_here(FIT, minutes=40.0), place, **ENGINE) is nearer


def test_the_earliest_of_the_nearer_places_is_chosen() -> None:
    _, choices = looked(
        landing_here(FIT, minutes=60.0),
        leaving("XAAA", minutes=20.0),
        leaving("XBBB", minutes=19.0),
        leaving("XCCC", minutes=5.0, arrive_at=None),
        **ENGINE,
    )
    assert choices.nearer is not None
    assert choices.nearer.course.icao == "XBBB"


def test_where_no_flight_here_is_known_any_suitable_place_is_nearer() -> None:
    assert fact("nearer", leaving("XAAA", minutes=90.0), **ENGINE) is True


CLEAR = (FIT, *ABOVE)


@pytest.mark.parametrize(
    ("found", "later_min", "stays"),
    [
        (CLEAR, 5.0, False),
        (CLEAR, 5.1, True),
        ((FIT, broken("CM-01", Breach.COMMIT_CONDITIONS), ABOVE[1]), 29.9, False),
        ((FIT, broken("CM-01", Breach.COMMIT_CONDITIONS), ABOVE[1]), 30.1, True),
    ],
)
def test_the_destination_is_kept_where_it_is_far_above_and_earlier_or_much_earlier(
    found: Sequence[Finding], later_min: float, stays: bool
) -> None:
    here = landing_here(*found, minutes=10.0)
    other = leaving("XAAA", minutes=10.0 + later_min)
    assert fact("stay_near", here, other, **ENGINE) is stays


def test_it_is_kept_where_no_other_place_is_suitable_and_no_miss_is_likely() -> None:
    fog = leaving("XAAA", broken("WX-01", Breach.BELOW_MINIMA), minutes=5.0)
    assert fact("stay_near", landing_here(FIT, minutes=10.0), fog, **ENGINE) is True
    low = landing_here(FIT, minutes=10.0, attempts=(attempt(weather=LOW),))
    assert fact("stay_near", low, fog, **ENGINE) is False
    unflown = landing_here(FIT, arrive_at=None)
    assert fact("stay_near", unflown, fog, **ENGINE) is False
    assert fact("stay_near", fog, **ENGINE) is False


# --- far above, commit, divert ---


@pytest.mark.parametrize(
    ("found", "weather", "far"),
    [
        (CLEAR, seen(), True),
        (CLEAR, GUSTY, True),
        (CLEAR, HAIL, False),
        (CLEAR, seen(foretold=(TEMPO,)), False),
        ((FIT, ABOVE[0], broken("CM-02", Breach.COMMIT_CONDITIONS)), seen(), False),
        ((FOG, *ABOVE), seen(), False),
    ],
)
def test_far_above_is_ample_ceiling_and_visibility_and_nothing_said_against_it(
    found: Sequence[Finding], weather: Any, far: bool
) -> None:
    assert fact("far_above", landing_here(*found, attempts=(attempt(weather=weather),))) is far


def test_without_an_attempt_here_nothing_is_far_above() -> None:
    assert fact("far_above", landing_here(*CLEAR, attempts=())) is False


def test_commit_and_diversion_are_open_where_they_are_legal() -> None:
    unmet = broken("CM-05", Breach.COMMIT_CONDITIONS)
    facts, choices = looked(landing_here(FIT, unmet), leaving("XAAA"))
    assert (facts.commit_permitted, facts.divert_legal) == (False, True)
    assert choices.commit is not None
    facts, choices = looked(
        landing_here(FIT), leaving("XAAA", broken("FU-01", Breach.UNDER_RESERVE))
    )
    assert (facts.commit_permitted, facts.divert_legal) == (True, False)
    assert choices.divert is None


def test_a_poor_diversion_lands_within_ten_minutes_of_its_reserve_or_is_advised_against() -> None:
    here = landing_here(FIT)
    assert fact("poor", here, leaving("XAAA", landing_kg=1599.0)) is True
    assert fact("poor", here, leaving("XAAA", landing_kg=1600.0)) is False
    assert fact("poor", here, leaving("XAAA", ledger=None)) is True
    advised = broken("AD-04", Breach.GUIDANCE, force=Force.GUIDANCE)
    assert fact("poor", here, leaving("XAAA", advised)) is True
    assert fact("poor", here) is False


@pytest.mark.parametrize("prefers", [None, False, True])
def test_what_the_policy_prefers_is_a_fact_without_default(prefers: bool | None) -> None:
    changes = {} if prefers is None else {"/policy/prefer_commit": prefers}
    assert fact("prefer_commit", landing_here(FIT), **changes) is prefers


SHORT = broken("LD-02", Breach.CANNOT_STOP)
FACTOR = broken("LD-01", Breach.LANDING_FACTOR)


@pytest.mark.parametrize(
    ("places", "only"),
    [
        ([], False),
        ([leaving("XAAA", SHORT)], True),
        ([leaving("XAAA", SHORT), leaving("XBBB", FACTOR)], True),
        ([leaving("XAAA", SHORT), leaving("XBBB")], False),
        ([leaving("XAAA", SHORT, broken("WD-01", Breach.WIND_LIMIT))], False),
    ],
)
def test_only_stopping_asks_for_another_place_and_that_each_fails_by_its_runway_alone(
    places: list[JudgedCourse], only: bool
) -> None:
    assert fact("only_stopping", landing_here(FIT), *places) is only


# --- waiting ---


def wait(icao: str = "XAAA", *found: Finding, missed_min: float = 25.0) -> JudgedCourse:
    return way_out(
        icao,
        *found,
        kind="hold_then_approach",
        hold_min=15.0,
        missed_at=T0 + timedelta(minutes=missed_min),
    )


def test_a_wait_is_legal_where_its_course_is() -> None:
    assert fact("wait_legal", landing_here(FOG), wait()) is True
    late = wait("XAAA", broken("FU-01", Breach.UNDER_RESERVE))
    assert fact("wait_legal", landing_here(FOG), late) is False
    assert fact("wait_legal", landing_here(FOG)) is False


@pytest.mark.parametrize("changes", [ENGINE, LEAK])
def test_under_pressure_a_wait_must_land_before_any_other_legal_place(
    changes: dict[str, Any],
) -> None:
    here, other = landing_here(FOG), leaving("XBBB", minutes=30.0)
    assert fact("wait_legal", here, wait(missed_min=29.0), other, **changes) is True
    assert fact("wait_legal", here, wait(missed_min=31.0), other, **changes) is False
    assert fact("wait_legal", here, wait(missed_min=31.0), **changes) is True
    unpressed: dict[str, Any] = {"/failures": []}
    assert fact("wait_legal", here, wait(missed_min=31.0), other, **unpressed) is True


def test_as_soon_as_possible_and_with_a_leak_of_unknown_rate_there_is_no_wait() -> None:
    assert fact("wait_legal", landing_here(FOG), wait(), **SMOKE) is False
    here = situation(**LEAK)
    unknown = replace(here, capability=replace(here.capability, leak_rate_unknown=True))
    facts, _ = look_at(ranked((landing_here(FOG), wait()), unknown), unknown, weighty_concern=False)
    assert facts.wait_legal is False


@pytest.mark.parametrize(
    ("breaches", "alone"),
    [
        ([Breach.BELOW_MINIMA], True),
        ([Breach.HAZARD], True),
        ([Breach.WIND_FAR_BEYOND], True),
        ([Breach.BELOW_MINIMA, Breach.COMMIT_CONDITIONS], True),
        ([Breach.BELOW_MINIMA, Breach.CANNOT_STOP], False),
        ([Breach.WIND_LIMIT], False),
        ([], False),
    ],
)
def test_weather_alone_endangers_a_landing_here(breaches: list[Breach], alone: bool) -> None:
    found = [broken(f"AD-0{at + 1}", breach) for at, breach in enumerate(breaches)]
    assert fact("weather_alone", landing_here(*found, again_kg=1300.0)) is alone


@pytest.mark.parametrize("changes", [ENGINE, LEAK, SMOKE])
def test_under_pressure_nothing_is_waited_for(changes: dict[str, Any]) -> None:
    assert fact("weather_alone", landing_here(FOG, again_kg=1300.0), **changes) is False


def test_without_fuel_for_a_second_approach_nothing_is_waited_for() -> None:
    for changes in (
        {"again_kg": 1200.0},
        {},
        {"again_kg": 1900.0, "unknown": ("leak",)},
    ):
        assert fact("weather_alone", landing_here(FOG, **changes)) is False


def test_where_the_least_bad_is_elsewhere_nothing_is_waited_for() -> None:
    worse = landing_here(FOG, broken("LD-02", Breach.CANNOT_STOP), again_kg=1900.0)
    place = leaving("XAAA", broken("WX-01", Breach.BELOW_MINIMA), again=ledger(1900.0))
    assert fact("weather_alone", worse, place) is False


# --- urgency, no alternate, the rest ---


def test_the_first_of_an_urgent_landing_is_here_or_elsewhere() -> None:
    here, away = landing_here(FIT, minutes=10.0), leaving("XAAA", minutes=9.0)
    assert fact("first_is_here", here, **SMOKE) is True
    facts, choices = looked(here, away, **SMOKE)
    assert facts.first_is_here is False
    assert choices.first is not None
    assert choices.first.course.icao == "XAAA"


def test_where_no_time_is_known_the_first_of_an_urgent_landing_is_the_least_bad() -> None:
    """Action and course agree all the same: landing here is not called a diversion."""
    facts, choices = looked(landing_here(FIT, arrive_at=None), **SMOKE)
    assert facts.first_is_here is True
    assert choices.first is choices.least_bad is choices.commit
    away = leaving("XAAA", arrive_at=None, landing_kg=2900.0)
    facts, choices = looked(landing_here(FIT, arrive_at=None), away, **SMOKE)
    assert facts.first_is_here is False
    assert choices.first is away


def test_without_any_course_there_is_nothing_to_decide() -> None:
    with pytest.raises(ValueError, match="at least one course"):
        looked()


def test_leaving_now_is_from_here_and_not_from_the_last_clean_point() -> None:
    later = leaving("XBBB", origin="last_clean_point")
    assert leaving_now([leaving("XAAA"), later, landing_here()]) == [leaving("XAAA")]


@pytest.mark.parametrize(
    ("changes", "needs_none"),
    [
        ({}, True),
        ({"/failures": [{"id": "gear-retraction"}]}, False),
        ({"/fuel/leak_kg_per_h": 100}, False),
        (
            {
                "/weather/reports/0": "METAR XKAL 140600Z 26011KT 9999 OVC006 08/04 Q1013",
                "/weather/reports/1": "TAF XKAL 140500Z 1406/1506 26012KT 9999 OVC006",
                "/fuel/on_board_kg": 3000,
                "/aircraft/mass_kg": 58_200,
            },
            False,
        ),
    ],
)
def test_only_a_sound_aircraft_that_meets_the_provision_needs_no_alternate(
    changes: dict[str, Any], needs_none: bool
) -> None:
    answer = told("no-alternate", **changes)
    assert (answer["basis"] == "NO_ALTERNATE") is needs_none


def test_with_an_alternate_in_the_case_the_provision_is_not_asked() -> None:
    assert fact("needs_no_alternate", landing_here(FIT), **{"/failures": []}) is False
