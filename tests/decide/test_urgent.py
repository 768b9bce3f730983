"""The clock: which place comes first when the failure asks for the ground at once."""

from __future__ import annotations

from datetime import datetime
from itertools import permutations
from typing import Any

import pytest

from decision.decide.judge import JudgedCourse
from decision.decide.measures import (
    Weighed,
    broken_when_urgent,
    by_touchdown,
    is_suitable,
    lands_straight,
    leaks,
    minutes_to_touchdown,
    urgency_of,
)
from decision.rulebooks.rulebook import Force
from decision.rules.finding import Finding
from decision.rules.row import Breach
from decision.systems import Urgency
from tests.case.builders import demo
from tests.changing import replace
from tests.decide.by_hand import (
    broken,
    landing_here,
    leaving,
    open_question,
    situation,
    told,
    way_out,
)

LEFT_OUT = (
    Breach.CANNOT_BE_FLOWN,
    Breach.ENGINES_STOP,
    Breach.CANNOT_STOP,
    Breach.OBSTACLES,
    Breach.HAZARD,
)
DANGERS = (Breach.FUEL_NEARLY_GONE, Breach.BELOW_MINIMA, Breach.WIND_FAR_BEYOND)
MISSED = (Breach.WIND_LIMIT, Breach.LANDING_FACTOR)
NOTHING = (
    Breach.UNDER_RESERVE,
    Breach.GRADIENT,
    Breach.RUNWAY_LIMIT,
    Breach.LANDING_MASS,
    Breach.COMMIT_CONDITIONS,
    Breach.PLANNING_BAR,
)
BLIND = open_question("WX-01")


def test_every_breach_is_weighed_in_one_way() -> None:
    assert sorted((*LEFT_OUT, *DANGERS, *MISSED, *NOTHING, Breach.GUIDANCE)) == sorted(Breach)


def weighed(*courses: JudgedCourse, **changes: Any) -> tuple[Weighed, ...]:
    return by_touchdown(courses, situation(**changes))


def places(*courses: JudgedCourse, **changes: Any) -> list[str]:
    return [each.judged.course.icao for each in weighed(*courses, **changes)]


def at(icao: str, minutes: float, *found: Finding, **changes: Any) -> JudgedCourse:
    return leaving(icao, *found, minutes=minutes, **changes)


def of(breach: Breach, rule: str = "AD-01") -> Finding:
    return broken(rule, breach)


def test_the_earliest_touchdown_comes_first_here_or_elsewhere() -> None:
    assert places(landing_here(minutes=13.0), at("XAAA", 12.0)) == ["XAAA", "XKAL"]
    assert places(landing_here(minutes=13.0), at("XAAA", 14.0)) == ["XKAL", "XAAA"]


@pytest.mark.parametrize("breach", LEFT_OUT)
def test_a_course_of_these_breaches_is_left_out_however_early(breach: Breach) -> None:
    early, late = at("XAAA", 5.0, of(breach)), at("XBBB", 90.0)
    last = weighed(early, late)[-1]
    assert (last.judged.course.icao, last.left_out) == ("XAAA", True)
    assert not weighed(early, late)[0].left_out


@pytest.mark.parametrize("breach", DANGERS)
def test_any_other_danger_counts_as_a_quarter_of_an_hour(breach: Breach) -> None:
    found = at("XAAA", 20.0, of(breach))
    assert places(found, at("XBBB", 34.9)) == ["XBBB", "XAAA"]
    assert places(found, at("XBBB", 35.1)) == ["XAAA", "XBBB"]
    assert places(found, at("XBBB", 35.1), **{"/policy/endangering_trade_min": 16}) == [
        "XBBB",
        "XAAA",
    ]


