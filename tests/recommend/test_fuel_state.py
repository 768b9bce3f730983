"""Fuel states and declarations: from fuel where a safe landing can be made, never from weather."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation, situation_of
from decision.recommend import recommend_mapping
from decision.recommend.answer import Basis, Decision, Distress, Do, FuelState, Verdict
from decision.recommend.fuel_state import emergency_of, fuel_state_of
from decision.rules.breach import Breach
from decision.rules.combine import holds, unknown
from decision.rules.finding import Finding, Judgement, Stated
from tests.case.builders import demo, with_changes
from tests.recommend.builders import course

RESERVE_KG = 1200.0  # of every course of the builders; ten minutes of its holding flow are 400 kg
BAD_WEATHER = holds(False, yes="", no="weather below minima", unknown="")
NO_REPORT = unknown("no report")


def situation(**changes: Any) -> Situation:
    return situation_of(case_from_mapping(with_changes(demo("clean"), changes)))


def place(
    icao: str,
    spare_kg: float,
    *,
    safe: Judgement | None = None,
    rule: str = "WX-01",
    kind: str = "divert_now",
    **changes: Any,
) -> JudgedCourse:
    """A way straight to an aerodrome that lands with so much above the planned reserve."""
    judged = course(icao, kind=kind, landing_kg=RESERVE_KG + spare_kg)
    findings = () if safe is None else (finding(rule, safe),)
    return replace(
        judged, course=replace(judged.course, **changes), escape_findings=findings, breaches=()
    )


def finding(rule: str, judgement: Judgement) -> Finding:
    stated = Stated(rule=rule, title="A rule", citation="[X]")
    return Finding(stated=stated, at="XAAA", judgement=judgement)


HERE = "commit_to_land"
NORMAL, MINIMUM, MAYDAY = FuelState.NORMAL, FuelState.MINIMUM_FUEL, FuelState.MAYDAY_FUEL

STATES = [
    pytest.param([], NORMAL, id="nothing is known of any way"),
    pytest.param([place("XAAA", 50), place("XBBB", 50)], NORMAL, id="two places keep the reserve"),
    pytest.param([place("XAAA", 50), place("XBBB", -1)], MINIMUM, id="one, and a delay breaks it"),
    pytest.param([place("XAAA", 400), place("XBBB", -1)], MINIMUM, id="one, exactly the delay"),
    pytest.param([place("XAAA", 401), place("XBBB", -1)], NORMAL, id="one, and more than a delay"),
    pytest.param([place("XAAA", 0), place("XBBB", -1)], MINIMUM, id="one, exactly the reserve"),
    pytest.param([place("XAAA", -1), place("XBBB", -300)], MAYDAY, id="none keeps it"),
    pytest.param(
        [place("XAAA", 50), place("XBBB", 3000, safe=BAD_WEATHER)], MINIMUM, id="one safe place"
    ),
    pytest.param(
        [place("XAAA", -1), place("XBBB", 3000, safe=BAD_WEATHER)],
        MAYDAY,
        id="the reserve is kept only where no safe landing can be made",
    ),
    pytest.param(
        [place("XAAA", -1), place("XBBB", 3000, safe=NO_REPORT)],
        NORMAL,
        id="a safe landing with the reserve is not ruled out",
    ),
    pytest.param(
        [place("XAAA", 50, safe=BAD_WEATHER), place("XKAL", 50, safe=BAD_WEATHER, kind=HERE)],
        NORMAL,
        id="weather alone is no fuel state",
    ),
    pytest.param(
        [place("XAAA", -50, safe=BAD_WEATHER), place("XKAL", -1, safe=BAD_WEATHER, kind=HERE)],
        MAYDAY,
        id="below minima everywhere and too little fuel everywhere",
    ),
    pytest.param(
        [place("XAAA", -50), place("XKAL", 900, safe=BAD_WEATHER, rule="CM-01", kind=HERE)],
        NORMAL,
        id="conditions of committing do not make the landing here unsafe",
    ),
    pytest.param(
        [place("XAAA", -50), place("XKAL", 100, kind=HERE)], MINIMUM, id="the destination counts"
    ),
    pytest.param(
        [place("XAAA", -50, kind="approach_then_divert"), place("XBBB", 900)],
        NORMAL,
        id="only straight ways count",
    ),
    pytest.param([place("XAAA", -50, unknown=("leak",))], NORMAL, id="a leak of unknown rate"),
    pytest.param([place("XAAA", 0, ledger=None)], NORMAL, id="a way that cannot be flown"),
]


@pytest.mark.parametrize(("courses", "state"), STATES)
def test_the_fuel_state_is_as_the_annex_defines_it(
    courses: list[JudgedCourse], state: FuelState
) -> None:
    assert fuel_state_of(courses, situation()) is state


def test_the_delay_of_the_policy_decides_minimum_fuel() -> None:
    ways = [place("XAAA", 450), place("XBBB", -1)]
    assert fuel_state_of(ways, situation()) is NORMAL
    assert fuel_state_of(ways, situation(**{"/policy/delay_min": 12})) is MINIMUM


def decision(chosen: JudgedCourse, basis: Basis = Basis.ESCAPE_KEPT) -> Decision:
    return Decision(verdict=Verdict.NO_GO, do=Do.DIVERT, basis=basis, chosen=chosen)


def test_mayday_fuel_is_declared_in_the_words_of_the_annex_with_the_endurance() -> None:
    told = emergency_of(decision(place("XAAA", -200)), MAYDAY, situation())
    assert told.level is Distress.DISTRESS
    assert told.phrase == "MAYDAY MAYDAY MAYDAY FUEL, VENTO 318, 25 minutes on landing"


def test_an_endurance_is_never_negative_and_not_named_where_it_is_not_known() -> None:
    empty = emergency_of(decision(place("XAAA", -1500)), MAYDAY, situation())
    assert empty.phrase.endswith(", 0 minutes on landing")
    unflown = emergency_of(decision(place("XAAA", 0, ledger=None)), MAYDAY, situation())
    assert unflown.phrase == "MAYDAY MAYDAY MAYDAY FUEL, VENTO 318"


def test_no_legal_course_is_distress_of_another_kind() -> None:
    chosen = place("XAAA", 500, safe=BAD_WEATHER)
    broken = replace(chosen, breaches=((Breach.BELOW_MINIMA, chosen.escape_findings[0]),))
    told = emergency_of(decision(broken, Basis.NO_LEGAL_COURSE), NORMAL, situation())
    assert told.level is Distress.DISTRESS
    assert told.phrase == "MAYDAY MAYDAY MAYDAY, VENTO 318, intend to land at XAAA"
    assert told.reason == "no course keeps every rule: A rule"
    unsaid = emergency_of(decision(chosen, Basis.NO_LEGAL_COURSE), NORMAL, situation())
    assert unsaid.reason.endswith("what is not known")


def test_minimum_fuel_is_said_and_is_no_emergency() -> None:
    told = emergency_of(decision(place("XAAA", 50)), MINIMUM, situation())
    assert (told.level, told.phrase) == (Distress.NONE, "VENTO 318, MINIMUM FUEL")


@pytest.mark.parametrize(
    ("failures", "basis", "level", "reason"),
    [
        ([], Basis.ESCAPE_KEPT, Distress.NONE, "no declaration called for"),
        ([], Basis.COMMIT_PERMITTED, Distress.URGENCY, "the landing here is committed"),
        (["smoke"], Basis.ESCAPE_KEPT, Distress.URGENCY, "as soon as possible"),
        (["engine-1"], Basis.ESCAPE_KEPT, Distress.URGENCY, "nearest suitable"),
        (["gear-unsafe-indication"], Basis.ESCAPE_KEPT, Distress.URGENCY, "not confirmed locked"),
        (["gear-main-leg-stuck"], Basis.ESCAPE_KEPT, Distress.DISTRESS, "main leg"),
        (["hydraulic-1", "hydraulic-2"], Basis.ESCAPE_KEPT, Distress.DISTRESS, "flight controls"),
    ],
)
def test_a_failure_that_presses_is_urgency_and_an_unsafe_landing_is_distress(
    failures: list[str], basis: Basis, level: Distress, reason: str
) -> None:
    told = emergency_of(decision(place("XAAA", 900), basis), NORMAL, with_failures(*failures))
    assert told.level is level
    assert reason in told.reason
    assert told.phrase == PHRASES[level]


PHRASES = {
    Distress.NONE: "",
    Distress.URGENCY: "PAN PAN, PAN PAN, PAN PAN, VENTO 318",
    Distress.DISTRESS: "MAYDAY MAYDAY MAYDAY, VENTO 318",
}


def with_failures(*ids: str) -> Situation:
    gear = "unsafe" if "gear-unsafe-indication" in ids else "up"
    return situation(**{"/failures": [{"id": id_} for id_ in ids], "/aircraft/gear": gear})


@pytest.mark.parametrize(
    ("id_", "level"), [("smoke", Distress.URGENCY), ("gear-main-leg-stuck", Distress.DISTRESS)]
)
def test_minimum_fuel_does_not_hide_what_the_failure_asks_for(id_: str, level: Distress) -> None:
    told = emergency_of(decision(place("XAAA", 50)), MINIMUM, with_failures(id_))
    assert told.level is level
    assert told.phrase == f"{PHRASES[level]}, MINIMUM FUEL"


@pytest.mark.parametrize("fuel_kg", [3000, 4000, 6000])
def test_fog_everywhere_is_never_mayday_fuel(fuel_kg: int) -> None:
    """Every aerodrome can be reached with the reserve; none is at minima."""
    body = with_changes(demo("gear-stuck"), {"/fuel/on_board_kg": fuel_kg})
    fog = "26004KT 0050 FG VV/// 08/08 Q1013"
    body["weather"]["reports"] = [f"METAR {x} 140600Z {fog}" for x in ("XKAL", "XBRE", "XTOR")]
    told = recommend_mapping(case_from_mapping(body))
    assert told["fuel_state"] == "NORMAL"
    assert "FUEL" not in told["emergency"]["phrase"]
