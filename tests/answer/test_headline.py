"""The sentence a crew reads first: place, deed and figures of the action, and of no other."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from decision.answer.headline import HEADLINES, Story, headline_of, reasons_of
from decision.answer.types import Ask
from decision.case import case_from_mapping
from decision.decide.afterwards import provision_of
from decision.decide.decision import Basis, Decision, Do, LeaveBy
from decision.decide.facts import ways_out
from decision.decide.judge import JudgedCourse
from decision.recommend import recommend
from decision.rulebooks.rulebook import Force
from decision.rules.combine import at_least, at_most
from decision.rules.finding import Finding
from decision.rules.row import Breach
from tests.case.builders import NAMES, demo
from tests.changing import replace
from tests.decide.by_hand import (
    HERE,
    T0,
    broken,
    decision,
    finding,
    landing_here,
    leaving,
    open_question,
    passed,
    situation,
    told,
    way_out,
)
from tests.rules.builders import attempt, ceiling, seen, visibility

LATEST = LeaveBy(
    at=T0 + timedelta(minutes=11, seconds=50),
    what="last clean point",
    aerodrome="XAAA",
    distance_to_go_nm=5.0,
    fuel_kg=2000.0,
    holding_until=None,
)
FOG = broken("AP-02", Breach.BELOW_MINIMA, what="RVR below the minimum", at=HERE)
KEPT = finding("AD-01", passed())
SMOKE = {"/failures": [{"id": "smoke"}]}


def story(
    basis: Basis,
    chosen: JudgedCourse,
    *others: JudgedCourse,
    do: str = "DIVERT",
    leave_by: LeaveBy | None = None,
    asks: tuple[Ask, ...] = (),
    changes: dict[str, Any] | None = None,
) -> Story:
    made, courses = decision(chosen, do, basis=basis), (chosen, *others)
    flown = situation(**changes or {})
    return Story(
        decision=made,
        courses=courses,
        situation=flown,
        reasons=reasons_of(made, courses),
        leave_by=leave_by,
        asks=asks,
        ways_out=tuple(ways_out(courses, flown)),
        provision=provision_of(made, flown),
    )


def headline(basis: Basis, chosen: JudgedCourse, *others: JudgedCourse, **told_: Any) -> str:
    return headline_of(story(basis, chosen, *others, **told_))


def short(icao: str, kg: float) -> JudgedCourse:
    """A way out that lands so much under the reserve of 1200 kg."""
    return way_out(icao, broken("FU-01", Breach.UNDER_RESERVE), landing_kg=1200.0 - kg)


def test_every_basis_has_a_sentence() -> None:
    assert set(HEADLINES) == set(Basis)


# --- whole answers ---


@pytest.mark.parametrize("name", NAMES)
def test_every_demo_case_has_one_plain_sentence_with_place_and_runway_of_its_action(
    name: str,
) -> None:
    answer = told(name)
    action, headline_ = answer["action"], answer["headline"]
    assert headline_.endswith(".")
    place = f"{action['aerodrome']} runway {action['runway']}"
    assert place in headline_
    named = [headline_.find(each["aerodrome"]) for each in answer["courses"]]
    if answer["basis"] != "MISSING":
        first = min(where for where in named if where >= 0)
        assert headline_.find(action["aerodrome"]) == first, "the place of the action comes first"


FIRST_WORDS = {
    "APPROACH": ("Approach ", "Land at "),
    "DIVERT": ("Divert to ", "Land at "),
    "COMMIT": ("Landing at ", "Land at "),
    "HOLD": ("Hold ",),
}
NEVER = {
    "APPROACH": ("Divert to", "is committed", "Hold "),
    "DIVERT": ("Approach ", "is committed", "no diversion is left", "Hold "),
    "COMMIT": ("Divert to", "Approach ", "Hold ", "leave by"),
    "HOLD": ("Divert to", "is committed", "Land at"),
}


@pytest.mark.parametrize("name", NAMES)
def test_the_headline_of_a_demo_case_has_the_words_of_its_action_and_of_no_other(name: str) -> None:
    answer = told(name)
    do, headline_ = answer["action"]["do"], answer["headline"]
    if answer["basis"] == "MISSING":
        assert headline_.startswith("Not enough is known to decide: ask for")
        return
    assert headline_.startswith(FIRST_WORDS[do])
    assert not [words for words in NEVER[do] if words in headline_]


@pytest.mark.parametrize("name", NAMES)
def test_reasons_are_never_empty_and_name_a_rule_and_a_place(name: str) -> None:
    reasons = told(name)["reasons"]
    assert reasons
    assert all(each["rule"] and each["text"] for each in reasons)


# --- sentences of each row, courses laid out by hand ---


def test_a_figure_that_is_not_known_is_said_to_be_unknown() -> None:
    unflown = way_out("XAAA", ledger=None)
    kept = headline(Basis.ESCAPE_KEPT, unflown, landing_here(), do="APPROACH")
    assert "an unknown amount of fuel on landing" in kept
    assert "an unknown margin" in kept
    at_most_ = headline(Basis.ONE_WAY_OUT, way_out("XAAA", unknown=("leak",)), do="APPROACH")
    assert "at most 2000 kg on landing" in at_most_
    assert "at most 800 kg above final reserve" in at_most_


def test_an_approach_names_every_place_that_remains() -> None:
    told_ = headline(
        Basis.ESCAPE_KEPT, way_out("XAAA"), way_out("XBBB"), landing_here(), do="APPROACH"
    )
    assert told_ == (
        "Approach XKAL runway 27R: after a missed approach XAAA and XBBB remain; XAAA with 2000 kg "
        "(50 min) on landing, 800 kg above final reserve."
    )


def test_an_approach_with_one_way_out_says_that_it_is_the_only_one() -> None:
    one = headline(Basis.ONE_WAY_OUT, way_out("XAAA"), do="APPROACH")
    assert "XAAA is the only diversion after a missed approach" in one
    thin = headline(Basis.ESCAPE_THIN, way_out("XAAA"), do="APPROACH")
    assert "only" not in thin


@pytest.mark.parametrize(
    ("weather", "words"),
    [
        ({}, "no ceiling (minimum height 200 ft), visibility 9990 m"),
        (
            {"ceiling": ceiling(None, doubtful=True)},
            "ceiling not known (minimum height 200 ft), visibility 9990 m",
        ),
        ({"ceiling": ceiling(458)}, "ceiling 450 ft (minimum height 200 ft), visibility 9990 m"),
        (
            {"visibility": visibility(None)},
            "no ceiling (minimum height 200 ft), visibility not known",
        ),
    ],
)
@pytest.mark.parametrize("basis", [Basis.COMMIT_PERMITTED, Basis.COMMIT_ONLY_RUNWAY])
def test_a_committed_landing_says_fuel_runway_and_weather_over_minima_and_not_to_leave(
    basis: Basis, weather: dict[str, Any], words: str
) -> None:
    chosen = landing_here(attempts=(attempt(weather=seen(**weather)),))
    told_ = headline(basis, chosen, do="COMMIT")
    assert told_.startswith("Landing at XKAL runway 27R is committed: 2000 kg (50 min) on landing,")
    assert words in told_
    assert "leave" not in told_


def test_without_a_described_procedure_the_weather_has_no_minimum_beside_it() -> None:
    bare = landing_here(attempts=(attempt(approach=None),))
    assert "no ceiling, visibility" in headline(Basis.COMMIT_PERMITTED, bare, do="COMMIT")
    none = landing_here(attempts=())
    assert "weather not known" in headline(Basis.COMMIT_PERMITTED, none, do="COMMIT")


def test_leaving_is_by_a_moment_rounded_down_and_by_the_miles_to_the_point() -> None:
    chosen = leaving("XAAA")
    assert " by 06:21Z (5.0 NM to go): " in headline(
        Basis.LEAVE_WHILE_CLEAN, chosen, leave_by=LATEST
    )
    no_point = LeaveBy(
        at=LATEST.at,
        what="last legal moment for XAAA",
        aerodrome="XAAA",
        distance_to_go_nm=None,
        fuel_kg=None,
        holding_until=None,
    )
    assert " by 06:21Z: " in headline(Basis.LEAVE_WHILE_CLEAN, chosen, leave_by=no_point)
    assert " now: " in headline(Basis.LEAVE_WHILE_CLEAN, chosen)


def test_how_far_the_best_way_out_falls_short_is_named_only_when_all_do() -> None:
    chosen = leaving("XAAA")
    all_short = headline(Basis.LEAVE_WHILE_CLEAN, chosen, short("XBBB", 300), short("XCCC", 140))
    assert "reaches XCCC at best, 140 kg under final reserve" in all_short
    fog = broken("WX-01", Breach.BELOW_MINIMA, what="fog at XCCC")
    other = headline(Basis.LEAVE_WHILE_CLEAN, chosen, short("XBBB", 300), way_out("XCCC", fog))
    assert ": broken; XAAA lands" in other, "what bars the first of them, in the order of courses"
    assert "at best" not in other


@pytest.mark.parametrize(
    ("against", "words"),
    [
        (broken("HZ-02", Breach.GUIDANCE, what="hail at XAAA", force=Force.GUIDANCE), "hail"),
        (open_question("WX-01", what="weather of XAAA is not known"), "is not known"),
    ],
)
def test_a_diversion_that_is_no_way_out_says_what_stands_against_it(
    against: Finding, words: str
) -> None:
    assert words in headline(Basis.LEAVE_WHILE_CLEAN, leaving("XAAA"), way_out("XAAA", against))


def test_where_no_alternate_is_named_that_is_said() -> None:
    assert "no alternate is named" in headline(Basis.COMMIT_PERMITTED, landing_here(), do="COMMIT")


def test_the_choice_tells_the_other_half_of_it() -> None:
    left = headline(Basis.CHOICE, leaving("XAAA"), landing_here(), leave_by=LATEST)
    assert left.startswith("Divert to XAAA runway 27R by 06:21Z")
    assert "Landing at XKAL with no way out would be permitted too" in left
    stayed = headline(Basis.CHOICE, landing_here(), leaving("XAAA"), do="COMMIT")
    assert stayed.startswith("Landing at XKAL runway 27R is committed")


def test_the_nearest_suitable_place_is_told_with_the_minutes_of_the_others() -> None:
    told_ = headline(
        Basis.NEAREST_SUITABLE,
        leaving("XAAA", minutes=20.2),
        landing_here(minutes=44.0),
        leaving("XBBB", minutes=51.0),
    )
    assert told_.startswith(
        "Divert to XAAA runway 27R, the nearest suitable: touchdown in 21 min, 06:31Z; XKAL 44 min "
        "and XBBB 51 min;"
    )


def test_a_landing_here_as_the_nearest_names_what_is_not_met_for_committing() -> None:
    unmet = broken("CM-05", Breach.COMMIT_CONDITIONS, what="fuel for a second approach", at=HERE)
    told_ = headline(Basis.NEAREST_SUITABLE, landing_here(unmet, minutes=9.0), do="COMMIT")
    assert "is committed, the nearest suitable: touchdown in 9 min, 06:19Z" in told_
    assert "no other place is in reach" in told_
    assert told_.endswith("Not met for it: fuel for a second approach.")
    met = headline(Basis.NEAREST_SUITABLE, landing_here(minutes=9.0), do="COMMIT")
    assert "Not met" not in met


def test_an_urgent_landing_tells_every_place_with_minutes_and_what_it_breaks() -> None:
    told_ = headline(
        Basis.TIME_CRITICAL,
        landing_here(FOG, minutes=8.0),
        leaving("XAAA", minutes=25.0),
        leaving("XBBB", broken("LD-01", Breach.LANDING_FACTOR, what="factor"), minutes=27.0),
        do="COMMIT",
        changes=SMOKE,
    )
    assert told_ == (
        "Land at XKAL runway 27R: touchdown in 8 min, 06:18Z, breaks RVR below the minimum. "
        "XAAA runway 27R (best legal place): 25 min. XBBB runway 27R: 27 min, breaks factor."
    )


def test_an_urgent_landing_does_not_tell_conditions_of_committing() -> None:
    unmet = broken("CM-01", Breach.COMMIT_CONDITIONS, what="ceiling for committing", at=HERE)
    told_ = headline(
        Basis.TIME_CRITICAL, landing_here(unmet, minutes=8.0), do="COMMIT", changes=SMOKE
    )
    assert "breaks" not in told_


def test_an_urgent_approach_is_told_by_its_landing_here_and_not_by_the_way_out() -> None:
    told_ = headline(
        Basis.TIME_CRITICAL,
        way_out("XAAA", minutes=60.0),
        landing_here(minutes=8.0),
        leaving("XAAA", minutes=25.0),
        do="APPROACH",
        changes=SMOKE,
    )
    assert told_.startswith("Approach and land at XKAL runway 27R: touchdown in 8 min, 06:18Z.")


def test_a_hold_quotes_the_group_that_it_rests_on() -> None:
    group = "FM140630 26010KT 9999"
    chosen = way_out(
        "XAAA",
        kind="hold_then_approach",
        hold_min=18.3,
        missed_at=T0 + timedelta(minutes=21, seconds=10),
        rests_on=group,
    )
    told_ = headline(Basis.WAIT, chosen, landing_here(FOG), do="HOLD")
    assert told_.startswith("Hold 19 min for XKAL runway 27R, approach at 06:32Z: RVR below")
    assert f"it is to improve by '{group}'" in told_
    assert told_.endswith("still leaves XAAA with 2000 kg (50 min).")


def test_a_hold_on_an_island_leaves_a_second_approach() -> None:
    chosen = landing_here(FOG, rests_on="FM140630 9999", hold_min=18.0)
    assert "leaves a second approach with" in headline(
        Basis.WAIT, chosen, landing_here(FOG), do="HOLD"
    )


@pytest.mark.parametrize("basis", [Basis.APPROACH_BARRED, Basis.NOT_FIT_HERE])
def test_a_place_that_is_closed_says_what_closes_it(basis: Basis) -> None:
    told_ = headline(basis, leaving("XAAA"), landing_here(FOG), leave_by=LATEST)
    assert told_.startswith("Divert to XAAA runway 27R by 06:21Z (5.0 NM to go): RVR below")


def test_the_least_bad_says_what_it_breaks_and_that_it_breaks_only_that() -> None:
    wind = finding(
        "WD-02", at_most("tailwind", 12.0, 10.0, unit="kt"), breach=Breach.WIND_LIMIT, at=HERE
    )
    one = headline(Basis.NO_LEGAL_COURSE, landing_here(wind), do="COMMIT")
    assert one.startswith("Land at XKAL runway 27R, the least bad where no course keeps every rule")
    assert "breaks only tailwind 12 kt, limit 10 kt" in one
    two = headline(Basis.NO_LEGAL_COURSE, leaving("XAAA", wind, FOG))
    assert two.startswith("Divert to XAAA runway 27R")
    assert "breaks only" not in two
    assert "RVR below the minimum; tailwind 12 kt, limit 10 kt" in two


def test_a_hold_where_nothing_is_legal_says_what_it_waits_for_and_until_when() -> None:
    ask = Ask(what="the latest report of XKAL", whom="dispatch", by_at=LATEST.at)
    told_ = headline(
        Basis.NO_LEGAL_COURSE, landing_here(FOG), do="HOLD", leave_by=LATEST, asks=(ask,)
    )
    assert told_.startswith("Hold for XKAL runway 27R until 06:21Z, awaiting the latest report of")
    assert told_.endswith("landing there now breaks RVR below the minimum.")
    bare = headline(Basis.NO_LEGAL_COURSE, landing_here(FOG), do="HOLD")
    assert bare.startswith("Hold for XKAL runway 27R, awaiting a report")


@pytest.mark.parametrize(
    ("do", "chosen", "words"),
    [
        ("APPROACH", way_out("XAAA", KEPT), "the safest known is the approach at XKAL runway 27R"),
        ("HOLD", landing_here(KEPT), "hold for XKAL runway 27R"),
        ("DIVERT", leaving("XAAA", KEPT), "the safest known is to divert to XAAA runway 27R"),
        ("COMMIT", landing_here(KEPT), "the safest known is to land at XKAL runway 27R"),
    ],
)
def test_too_little_to_decide_says_what_to_ask_and_what_to_do_until_then(
    do: str, chosen: JudgedCourse, words: str
) -> None:
    asks = tuple(Ask(what=what, whom="dispatch", by_at=None) for what in ("this", "that"))
    told_ = headline(Basis.MISSING, chosen, do=do, asks=asks, leave_by=LATEST)
    assert told_.startswith("Not enough is known to decide: ask for this and that. Until then")
    assert words in told_
    assert "06:21Z" in told_
    unasked = headline(Basis.MISSING, chosen, do=do)
    assert "ask for" in unasked
    assert "06:21Z" not in unasked


def test_an_approach_without_an_alternate_says_why_it_may() -> None:
    answer = told("no-alternate")
    assert answer["headline"].startswith("Approach XKAL runway 27R without an alternate: ")
    bare = headline(Basis.NO_ALTERNATE, landing_here(attempts=()), do="APPROACH")
    assert bare.startswith("Approach XKAL without an alternate; 2000 kg")


# --- reasons ---


def reasons(made: Decision, *courses: JudgedCourse) -> list[tuple[str, str]]:
    return [(each.rule, each.at) for each, _ in reasons_of(made, courses)]


def test_only_what_bars_a_way_out_or_carries_the_way_taken_is_a_reason() -> None:
    thin = finding("FU-01", at_least("fuel", 1300.0, 1200.0, unit="kg"))
    roomy = finding("LD-01", at_least("runway", 2000.0, 1000.0, unit="m"))
    wind = finding("WD-01", at_least("wind", 22.0, 20.0, unit="kt"))
    unlimited = finding("AP-02", at_least("visibility", 0.0, 0.0, unit="m"))
    chosen = way_out("XAAA", thin, roomy, wind, unlimited)
    kept = reasons(decision(chosen, "APPROACH", basis=Basis.ESCAPE_KEPT), chosen)
    assert kept == [("FU-01", "XAAA"), ("AP-02", "XAAA")]
    barred = way_out("XBBB", broken("WX-01", Breach.BELOW_MINIMA, at="XBBB"))
    leave = leaving("XAAA", thin, wind)
    assert reasons(decision(leave), leave, barred, barred) == [("WX-01", "XBBB"), ("FU-01", "XAAA")]


def test_what_is_missing_is_named_once_a_place_and_weather_first() -> None:
    chosen = leaving(
        "XAAA",
        open_question("AD-03"),
        open_question("WX-01"),
        open_question("WX-01", at="XBBB"),
    )
    made = decision(chosen, basis=Basis.MISSING)
    assert reasons(made, chosen, chosen) == [("WX-01", "XAAA"), ("WX-01", "XBBB")]


def test_with_nothing_missing_on_any_course_the_tightest_of_the_chosen_one_is_told() -> None:
    thin = finding("FU-01", at_least("fuel", 1300.0, 1200.0, unit="kg"))
    chosen = leaving("XAAA", thin)
    assert reasons(decision(chosen, basis=Basis.MISSING), chosen) == [("FU-01", "XAAA")]


def test_the_least_bad_has_everything_that_it_breaks_worst_first() -> None:
    under = broken("FU-01", Breach.UNDER_RESERVE)
    fog = broken("WX-01", Breach.BELOW_MINIMA)
    chosen = leaving("XAAA", under, fog)
    made = decision(chosen, basis=Basis.NO_LEGAL_COURSE)
    assert reasons(made, chosen) == [("WX-01", "XAAA"), ("FU-01", "XAAA")]


def test_an_urgent_landing_has_neither_its_gradient_nor_conditions_of_committing_as_reason() -> (
    None
):
    chosen = landing_here(
        broken("MA-01", Breach.OBSTACLES, at=HERE),
        broken("CM-01", Breach.COMMIT_CONDITIONS, at=HERE),
        broken("WD-01", Breach.WIND_LIMIT, at=HERE),
        finding("FU-01", at_least("fuel", 1300.0, 1200.0, unit="kg"), at=HERE),
    )
    made = decision(chosen, "COMMIT", basis=Basis.TIME_CRITICAL)
    assert reasons(made, chosen) == [("WD-01", HERE), ("FU-01", HERE)]


@pytest.mark.parametrize("basis", [Basis.WAIT, Basis.APPROACH_BARRED, Basis.NOT_FIT_HERE])
def test_what_closes_the_place_here_comes_before_what_bars_the_ways_out(basis: Basis) -> None:
    here = landing_here(FOG, broken("WD-01", Breach.WIND_LIMIT, at=HERE))
    barred = way_out("XBBB", broken("FU-01", Breach.UNDER_RESERVE, at="XBBB"))
    chosen = leaving("XAAA")
    found = reasons(decision(chosen, basis=basis), chosen, barred, here)
    assert found == [("AP-02", HERE), ("WD-01", HERE), ("FU-01", "XBBB")]


@pytest.mark.parametrize("basis", list(Basis))
def test_reasons_are_never_empty_where_anything_was_found(basis: Basis) -> None:
    chosen = leaving("XAAA", finding("AD-01", passed()))
    for do in Do:
        assert reasons(decision(chosen, do.value, basis=basis), chosen)


@pytest.mark.parametrize(
    ("do", "begins"),
    [
        (Do.APPROACH, "Approach XKAL runway 27R: what is best turns on "),
        (Do.HOLD, "Hold for XKAL runway 27R: what is best turns on "),
        (Do.DIVERT, "Divert to XTOR runway 32 now: what is best turns on "),
        (Do.COMMIT, "Landing at XTOR runway 32 is committed: what is best turns on "),
    ],
)
def test_a_headline_is_of_the_action_where_the_row_would_do_something_else(
    do: Do, begins: str
) -> None:
    """The verdict of a row stands, and what is not known turns only what to do."""
    answer = recommend(case_from_mapping(demo("clean")))
    basis = Basis.WAIT if do is not Do.HOLD else Basis.COMMIT_PERMITTED
    told = headline_of(
        Story(
            decision=replace(answer.decision, do=do, basis=basis),
            courses=answer.courses,
            situation=answer.situation,
            reasons=reasons_of(answer.decision, answer.courses),
            leave_by=None,
            asks=(Ask(what="the runway condition of XTOR", whom="dispatch", by_at=None),),
            ways_out=answer.ways_out,
            provision=None,
        )
    )
    assert told.startswith(begins)
    assert "ask for the runway condition of XTOR" in told


def test_figures_at_the_edge_are_said_as_they_are() -> None:
    """Nothing left, less than the reserve, no time known, no runway described."""
    empty = headline(Basis.ONE_WAY_OUT, way_out("XAAA", landing_kg=-5.0), do="APPROACH")
    assert "empty tanks on landing" in empty
    assert "1210 kg under final reserve" in empty
    nowhen = headline(Basis.NEAREST_SUITABLE, leaving("XAAA", KEPT, arrive_at=None))
    assert "time of touchdown not known" in nowhen
    bare = way_out("XAAA", KEPT, attempts=(attempt(runway=None), attempt()))
    assert headline(Basis.ONE_WAY_OUT, bare, do="APPROACH").startswith("Approach XKAL with caution")


def test_a_course_that_may_be_legal_says_what_is_not_known_instead_of_a_breach() -> None:
    open_ = leaving("XAAA", open_question("WX-01", what="weather of XAAA is not known"))
    ask = Ask(what="the report of XAAA", whom="dispatch", by_at=None)
    asked = headline(Basis.NO_LEGAL_COURSE, open_, asks=(ask,))
    assert "what is not known (the report of XAAA)" in asked
    unasked = headline(Basis.NO_LEGAL_COURSE, open_)
    assert "what is not known (" in unasked
    assert "breaks nothing" not in asked + unasked