@pytest.mark.parametrize("breach", MISSED)
def test_a_limit_missed_counts_as_five_minutes(breach: Breach) -> None:
    found = at("XAAA", 30.0, of(breach))
    assert places(found, at("XBBB", 34.9)) == ["XBBB", "XAAA"]
    assert places(found, at("XBBB", 35.1)) == ["XAAA", "XBBB"]
    assert places(found, at("XBBB", 34.9), **{"/policy/time_critical_trade_min": 4}) == [
        "XAAA",
        "XBBB",
    ]


@pytest.mark.parametrize("breach", MISSED)
def test_but_never_as_more_than_a_quarter_of_the_earliest_time(breach: Breach) -> None:
    """With the ground eight minutes away two minutes are much."""
    found = at("XAAA", 8.0, of(breach))
    assert places(found, at("XBBB", 9.9)) == ["XBBB", "XAAA"]
    assert places(found, at("XBBB", 10.1)) == ["XAAA", "XBBB"]


def test_the_quarter_is_of_the_earliest_that_is_not_left_out() -> None:
    gone = at("XCCC", 4.0, of(Breach.CANNOT_STOP))
    found = at("XAAA", 16.0, of(Breach.WIND_LIMIT))
    added = {each.judged.course.icao: each.added_min for each in weighed(gone, found)}
    assert added["XAAA"] == pytest.approx(4.0)


@pytest.mark.parametrize("breach", NOTHING)
def test_mass_reserve_in_part_and_paper_count_as_nothing(breach: Breach) -> None:
    assert places(at("XAAA", 20.0, of(breach)), at("XBBB", 20.1)) == ["XAAA", "XBBB"]


def test_guidance_counts_as_nothing() -> None:
    advice = broken("HZ-02", Breach.GUIDANCE, force=Force.GUIDANCE)
    assert places(at("XAAA", 20.0, advice), at("XBBB", 20.1)) == ["XAAA", "XBBB"]


def test_a_miss_is_judged_at_no_place() -> None:
    """With a miss likely the gradient would endanger; but nobody means to miss."""
    steep = of(Breach.OBSTACLES, rule="MA-01")
    assert places(at("XAAA", 20.0, steep), at("XBBB", 20.1)) == ["XAAA", "XBBB"]
    assert broken_when_urgent(at("XAAA", 20.0, steep)) == ()
    hill = of(Breach.OBSTACLES, rule="MA-02")
    assert places(at("XAAA", 20.0, hill), at("XBBB", 20.1)) == ["XBBB", "XAAA"]


@pytest.mark.parametrize("rule", ["LD-01", "LD-02", "WX-01", "AP-02", "WD-01", "HZ-01"])
@pytest.mark.parametrize("here", [True, False])
def test_unknown_weather_or_stopping_is_a_danger_at_every_place_alike(
    rule: str, here: bool
) -> None:
    asked = open_question(rule)
    blind = landing_here(asked, minutes=20.0) if here else at("XKAL", 20.0, asked)
    assert places(blind, at("XBBB", 34.9)) == ["XBBB", "XKAL"]
    assert places(blind, at("XBBB", 35.1)) == ["XKAL", "XBBB"]


@pytest.mark.parametrize("rule", ["AD-03", "MA-01", "FU-01", "CM-01"])
def test_what_else_is_unknown_costs_no_time(rule: str) -> None:
    assert places(at("XAAA", 20.0, open_question(rule)), at("XBBB", 20.1)) == ["XAAA", "XBBB"]


def test_unknown_weather_is_one_danger_however_many_rules_ask_for_it() -> None:
    blind = at("XAAA", 20.0, BLIND, open_question("HZ-01"), open_question("LD-01"))
    assert weighed(blind)[0].added_min == pytest.approx(15.0)


def test_a_danger_and_a_limit_add_up_and_two_of_a_kind_count_once() -> None:
    found = at("XAAA", 40.0, of(Breach.BELOW_MINIMA), of(Breach.WIND_LIMIT))
    assert weighed(found)[0].added_min == pytest.approx(20.0)
    twice = at("XAAA", 40.0, of(Breach.WIND_LIMIT), of(Breach.LANDING_FACTOR))
    assert weighed(twice)[0].added_min == pytest.approx(5.0)


