"""Fuel states and declarations: from fuel, failures and breaches, never from the deciding row."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.decide.decision import Basis, Distress, Do, Emergency, FuelState, Verdict
from decision.decide.fuel_state import emergency_of, fuel_state_of
from decision.decide.judge import JudgedCourse
from decision.recommend import recommend_answer
from decision.rulebooks.rulebook import Force
from decision.rules.finding import Finding
from decision.rules.row import Breach
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.decide.by_hand import (
    RESERVE_KG,
    broken,
    course,
    decision,
    landing_here,
    leaving,
    open_question,
    situation,
    told,
    way_out,
)

FOG = broken("WX-01", Breach.BELOW_MINIMA)
TOO_SHORT = broken("LD-02", Breach.CANNOT_STOP)
FACTOR = broken("LD-01", Breach.LANDING_FACTOR)
LITTLE = broken("FU-01", Breach.FUEL_NEARLY_GONE)
ADVICE = broken("HZ-02", Breach.GUIDANCE, force=Force.GUIDANCE)
BLIND = open_question("WX-01")
NORMAL, MINIMUM, MAYDAY = FuelState.NORMAL, FuelState.MINIMUM_FUEL, FuelState.MAYDAY_FUEL


def place(icao: str, spare_kg: float, *found: Finding, **changes: Any) -> JudgedCourse:
    """A way straight to an aerodrome that lands with so much above the planned reserve."""
    return leaving(icao, *found, landing_kg=RESERVE_KG + spare_kg, **changes)


def here(spare_kg: float, *found: Finding) -> JudgedCourse:
    """The same for landing at the destination, XKAL."""
    return landing_here(*found, landing_kg=RESERVE_KG + spare_kg)


# Where the action leads is XAAA; ten minutes of holding are 400 kg.
STATES = [
    pytest.param([], NORMAL, id="nothing is known of any way"),
    pytest.param([place("XAAA", 401), place("XBBB", 50)], NORMAL, id="there is room for a delay"),
    pytest.param([place("XAAA", 400)], MINIMUM, id="exactly the delay"),
    pytest.param([place("XAAA", 401)], NORMAL, id="a kilogram more than the delay"),
    pytest.param([place("XAAA", 0)], MINIMUM, id="exactly the reserve"),
    pytest.param([place("XAAA", -1)], MAYDAY, id="a kilogram less than the reserve"),
    pytest.param(
        [place("XAAA", 50), place("XBBB", 401)], NORMAL, id="another safe place has room for it"
    ),
    pytest.param(
        [place("XAAA", 50), place("XBBB", 50)], MINIMUM, id="neither of two has room for a delay"
    ),
    pytest.param(
        [place("XAAA", 50), place("XBBB", 3000, FOG)], MINIMUM, id="the other is no safe place"
    ),
    pytest.param(
        [place("XAAA", 50), place("XBBB", 3000, FACTOR)], NORMAL, id="a factor missed is still safe"
    ),
    pytest.param(
        [place("XAAA", 50), place("XBBB", 3000, ADVICE)], NORMAL, id="advised against is still safe"
    ),
    pytest.param(
        [place("XAAA", -1), place("XBBB", 0)], MINIMUM, id="the reserve is kept at the other alone"
    ),
    pytest.param(
        [place("XAAA", -1), place("XBBB", 401)], NORMAL, id="and with room for a delay there"
    ),
    pytest.param([place("XAAA", -1), place("XBBB", -300)], MAYDAY, id="kept at neither"),
    pytest.param(
        [place("XAAA", -1), place("XBBB", 3000, FOG)], MAYDAY, id="kept only where it is not safe"
    ),
    pytest.param([place("XAAA", -1), place("XBBB", 3000, BLIND)], NORMAL, id="a report that lacks"),
    pytest.param(
        [place("XAAA", 900, FOG), place("XBBB", 900, TOO_SHORT)], NORMAL, id="weather is no fuel"
    ),
    pytest.param(
        [place("XAAA", 50, FOG), place("XBBB", 50, FOG)], MINIMUM, id="no place is safe: by fuel"
    ),
    pytest.param(
        [place("XAAA", -50, FOG), place("XBBB", -1, FOG)], MAYDAY, id="no place, and no fuel"
    ),
    pytest.param(
        [place("XAAA", -1, FOG), place("XBBB", 900, FOG)],
        NORMAL,
        id="no place is safe, and another has room for a delay",
    ),
    pytest.param(
        [place("XAAA", -900, LITTLE), place("XBBB", -1, FOG)], MAYDAY, id="little fuel is no danger"
    ),
    pytest.param([place("XAAA", -50), here(900)], NORMAL, id="the destination counts"),
    pytest.param([place("XAAA", -50), here(0)], MINIMUM, id="the destination counts, if barely"),
    pytest.param(
        [place("XAAA", 50), here(900, broken("CM-01", Breach.COMMIT_CONDITIONS, at="XKAL"))],
        NORMAL,
        id="conditions of committing make no landing unsafe",
    ),
    pytest.param(
        [way_out("XAAA", landing_kg=100.0), place("XBBB", 900)], NORMAL, id="only straight ways"
    ),
    pytest.param(
        [place("XAAA", -50, origin="last_clean_point"), place("XBBB", 900)],
        NORMAL,
        id="only straight ways from here",
    ),
    pytest.param([place("XAAA", 0, ledger=None)], NORMAL, id="a way that cannot be flown"),
]


@pytest.mark.parametrize(("courses", "state"), STATES)
def test_the_fuel_state_is_as_the_annex_defines_it(
    courses: list[JudgedCourse], state: FuelState
) -> None:
    assert fuel_state_of(courses, situation(), place="XAAA") is state


def test_room_where_the_aircraft_goes_is_enough_and_room_elsewhere_is_too() -> None:
    ways = [place("XAAA", 50), place("XBBB", 401)]
    for where in ("XAAA", "XBBB", "XZZZ"):
        assert fuel_state_of(ways, situation(), place=where) is NORMAL


def test_an_unsafe_place_where_the_aircraft_goes_counts_by_its_own_fuel() -> None:
    """It goes to XAAA in fog for want of better; the safe XBBB has hardly its reserve."""
    ways = [place("XAAA", 900, FOG), place("XBBB", 50)]
    assert fuel_state_of(ways, situation(), place="XAAA") is NORMAL
    assert fuel_state_of(ways, situation(), place="XBBB") is MINIMUM


def test_the_delay_of_the_policy_decides_minimum_fuel() -> None:
    ways = [place("XAAA", 450)]
    assert fuel_state_of(ways, situation(), place="XAAA") is NORMAL
    longer = situation(**{"/policy/delay_min": 12})
    assert fuel_state_of(ways, longer, place="XAAA") is MINIMUM


def test_what_a_delay_drains_has_the_leak_in_it() -> None:
    """The holding flow of a course carries the leak; twice the flow is half the delay."""
    ways = [place("XAAA", 450, holding_flow_kg_per_h=4800.0)]
    assert fuel_state_of(ways, situation(), place="XAAA") is MINIMUM


# --- what is declared ---


def with_failures(*ids: str, **changes: Any) -> Any:
    gear = "unsafe" if "gear-unsafe-indication" in ids else "up"
    named = {"/failures": [{"id": id_} for id_ in ids], "/aircraft/gear": gear}
    return situation(**named, **changes)


def declared(
    chosen: JudgedCourse,
    state: FuelState = NORMAL,
    *failures: str,
    do: str = "DIVERT",
    **changes: Any,
) -> Emergency:
    return emergency_of(decision(chosen, do), state, with_failures(*failures, **changes))


SOUND = place("XAAA", 900)


def test_mayday_fuel_is_distress_whatever_else_is_so() -> None:
    assert declared(SOUND, MAYDAY).level is Distress.DISTRESS
    assert declared(SOUND, MAYDAY, "engine-1").level is Distress.DISTRESS
    assert "final reserve" in declared(SOUND, MAYDAY).reason


def test_minimum_fuel_is_a_call_and_no_emergency() -> None:
    emergency = declared(SOUND, MINIMUM)
    assert emergency.level is Distress.NONE
    assert "a call, no emergency" in emergency.reason


def test_nothing_is_declared_for_a_sound_aircraft_with_fuel() -> None:
    assert declared(SOUND) == Emergency(level=Distress.NONE, reason="no declaration called for")
    assert declared(SOUND, do="COMMIT").level is Distress.NONE


@pytest.mark.parametrize("breach", list(Breach))
def test_the_level_follows_from_the_gravest_breach_of_the_chosen_course(breach: Breach) -> None:
    level = declared(place("XAAA", 900, broken("AD-01", breach, what="the thing"))).level
    expected = Distress.NONE
    if breach <= Breach.WIND_FAR_BEYOND:
        expected = Distress.DISTRESS
    elif breach in (Breach.UNDER_RESERVE, Breach.WIND_LIMIT, Breach.LANDING_FACTOR):
        expected = Distress.URGENCY
    assert level is expected


@pytest.mark.parametrize(
    "breach",
    [Breach.LANDING_MASS, Breach.PLANNING_BAR, Breach.COMMIT_CONDITIONS, Breach.GUIDANCE],
)
def test_mass_planning_conditions_and_guidance_alone_declare_nothing(breach: Breach) -> None:
    assert declared(place("XAAA", 900, broken("AD-01", breach))).level is Distress.NONE


@pytest.mark.parametrize("basis", list(Basis))
@pytest.mark.parametrize("verdict", list(Verdict))
def test_the_name_of_the_row_declares_nothing(basis: Basis, verdict: Verdict) -> None:
    named = replace(decision(SOUND), basis=basis, verdict=verdict)
    assert emergency_of(named, NORMAL, situation()).level is Distress.NONE


def test_while_it_holds_what_a_landing_now_would_break_is_not_declared() -> None:
    foggy = landing_here(FOG)
    assert declared(foggy, do="COMMIT").level is Distress.DISTRESS
    assert declared(foggy, do="HOLD").level is Distress.NONE


@pytest.mark.parametrize(
    ("failures", "do", "level", "reason"),
    [
        (["smoke"], "APPROACH", Distress.DISTRESS, "as soon as possible"),
        (["hydraulic-1", "hydraulic-2"], "APPROACH", Distress.DISTRESS, "as soon as possible"),
        (["engine-1"], "APPROACH", Distress.URGENCY, "nearest suitable"),
        (["gear-unsafe-indication"], "APPROACH", Distress.URGENCY, "not confirmed locked"),
        (["gear-main-leg-stuck"], "APPROACH", Distress.URGENCY, "main leg"),
        (["gear-retraction"], "COMMIT", Distress.URGENCY, "committed landing of a degraded"),
        (["gear-retraction"], "APPROACH", Distress.NONE, "no declaration"),
        (["gear-retraction"], "DIVERT", Distress.NONE, "no declaration"),
        ([], "COMMIT", Distress.NONE, "no declaration"),
    ],
)
def test_the_level_follows_from_urgency_and_what_the_landing_is_like(
    failures: list[str], do: str, level: Distress, reason: str
) -> None:
    emergency = declared(SOUND, NORMAL, *failures, do=do)
    assert emergency.level is level
    assert reason in emergency.reason


def test_a_leak_is_urgency() -> None:
    leaking: dict[str, Any] = {"/fuel/leak_kg_per_h": 400}
    emergency = declared(SOUND, **leaking)
    assert (emergency.level, emergency.reason) == (Distress.URGENCY, "a fuel leak")


def test_the_gravest_reason_is_told_first() -> None:
    """A failure that presses outweighs a limit, and a danger outweighs both."""
    both = place("XAAA", 900, broken("WD-01", Breach.WIND_LIMIT, what="crosswind"))
    assert "nearest suitable" in declared(both, NORMAL, "engine-1").reason
    grave = place("XAAA", 900, broken("LD-02", Breach.CANNOT_STOP, what="runway too short"))
    assert declared(grave, NORMAL, "engine-1").reason == "runway too short"


# --- whole answers ---


@pytest.mark.parametrize("fuel_kg", [4000, 6000])
def test_fog_everywhere_is_never_mayday_fuel(fuel_kg: int) -> None:
    """Every aerodrome can be reached with the reserve; none is at minima."""
    body = with_changes(demo("gear-stuck"), {"/fuel/on_board_kg": fuel_kg})
    fog = "26004KT 0050 FG VV/// 08/08 Q1013"
    body["weather"]["reports"] = [f"METAR {x} 140600Z {fog}" for x in ("XKAL", "XBRE", "XTOR")]
    answer = told_of(case_from_mapping(body))
    assert answer["fuel_state"] == "NORMAL"
    assert "FUEL" not in answer["emergency"]["phrase"]


def test_minimum_fuel_of_a_sound_aircraft_is_called_and_nothing_is_declared() -> None:
    """The only other place is short of the reserve; here is a little more than it."""
    answer = told(
        "clean", **{"/failures": [], "/fuel/on_board_kg": 1700, "/aircraft/mass_kg": 58_550}
    )
    assert answer["fuel_state"] == "MINIMUM_FUEL"
    assert answer["emergency"]["level"] == "NONE"
    assert answer["emergency"]["phrase"] == "VENTO 318, MINIMUM FUEL"


def test_a_flow_observed_above_the_model_brings_the_call_earlier() -> None:
    changes = {"/failures": [], "/fuel/on_board_kg": 2010, "/aircraft/mass_kg": 58_860}
    modelled = told("clean", **changes)
    observed = told("clean", **changes, **{"/fuel/observed_flow_kg_per_h": 3400})
    assert modelled["fuel_state"] == "NORMAL"
    assert observed["fuel_state"] in ("MINIMUM_FUEL", "MAYDAY_FUEL")


def test_more_fuel_never_worsens_the_state() -> None:
    order = ["MAYDAY_FUEL", "MINIMUM_FUEL", "NORMAL"]
    states = [
        order.index(
            told("clean", **{"/fuel/on_board_kg": kg, "/aircraft/mass_kg": 56_850 + kg})[
                "fuel_state"
            ]
        )
        for kg in range(1200, 2400, 150)
    ]
    assert states == sorted(states)
    assert set(states) == {0, 1, 2}


def test_the_words_of_mayday_fuel_are_those_of_the_annex() -> None:
    answer = recommend_answer(case_from_mapping(demo("nothing-legal")))
    assert answer.fuel_state is MAYDAY
    assert answer.emergency.phrase.startswith("MAYDAY MAYDAY MAYDAY FUEL, VENTO 318")
    assert answer.action.do is not Do.HOLD


def test_a_course_of_no_place_is_no_fuel_state() -> None:
    assert fuel_state_of([course("XAAA")], situation(), place="XAAA") is NORMAL
