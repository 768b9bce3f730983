"""What is not known, turned every way: what is one cause, what is tried, and what the answer is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from decision.decide.completions import (
    Completion,
    Turning,
    cause_of,
    causes_of,
    completions_of,
)
from decision.decide.decision import Basis, Decision, Do, Verdict
from decision.decide.judge import JudgedCourse
from decision.decide.rank import ranked
from decision.decide.verdict import decide
from decision.rules.combine import holds
from decision.rules.finding import Cause, Outcome
from decision.rules.row import REPORTS, Breach, Topic
from tests.case.builders import demo
from tests.decide.by_hand import (
    HERE,
    broken,
    course,
    finding,
    landing_here,
    leaving,
    open_question,
    situation,
    told,
    way_out,
)

REPORT_A: Cause = ("XAAA", REPORTS)
PASSED = holds(True, yes="kept", no="", unknown="")


@pytest.mark.parametrize(
    ("rule", "lacks", "cause"),
    [
        ("WX-01", (), ("XAAA", REPORTS)),
        ("AP-02", (), ("XAAA", REPORTS)),
        ("HZ-01", (), ("XAAA", REPORTS)),
        ("WD-01", (), ("XAAA", REPORTS)),
        ("CM-02", (), ("XAAA", REPORTS)),
        ("MA-01", ("QNH", "surface temperature"), ("XAAA", "QNH", "surface temperature")),
        ("LD-01", ("runway condition",), ("XAAA", "runway condition")),
        ("LD-01", (), ("XAAA", "runway condition")),
        ("LD-01", ("wind", "runway condition"), ("XAAA", "wind")),
        ("MA-02", ("obstacles",), ("XAAA", "obstacles")),
        ("AD-03", (), ("XAAA", Topic.AERODROME.lacks)),
        ("FU-01", ("rate of the fuel leak",), ("", "rate of the fuel leak")),
        ("FU-02", ("rate of the fuel leak",), ("", "rate of the fuel leak")),
        ("ER-05", ("oxygen",), ("", "oxygen")),
    ],
)
def test_a_cause_is_the_one_thing_that_would_settle_the_finding(
    rule: str, lacks: tuple[str, ...], cause: Cause
) -> None:
    assert cause_of(open_question(rule, *lacks)) == cause


def test_fuel_and_oxygen_are_one_cause_for_every_place_and_a_report_is_one_for_its_place() -> None:
    courses = [
        course(
            icao,
            found=(
                open_question("FU-01", "rate of the fuel leak", at=icao),
                open_question("ER-05", "oxygen", at=icao),
                open_question("WX-01", at=icao),
                open_question("HZ-01", at=icao),
            ),
        )
        for icao in ("XAAA", "XBBB")
    ]
    assert causes_of(courses) == (
        ("XAAA", REPORTS),
        ("", "rate of the fuel leak"),
        ("", "oxygen"),
        ("XBBB", REPORTS),
    )


def test_with_nothing_unknown_there_is_one_completion() -> None:
    assert completions_of(causes_of([course("XAAA", found=(finding("WX-01", PASSED),))])) == (
        Completion(good=True),
    )


def test_one_cause_is_tried_bad_and_good() -> None:
    asked = [course("XAAA", found=(open_question("WX-01"), open_question("HZ-01")))]
    assert completions_of(causes_of(asked)) == (Completion(good=False), Completion(good=True))


def test_several_causes_are_tried_all_bad_all_good_and_each_against_the_others() -> None:
    asked = [course(icao, found=(open_question("WX-01", at=icao),)) for icao in ("XAAA", "XBBB")]
    tried = completions_of(causes_of(asked))
    assert len(tried) == len(set(tried)) == 6
    assert set(tried) == {
        Completion(good=good, apart=apart)
        for good in (False, True)
        for apart in (None, ("XAAA", REPORTS), ("XBBB", REPORTS))
    }


def outcomes(judged: JudgedCourse) -> list[Outcome]:
    return [each.outcome for each in judged.found]


@pytest.mark.parametrize(
    ("completion", "turned", "legal"),
    [
        (Completion(good=True), [Outcome.PASS, Outcome.PASS], True),
        (Completion(good=False), [Outcome.FAIL, Outcome.FAIL], False),
        (Completion(good=True, apart=REPORT_A), [Outcome.FAIL, Outcome.PASS], False),
        (Completion(good=False, apart=REPORT_A), [Outcome.PASS, Outcome.FAIL], False),
        (Completion(good=True, apart=("XZZZ", REPORTS)), [Outcome.PASS, Outcome.PASS], True),
    ],
)
def test_a_completion_turns_all_of_one_cause_together(
    completion: Completion, turned: list[Outcome], legal: bool
) -> None:
    asked = course(
        "XAAA", found=(open_question("WX-01"), open_question("LD-01", "runway condition"))
    )
    done = Turning().completed(asked, completion)
    assert (outcomes(done), done.legal) == (turned, legal)
    failed = [each for each in done.found if each.outcome is Outcome.FAIL]
    assert set(done.breaches) == set(failed)


def test_what_is_known_stays_as_it_is_in_every_completion() -> None:
    known = course("XAAA", found=(finding("WX-01", PASSED), broken("WD-01", Breach.WIND_LIMIT)))
    assert Turning().completed(known, Completion(good=True)) is known
    mixed = course("XAAA", found=(broken("WD-01", Breach.WIND_LIMIT), open_question("WX-01")))
    done = Turning().completed(mixed, Completion(good=True))
    assert outcomes(done) == [Outcome.FAIL, Outcome.PASS]
    assert done.legal is False


# --- what the answer is; two places, courses laid out by hand ---

AWAY, OTHER = "XAAA", "XBBB"
UNFIT = broken("LD-01", Breach.CANNOT_STOP, at=HERE)
FIT = finding("AP-01", PASSED, at=HERE)
SHORT = broken("CM-05", Breach.COMMIT_CONDITIONS, at=HERE)  # no committing, but nothing against it


def decided(*courses: JudgedCourse, name: str = "clean", **changes: Any) -> Decision:
    seen = situation(name, **changes)
    return decide(courses, ranked(courses, seen), seen, ())


def summary(decision: Decision) -> tuple[Verdict, Do, str]:
    return decision.verdict, decision.do, decision.chosen.course.icao


def test_the_same_answer_in_every_completion_has_nothing_missing() -> None:
    """Whether the other place can be used does not matter: this one is legal and better."""
    decision = decided(
        landing_here(UNFIT),
        leaving(AWAY),
        leaving(OTHER, open_question("WX-01", at=OTHER), minutes=40.0),
    )
    assert summary(decision) == (Verdict.NO_GO, Do.DIVERT, AWAY)
    assert decision.asks == ()
    assert decision.basis is not Basis.MISSING


def test_the_same_verdict_with_another_action_takes_the_one_legal_in_every_completion() -> None:
    """The better diversion hangs on a report; the poorer one is legal whatever that says."""
    decision = decided(
        landing_here(UNFIT),
        leaving(AWAY, open_question("WX-01", at=AWAY), landing_kg=2900.0),
        leaving(OTHER, landing_kg=1500.0),
    )
    assert summary(decision) == (Verdict.NO_GO, Do.DIVERT, OTHER)
    assert decision.basis is Basis.NOT_FIT_HERE


def test_with_no_course_legal_in_every_completion_the_aircraft_holds_for_what_is_missing() -> None:
    """With the report a diversion; should it be bad, the landing here is the lesser evil."""
    windy = broken("WD-01", Breach.WIND_LIMIT, at=HERE)
    asked = open_question("WX-01", at=AWAY)
    decision = decided(landing_here(windy, again_kg=1900.0), leaving(AWAY, asked))
    assert (decision.verdict, decision.do) == (Verdict.NO_GO, Do.HOLD)
    assert decision.asks == ((AWAY, REPORTS),)


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"again_kg": 1100.0}, id="no fuel for a miss and a second approach"),
        pytest.param({"again_kg": 1200.0}, id="none to spare"),
        pytest.param({}, id="that fuel is not known"),
        pytest.param({"again_kg": 1900.0, "unknown": ("leak",)}, id="fuel is not known"),
        pytest.param({"again_kg": 1900.0, "ledger": None}, id="the landing is not flown"),
    ],
)
def test_it_does_not_hold_on_fuel_that_it_has_not_and_goes_to_the_earliest_suitable_place(
    changes: dict[str, Any],
) -> None:
    decision = decided(
        landing_here(UNFIT, **changes),
        leaving(AWAY, open_question("WX-01", at=AWAY), minutes=35.0, landing_kg=2900.0),
        leaving(OTHER, open_question("WX-01", at=OTHER), minutes=30.0, landing_kg=1300.0),
    )
    assert summary(decision) == (Verdict.NO_GO, Do.DIVERT, OTHER)
    assert decision.asks


def test_it_does_not_hold_where_its_own_fuel_rules_are_unknown() -> None:
    fuel = open_question("FU-01", "quantity of fuel on board", at=HERE)
    decision = decided(
        landing_here(UNFIT, fuel, again_kg=1900.0), leaving(AWAY, open_question("WX-01"))
    )
    assert decision.do is Do.DIVERT


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param({"/fuel/leak_kg_per_h": 300}, id="a leak"),
        pytest.param({"/failures": [{"id": "engine-1"}]}, id="nearest suitable"),
    ],
)
def test_with_a_leak_or_a_failure_that_presses_it_holds_for_no_report(
    changes: dict[str, Any],
) -> None:
    asked = open_question("WX-01", at=AWAY)
    decision = decided(landing_here(UNFIT, again_kg=1900.0), leaving(AWAY, asked), **changes)
    assert summary(decision) == (Verdict.NO_GO, Do.DIVERT, AWAY)


def test_without_a_suitable_place_the_answer_for_the_worst_stands() -> None:
    """Nobody can say where it is better: what would be done if all turned out badly."""
    decision = decided(
        landing_here(broken("LD-01", Breach.CANNOT_STOP, at=HERE)),
        leaving(AWAY, open_question("WX-01", at=AWAY), broken("LD-01", Breach.CANNOT_STOP)),
        leaving(OTHER, open_question("WX-01", at=OTHER), broken("WD-01", Breach.WIND_FAR_BEYOND)),
    )
    assert decision.verdict is Verdict.NO_GO
    assert decision.chosen.course.icao in (AWAY, OTHER)


def test_completions_that_differ_in_verdict_are_insufficient_data_and_name_what_turns_it() -> None:
    """One way out hangs on a report of its place; of the other question nothing hangs."""
    missed = way_out(AWAY, open_question("WX-01", at=AWAY))
    idle = leaving(OTHER, open_question("AD-03", at=OTHER), broken("LD-01", Breach.CANNOT_STOP))
    decision = decided(landing_here(FIT, SHORT), missed, idle)
    assert (decision.verdict, decision.basis, decision.row) == (
        Verdict.INSUFFICIENT_DATA,
        Basis.MISSING,
        2,
    )
    assert decision.asks == ((AWAY, REPORTS),)


def test_where_it_takes_two_unknowns_to_turn_the_answer_both_are_asked_for() -> None:
    """Either report alone leaves a way out, or none."""
    ways: Sequence[JudgedCourse] = [
        way_out(icao, open_question("WX-01", at=icao)) for icao in (AWAY, OTHER)
    ]
    decision = decided(landing_here(FIT, SHORT), *ways)
    assert decision.verdict is Verdict.INSUFFICIENT_DATA
    assert set(decision.asks) == {(AWAY, REPORTS), (OTHER, REPORTS)}


def test_of_a_go_with_and_without_caution_the_lower_is_told_and_what_would_raise_it_is_asked() -> (
    None
):
    """The first way out is known; of the second only whether it is one."""
    ways = [way_out(AWAY), way_out(OTHER, open_question("WX-01", at=OTHER))]
    decision = decided(landing_here(FIT), *ways)
    assert summary(decision) == (Verdict.GO_WITH_CAUTION, Do.APPROACH, AWAY)
    assert decision.basis is Basis.ONE_WAY_OUT
    assert decision.asks == ((OTHER, REPORTS),)


def test_the_safest_known_course_is_taken_where_the_verdict_is_open() -> None:
    """A diversion that is legal however the report turns out."""
    missed = way_out(AWAY, open_question("WX-01", at=AWAY))
    decision = decided(landing_here(FIT, SHORT), missed, leaving(OTHER))
    assert summary(decision) == (Verdict.INSUFFICIENT_DATA, Do.DIVERT, OTHER)


def test_from_the_last_clean_point_nothing_is_done_now() -> None:
    later = leaving(OTHER, origin="last_clean_point")
    missed = way_out(AWAY, open_question("WX-01", at=AWAY))
    decision = decided(landing_here(FIT, SHORT, again_kg=1900.0), missed, later)
    assert (decision.verdict, decision.do) == (Verdict.INSUFFICIENT_DATA, Do.HOLD)


def test_an_approach_is_not_what_is_known_where_the_verdict_is_no_go() -> None:
    """Unfit here, whatever way is left after a miss."""
    decision = decided(
        landing_here(UNFIT),
        way_out(AWAY),
        leaving(AWAY, open_question("WX-01", at=AWAY), minutes=30.0),
        leaving(OTHER, open_question("WX-01", at=OTHER), minutes=40.0),
    )
    assert summary(decision) == (Verdict.NO_GO, Do.DIVERT, AWAY)


def test_as_soon_as_possible_is_decided_once_and_asks_for_nothing() -> None:
    smoke: dict[str, Any] = {"/failures": [{"id": "smoke"}]}
    decision = decided(
        landing_here(open_question("AP-02", at=HERE), minutes=10.0),
        leaving(AWAY, minutes=30.0),
        **smoke,
    )
    assert (decision.row, decision.asks) == (1, ())
    assert summary(decision) == (Verdict.NO_GO, Do.COMMIT, HERE)


# --- whole answers ---

NOT_HERE = [text for text in demo("clean")["weather"]["reports"] if "XBRE" not in text]


def test_a_report_that_no_answer_hangs_on_is_not_asked_for() -> None:
    """The alternate of which there is none is not reached with the reserve in any case."""
    answer = told(
        "clean",
        **{
            "/weather/reports": NOT_HERE,
            "/alternates/0/track_nm": 400,
            "/alternates/0/icao": "XBRE",
        },
    )
    assert (answer["verdict"], answer["basis"]) == ("GO_WITH_CAUTION", "ONE_WAY_OUT")
    assert answer["ask"] == []


def test_what_is_missing_is_asked_of_somebody_who_has_it() -> None:
    answer = told("alternate-weather-missing")
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    assert answer["ask"]
    assert all(each["whom"] for each in answer["ask"])
    assert "XBRE" in answer["ask"][0]["what"]