def test_where_all_are_left_out_the_earliest_among_the_lightest_comes_first() -> None:
    grave = at("XAAA", 5.0, of(Breach.CANNOT_STOP))
    late, later = at("XBBB", 30.0, of(Breach.HAZARD)), at("XCCC", 31.0, of(Breach.HAZARD))
    assert places(grave, later, late) == ["XBBB", "XCCC", "XAAA"]
    assert all(each.left_out for each in weighed(grave, later, late))


def test_of_two_breaches_the_graver_says_how_light_a_course_is() -> None:
    both = at("XAAA", 5.0, of(Breach.HAZARD), of(Breach.ENGINES_STOP))
    assert places(both, at("XBBB", 30.0, of(Breach.CANNOT_STOP))) == ["XBBB", "XAAA"]


def test_the_order_is_the_same_however_the_courses_stand() -> None:
    courses = (
        landing_here(BLIND, minutes=10.0),
        at("XAAA", 20.0),
        at("XBBB", 20.0),
        at("XCCC", 8.0, of(Breach.CANNOT_STOP)),
    )
    orders = {tuple(places(*each)) for each in permutations(courses)}
    assert orders == {("XAAA", "XBBB", "XKAL", "XCCC")}


def test_only_straight_ways_that_are_flown_are_compared() -> None:
    unflown = at("XAAA", 5.0, arrive_at=None)
    from_later = at("XBBB", 5.0, origin="last_clean_point")
    assert places(unflown, from_later, way_out("XCCC"), at("XDDD", 50.0)) == ["XDDD"]
    assert weighed(unflown) == ()
    assert minutes_to_touchdown(unflown.course) is None
    assert not lands_straight(from_later.course)
    assert not lands_straight(way_out("XCCC").course)


# --- what is urgent ---


@pytest.mark.parametrize(
    ("changes", "urgency", "leaking"),
    [
        ({}, Urgency.NONE, False),
        ({"/failures": [{"id": "engine-1"}]}, Urgency.NEAREST_SUITABLE, False),
        ({"/failures": [{"id": "smoke"}]}, Urgency.AS_SOON_AS_POSSIBLE, False),
        ({"/fuel/leak_kg_per_h": 1}, Urgency.NEAREST_SUITABLE, True),
        (
            {"/fuel/leak_kg_per_h": 1, "/failures": [{"id": "smoke"}]},
            Urgency.AS_SOON_AS_POSSIBLE,
            True,
        ),
    ],
)
def test_a_leak_asks_for_the_nearest_suitable_place_at_least(
    changes: dict[str, Any], urgency: Urgency, leaking: bool
) -> None:
    seen = situation(**{"/failures": []} | changes)
    assert (urgency_of(seen), leaks(seen)) == (urgency, leaking)


def test_a_leak_of_unknown_rate_is_a_leak() -> None:
    seen = situation(**{"/failures": []})
    unknown = replace(seen, capability=replace(seen.capability, leak_rate_unknown=True))
    assert (urgency_of(unknown), leaks(unknown)) == (Urgency.NEAREST_SUITABLE, True)


@pytest.mark.parametrize("breach", list(Breach))
def test_a_place_is_suitable_unless_a_breach_there_endangers(breach: Breach) -> None:
    assert is_suitable(at("XAAA", 20.0, of(breach))) is not breach.endangers


@pytest.mark.parametrize("breach", [Breach.ENGINES_STOP, Breach.FUEL_NEARLY_GONE])
def test_fuel_is_told_on_its_own_and_makes_no_place_unsuitable(breach: Breach) -> None:
    assert is_suitable(at("XAAA", 20.0, of(breach, rule="FU-01")))


