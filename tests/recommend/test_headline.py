"""The sentence a crew reads first, and what it says where a figure is not known."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.courses.judge import JudgedCourse
from decision.recommend import recommend_mapping
from decision.recommend.answer import Basis, CleanPoint, Decision, Do, Verdict
from decision.recommend.headline import headline_of, reasons_of
from decision.rules.breach import Breach
from decision.rules.combine import at_least, holds, unknown
from decision.rules.finding import Finding, Judgement, Stated
from tests.case.builders import CASES, demo
from tests.recommend.builders import course
from tests.rules.builders import attempt, ceiling, seen, visibility

NAMES = sorted(path.stem for path in CASES.glob("*.json"))
NO_POINT = CleanPoint(
    distance_to_go_nm=None, at=None, fuel_kg=None, best=None, penalties=(), reason="none_ahead"
)
LATEST = datetime(2026, 3, 14, 6, 21, tzinfo=UTC)


def finding(rule: str, judgement: Judgement, *, at: str = "XAAA") -> Finding:
    stated = Stated(rule=rule, title="A rule", citation="[X]")
    return Finding(stated=stated, at=at, judgement=judgement)


def going(judged: JudgedCourse, basis: Basis) -> Decision:
    return Decision(verdict=Verdict.NO_GO, do=Do.DIVERT, basis=basis, chosen=judged)


def headline(
    basis: Basis,
    chosen: JudgedCourse,
    *others: JudgedCourse,
    point: CleanPoint = NO_POINT,
    latest_at: datetime | None = None,
) -> str:
    decision, courses = going(chosen, basis), (chosen, *others)
    return headline_of(decision, courses, reasons_of(decision, courses), point, latest_at)


def landing(judged: JudgedCourse, **weather: Any) -> JudgedCourse:
    """The course with an attempt to land from at its end."""
    last = attempt(weather=seen(**weather))
    return replace(judged, course=replace(judged.course, attempts=(last,)))


def short(icao: str, kg: float) -> JudgedCourse:
    return course(icao, landing_kg=1200.0 - kg)


@pytest.mark.parametrize("name", NAMES)
def test_every_demo_case_has_one_plain_sentence_with_its_place(name: str) -> None:
    told = recommend_mapping(case_from_mapping(demo(name)))
    assert told["headline"].endswith(".")
    assert len(told["headline"]) < 260
    assert told["action"]["course"].split(":")[1] in told["headline"]


def test_a_figure_that_is_not_known_is_said_to_be_unknown() -> None:
    bare = course("XAAA")
    unflown = replace(bare, course=replace(bare.course, ledger=None))
    kept = headline(Basis.ESCAPE_KEPT, unflown)
    assert "an unknown amount of fuel on landing" in kept
    assert "an unknown margin" in kept
    committed = headline(Basis.COMMIT_PERMITTED, unflown)
    assert committed.endswith("weather not known.")


@pytest.mark.parametrize(
    ("weather", "words"),
    [
        ({}, "no ceiling, visibility 9990 m"),
        ({"ceiling": ceiling(None, doubtful=True)}, "ceiling not known, visibility 9990 m"),
        ({"ceiling": ceiling(450)}, "ceiling 450 ft, visibility 9990 m"),
        ({"visibility": visibility(None)}, "no ceiling, visibility not known"),
    ],
)
def test_a_committed_landing_says_its_weather(weather: dict[str, Any], words: str) -> None:
    told = headline(Basis.COMMIT_PERMITTED, landing(course("XAAA"), **weather))
    assert "XAAA runway 27R, 2000 kg (50 min) on landing" in told
    assert words in told


def test_leaving_is_by_the_last_clean_point_where_there_is_one() -> None:
    chosen = course("XAAA", kind="divert_now")
    point = replace(NO_POINT, distance_to_go_nm=5.0, at=LATEST, best=chosen)
    assert " by 06:21Z (5.0 NM to go), " in headline(
        Basis.LEAVE_WHILE_CLEAN, chosen, point=point, latest_at=LATEST
    )
    assert " by 06:21Z, " in headline(Basis.LEAVE_WHILE_CLEAN, chosen, latest_at=LATEST)
    assert " now, " in headline(Basis.LEAVE_WHILE_CLEAN, chosen)


def test_how_far_the_best_way_out_falls_short_is_named_only_when_all_do() -> None:
    leaving = course("XAAA", kind="divert_now")
    all_short = headline(Basis.LEAVE_WHILE_CLEAN, leaving, short("XBBB", 300), short("XCCC", 140))
    assert "the nearest way out, XCCC, lands 140 kg under the final reserve" in all_short
    other = headline(Basis.LEAVE_WHILE_CLEAN, leaving, short("XBBB", 300), course("XCCC"))
    assert "see the findings" in other


def test_only_what_bars_a_way_out_or_carries_the_way_taken_is_a_reason() -> None:
    thin = finding("FU-01", at_least("fuel", 1300.0, 1200.0, unit="kg"))
    roomy = finding("LD-01", at_least("runway", 2000.0, 1000.0, unit="m"))
    wind = finding("WD-01", at_least("wind", 22.0, 20.0, unit="kt"))
    unlimited = finding("AP-02", at_least("visibility", 0.0, 0.0, unit="m"))
    passed = (thin, roomy, wind, unlimited)
    chosen = replace(course("XAAA"), escape_findings=passed)
    kept = reasons_of(going(chosen, Basis.ESCAPE_KEPT), (chosen,))
    assert [each.rule for each, _ in kept] == ["FU-01", "AP-02"]
    barred = finding("WX-01", holds(False, yes="", no="fog", unknown=""), at="XBBB")
    other = replace(course("XBBB"), breaches=((Breach.BELOW_MINIMA, barred),))
    leaving = reasons_of(going(chosen, Basis.LEAVE_WHILE_CLEAN), (chosen, other, other))
    assert [each.rule for each, _ in leaving] == ["WX-01", "FU-01"]


def test_what_is_missing_is_named_once_a_place_and_weather_first() -> None:
    lacks = (
        finding("AD-03", unknown("strength")),
        finding("WX-01", unknown("visibility")),
        finding("WX-01", unknown("visibility"), at="XBBB"),
    )
    judged = replace(course("XAAA"), escape_findings=lacks, legal=None)
    named = reasons_of(going(judged, Basis.MISSING), (judged, judged))
    assert [(each.rule, each.at) for each, _ in named] == [("WX-01", "XAAA"), ("WX-01", "XBBB")]


def test_the_least_bad_says_everything_that_it_breaks() -> None:
    fuel = finding("FU-01", at_least("fuel", 900.0, 1200.0, unit="kg"))
    fog = finding("AP-02", holds(False, yes="", no="fog", unknown=""))
    broken = ((Breach.BELOW_MINIMA, fog), (Breach.UNDER_RESERVE, fuel), (Breach.BELOW_MINIMA, fog))
    worst = replace(course("XAAA"), breaches=broken)
    decision = going(worst, Basis.NO_LEGAL_COURSE)
    assert [each.rule for each, _ in reasons_of(decision, (worst,))] == ["AP-02", "FU-01"]
    assert "The least bad is XAAA: fog;" in headline(Basis.NO_LEGAL_COURSE, worst)