def test_hazardous_weather_that_is_advised_against_makes_a_place_unsuitable() -> None:
    hail = broken("HZ-02", Breach.GUIDANCE, force=Force.GUIDANCE)
    gradient = broken("MA-01", Breach.GRADIENT, force=Force.GUIDANCE)
    assert not is_suitable(at("XAAA", 20.0, hail))
    assert is_suitable(at("XAAA", 20.0, gradient))


def test_a_way_that_cannot_be_flown_leads_to_no_suitable_place() -> None:
    assert not is_suitable(at("XAAA", 20.0, limited_by="terrain"))


# --- whole answers ---

# The destination an hour away, XBRE a few minutes off the track, everybody in good weather.
SMOKE_ON_THE_WAY: dict[str, Any] = {
    "/destination/track_nm": 110,
    "/alternates/0/track_from_present_nm": 45,
    "/fuel/on_board_kg": 6000,
    "/aircraft/mass_kg": 62_000,
}


def test_with_smoke_the_nearer_runway_is_flown_to_though_the_approach_here_has_ways_out() -> None:
    """Without the smoke the same flight goes on to its destination."""
    urgent = told("time-critical", **SMOKE_ON_THE_WAY)
    assert (urgent["action"]["do"], urgent["action"]["aerodrome"]) == ("DIVERT", "XBRE")
    assert (urgent["basis"], urgent["verdict"]) == ("TIME_CRITICAL", "NO_GO")
    sound = told("time-critical", **SMOKE_ON_THE_WAY, **{"/failures": []})
    assert (sound["action"]["do"], sound["action"]["aerodrome"]) == ("APPROACH", "XKAL")


def test_both_places_stand_in_the_headline_with_their_minutes() -> None:
    headline = told("time-critical", **SMOKE_ON_THE_WAY)["headline"]
    assert headline.startswith("Divert to XBRE runway")
    assert "touchdown in" in headline
    assert "XKAL runway" in headline
    assert headline.count(" min") >= 3


def test_a_legal_approach_here_that_is_first_and_has_a_way_out_is_a_go_with_caution() -> None:
    answer = told("time-critical", **{"/fuel/on_board_kg": 6000, "/aircraft/mass_kg": 62_000})
    assert (answer["verdict"], answer["action"]["do"]) == ("GO_WITH_CAUTION", "APPROACH")
    assert answer["basis"] == "TIME_CRITICAL"


@pytest.mark.parametrize("failure", ["smoke", "engine-1-fire"])
def test_an_urgent_answer_holds_for_nothing_and_has_no_deadline_of_fuel(failure: str) -> None:
    fog = demo("wait-for-fog")["weather"]["reports"]
    answer = told("time-critical", **{"/failures": [{"id": failure}], "/weather/reports": fog})
    assert answer["action"]["do"] != "HOLD"
    assert all(each["kind"] != "hold_then_approach" for each in answer["courses"])
    assert set(answer["holding"].values()) == {None}
    assert answer["action"]["latest_at"] is None


def test_fog_here_outweighs_fourteen_minutes_and_not_sixteen() -> None:
    """Here below minima counts as a quarter of an hour, in a whole answer too."""
    fog = [
        "METAR XKAL 140600Z 26003KT 0100 FG VV001 08/08 Q1013",
        *(text for text in demo("time-critical")["weather"]["reports"] if "XKAL" not in text),
    ]
    chosen = {}
    for nm in (40, 130):
        answer = told(
            "time-critical",
            **{"/weather/reports": fog, "/alternates/0/track_from_present_nm": nm},
        )
        touchdown = {
            each["aerodrome"]: datetime.fromisoformat(each["time"]["arrive_at"])
            for each in answer["courses"]
            if each["course"] in ("commit_to_land:XKAL", "divert_now:XBRE")
        }
        later = touchdown["XBRE"] - touchdown["XKAL"]
        chosen[answer["action"]["aerodrome"]] = later.total_seconds() / 60.0
    assert set(chosen) == {"XBRE", "XKAL"}
    assert chosen["XBRE"] < 15.0 < chosen["XKAL"]
