"""Who is told what: the words follow from what is decided and from what broke."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from decision.answer import Answer, tell
from decision.answer.messages import PREFIX, Talk, messages_of, phrase_of
from decision.answer.types import Ask, Whom
from decision.case import case_from_mapping
from decision.decide.decision import Basis, Distress, Do, Emergency, FuelState
from decision.recommend import Recommendation, recommend
from decision.rules.row import Breach
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.decide.by_hand import (
    broken,
    decision,
    landing_here,
    leaving,
    situation,
    way_out,
)

CONTROL, CABIN, DISPATCH = Whom.AIR_TRAFFIC_CONTROL, Whom.CABIN, Whom.DISPATCH


@cache
def answered(name: str) -> Recommendation:
    return recommend(case_from_mapping(demo(name)))


def changed(name: str, **changes: Any) -> Recommendation:
    return recommend(case_from_mapping(with_changes(demo(name), changes)))


def published(answer: Recommendation) -> Answer:
    return tell(answer, include=frozenset())


def told(answer: Recommendation) -> dict[Whom, str]:
    return {message.to: message.text for message in published(answer).messages}


# --- every demo case ---


@pytest.mark.parametrize("name", NAMES)
def test_air_traffic_control_hears_who_calls_and_then_where_to(name: str) -> None:
    answer = answered(name)
    text = told(answer)[CONTROL]
    called = published(answer).emergency.phrase or answer.situation.case.flight_id
    assert text.startswith(f"{called}.")
    course = answer.decision.chosen.course
    place = course.icao if answer.decision.do is Do.DIVERT else course.attempts[0].icao
    assert place in text


@pytest.mark.parametrize("name", NAMES)
def test_action_headline_and_messages_agree_in_place_and_runway(name: str) -> None:
    answer = answered(name)
    course = answer.decision.chosen.course
    landing = course.attempts[-1] if answer.decision.do is Do.DIVERT else course.attempts[0]
    assert landing.runway is not None
    place = f"{landing.icao} runway {landing.runway.ident}"
    assert place in published(answer).headline
    assert place in told(answer)[CONTROL]
    if DISPATCH in told(answer):
        assert place in told(answer)[DISPATCH]


@pytest.mark.parametrize("name", NAMES)
def test_a_declared_emergency_tells_its_position_level_and_persons_and_asks_for_rescue(
    name: str,
) -> None:
    answer = answered(name)
    text = told(answer)[CONTROL]
    declared = answer.emergency.level is not Distress.NONE
    for words in ("rescue and fire services", "Position ", "Persons on board"):
        assert (words in text) is declared


@pytest.mark.parametrize("name", NAMES)
def test_the_nature_of_the_failure_is_in_every_message(name: str) -> None:
    answer = answered(name)
    natures = answer.situation.capability.natures
    assert told(answer)
    for whom, text in told(answer).items():
        for nature in natures if whom is not CABIN else ():
            assert nature.lower() in text.lower()
    if natures:
        assert {CONTROL, CABIN, DISPATCH} <= set(told(answer))


FORBIDDEN = {
    Do.APPROACH: ("Request diversion", "Diverting", "committed", "Request to hold"),
    Do.DIVERT: ("committed", "no diversion", "Request to hold", "Intend to approach"),
    Do.COMMIT: ("Request diversion", "Diverting", "Request to hold", "Intend to approach"),
    Do.HOLD: ("committed", "Diverting", "Request diversion", "Intend to land"),
}


@pytest.mark.parametrize("name", NAMES)
def test_no_message_has_the_words_of_another_action(name: str) -> None:
    answer = answered(name)
    said = " ".join(told(answer).values())
    assert said
    assert not [words for words in FORBIDDEN[answer.decision.do] if words in said]


# --- order and words of the call ---

HEADED: dict[str, Any] = {
    "/failures": [{"id": "smoke"}],
    "/aircraft/heading_true_deg": 95,
    "/aircraft/persons_on_board": 131,
}


def test_the_distress_message_is_in_the_order_of_the_annex() -> None:
    """Identification and nature, intention, position, level, heading, then the rest."""
    text = told(changed("time-critical", **HEADED))[CONTROL]
    order = (
        "MAYDAY MAYDAY MAYDAY, VENTO 318",
        "smoke",
        "Intend",
        "Position 4712N 03557W",
        "9000 feet",
        "heading 095 true",
        "Endurance",
        "Persons on board: 131.",
        "rescue and fire services",
    )
    places = [text.find(words) for words in order]
    assert -1 not in places
    assert places == sorted(places)


def test_without_a_position_the_miles_to_the_destination_are_told() -> None:
    text = told(changed("time-critical", **HEADED, **{"/aircraft/position": REMOVED}))[CONTROL]
    assert "Position 30 miles from XKAL" in text


def test_without_position_and_miles_the_crew_adds_it() -> None:
    nowhere = {"/aircraft/position": REMOVED, "/destination/track_nm": REMOVED}
    text = told(changed("engine-out-nearer-place", **{"/destination/track_nm": REMOVED}))[CONTROL]
    assert "Position: crew to add" in text
    assert "Position: crew to add" in told(changed("time-critical", **HEADED, **nowhere))[CONTROL]


def test_south_and_east_are_said_as_such() -> None:
    where = {"latitude_deg": -47.995, "longitude_deg": 0.5}
    text = told(changed("time-critical", **HEADED, **{"/aircraft/position": where}))[CONTROL]
    assert "Position 4800S 00030E" in text


def test_from_ten_thousand_feet_a_level_is_a_flight_level() -> None:
    high: dict[str, Any] = {
        "/failures": [{"id": "smoke"}],
        "/aircraft/pressure_altitude_ft": 10_000,
    }
    text = told(changed("time-critical", **high))[CONTROL]
    assert "heading" not in text
    assert "flight level 100" in text
    assert "Persons on board: crew to add." in text


def talk(do: str = "DIVERT", level: Distress = Distress.NONE, **changes: Any) -> Talk:
    """A sound aircraft that leaves for XAAA, unless it is said otherwise."""
    drawn: dict[str, Any] = {
        "situation": situation(**{"/failures": []}),
        "decision": decision(leaving("XAAA"), do),
        "emergency": Emergency(level=level, reason="a reason"),
        "state": FuelState.NORMAL,
        "asks": (),
    }
    return Talk(**(drawn | changes))


@pytest.mark.parametrize(
    ("level", "state", "phrase"),
    [
        (Distress.NONE, FuelState.NORMAL, ""),
        (Distress.NONE, FuelState.MINIMUM_FUEL, "VENTO 318, MINIMUM FUEL"),
        (Distress.URGENCY, FuelState.NORMAL, "PAN PAN, PAN PAN, PAN PAN, VENTO 318"),
        (
            Distress.URGENCY,
            FuelState.MINIMUM_FUEL,
            "PAN PAN, PAN PAN, PAN PAN, VENTO 318, MINIMUM FUEL",
        ),
        (Distress.DISTRESS, FuelState.NORMAL, "MAYDAY MAYDAY MAYDAY, VENTO 318"),
        (Distress.DISTRESS, FuelState.MAYDAY_FUEL, "MAYDAY MAYDAY MAYDAY FUEL, VENTO 318"),
    ],
)
def test_the_call_is_that_of_the_level_and_of_the_fuel_state(
    level: Distress, state: FuelState, phrase: str
) -> None:
    assert phrase_of(talk(level=level, state=state)) == phrase


@pytest.mark.parametrize("breach", [each for each in Breach if each <= Breach.LANDING_FACTOR])
def test_a_sound_aircraft_says_in_a_few_words_what_is_the_matter(breach: Breach) -> None:
    chosen = leaving("XAAA", broken("AD-01", breach))
    said = phrase_of(talk(level=Distress.DISTRESS, decision=decision(chosen)))
    nature = said.removeprefix("MAYDAY MAYDAY MAYDAY, VENTO 318, ")
    assert 2 <= len(nature.split()) <= 7
    assert nature != said


def test_a_leak_is_the_nature_of_the_call() -> None:
    leaking = situation(**{"/failures": [], "/fuel/leak_kg_per_h": 300})
    assert phrase_of(talk(level=Distress.URGENCY, situation=leaking)).endswith(", fuel leak")


def test_every_declared_level_has_its_word() -> None:
    assert set(PREFIX) == set(Distress) - {Distress.NONE}


def texts(made: Talk) -> dict[Whom, str]:
    return {each.to: each.text for each in messages_of(made)}


INTENTIONS = [
    (
        "APPROACH",
        way_out("XAAA"),
        "Intend to approach XKAL runway 27R; after a missed approach, XAAA.",
    ),
    ("APPROACH", landing_here(), "Intend to approach XKAL runway 27R."),
    ("DIVERT", leaving("XAAA"), "Request diversion to XAAA runway 27R."),
    ("HOLD", way_out("XAAA", hold_min=18.2), "Request to hold for 19 min, then to approach XKAL"),
    ("HOLD", landing_here(), "Request to hold, then to approach XKAL runway 27R."),
    ("COMMIT", landing_here(), "Intend to land at XKAL runway 27R; a missed approach leaves no"),
]


@pytest.mark.parametrize(("do", "chosen", "words"), INTENTIONS)
def test_the_intention_is_that_of_the_action(do: str, chosen: Any, words: str) -> None:
    made = talk(do, decision=decision(chosen, do))
    assert texts(made)[CONTROL].startswith(f"VENTO 318. {words}")
    assert "27R" in texts(made)[DISPATCH]


def test_nothing_special_is_told_to_nobody_but_air_traffic_control() -> None:
    sound = changed("clean", **{"/failures": []})
    assert set(told(sound)) == {CONTROL}
    assert "after a missed approach, X" in told(sound)[CONTROL]


def test_an_approach_without_an_alternate_is_told_to_dispatch() -> None:
    text = told(answered("no-alternate"))[DISPATCH]
    assert text.startswith("Approaching XKAL runway 27R, landing 06:")


def test_a_committed_landing_says_that_a_miss_leaves_no_diversion() -> None:
    text = told(answered("commit-permitted"))
    assert "a missed approach leaves no diversion" in text[CONTROL]
    assert "that the runway is kept free" in text[CONTROL]
    assert text[DISPATCH].startswith("Landing is committed at XKAL runway 27R, landing 06:")


def test_a_hold_is_asked_for_in_minutes_rounded_up_and_with_the_approach_after_it() -> None:
    answer = answered("wait-for-fog")
    minutes = -int(-answer.decision.chosen.course.hold_min // 1)
    text = told(answer)
    assert f"Request to hold for {minutes} min, then to approach XKAL runway 27R." in text[CONTROL]
    assert "says later where and when" in text[CABIN]


def test_what_is_missing_is_asked_of_control_and_of_dispatch() -> None:
    answer = answered("alternate-weather-missing")
    text = told(answer)
    asks = published(answer).ask
    assert asks
    assert f"Request {asks[0].what}." in text[CONTROL]
    assert f"Send {asks[0].what}." in text[DISPATCH]
    assert "says later where and when" in text[CABIN]


def test_what_control_does_not_have_is_not_requested_of_it() -> None:
    oxygen = Ask(what="minutes of oxygen", whom="the crew", by_at=None)
    report = Ask(what="the report", whom="air traffic control or dispatch", by_at=None)
    text = texts(talk(asks=(oxygen, report)))[CONTROL]
    assert "Request the report." in text
    assert "oxygen" not in text


def test_an_endurance_is_not_told_where_fuel_is_not_known() -> None:
    known = texts(talk(level=Distress.URGENCY))[CONTROL]
    assert "Endurance 80 min." in known, "thirty to the landing, fifty after it"
    blind = decision(leaving("XAAA", unknown=("leak",)))
    assert "Endurance" not in texts(talk(level=Distress.URGENCY, decision=blind))[CONTROL]
    unflown = decision(leaving("XAAA", ledger=None, arrive_at=None))
    told_ = texts(talk(level=Distress.URGENCY, decision=unflown))
    assert "Endurance" not in told_[CONTROL]
    assert "the figures for it are not known" in told_[DISPATCH]
    assert "Landing at" not in told_[CABIN]


@pytest.mark.parametrize(
    ("failure", "atc", "cabin"),
    [
        ("nose-wheel-steering", "block it until it is towed", "waits there for a tug"),
        ("gear-nose-leg-stuck", "Landing without the nose leg", "emergency landing"),
    ],
)
def test_a_landing_that_blocks_the_runway_is_told_to_those_who_must_know(
    failure: str, atc: str, cabin: str
) -> None:
    answer = changed("clean", **{"/failures": [{"id": failure}]})
    text = told(answer)
    assert atc in text[CONTROL] or atc in answer.emergency.reason
    assert cabin in text[CABIN]
    assert "owing" in text[DISPATCH]
    assert text[DISPATCH].count("owing ") == 1


def test_dispatch_hears_where_to_even_without_figures() -> None:
    lost = changed(
        "nothing-legal",
        **{
            "/alternates/0/track_from_present_nm": REMOVED,
            "/alternates/1/track_from_present_nm": REMOVED,
            "/destination/track_nm": REMOVED,
            "/aircraft/position": REMOVED,
        },
    )
    assert "the figures for it are not known" in told(lost)[DISPATCH]


def test_each_hazard_of_the_landing_is_said_to_control_once() -> None:
    ids = ("gear-main-leg-stuck", "gear-nose-leg-stuck")
    answer = changed("clean", **{"/failures": [{"id": id_} for id_ in ids]})
    said = told(answer)[CONTROL].lower()
    for leg in ("main leg", "nose leg"):
        assert (
            f"landing without a {leg}" in said
            or f"landing without the {leg}" in said
            or (leg in answer.emergency.reason)
        )
        assert said.count(f"without the {leg}") + said.count(f"without a {leg}") <= 1


def test_what_the_manual_has_to_say_is_not_asked_of_control() -> None:
    answer = changed("clean", **{"/failures": [{"id": "gear-main-leg-stuck"}]})
    assert "manual" not in told(answer)[CONTROL]
    assert "the latest report" not in told(answer)[CONTROL]


def test_a_failure_that_is_no_emergency_is_told_to_control_all_the_same() -> None:
    answer = answered("gear-stuck")
    assert answer.emergency.level is Distress.NONE
    assert told(answer)[CONTROL].startswith("VENTO 318. Unable to retract gear.")


@pytest.mark.parametrize("basis", [Basis.ESCAPE_KEPT, Basis.ONE_WAY_OUT, Basis.ESCAPE_THIN])
def test_of_an_ordinary_approach_nobody_else_is_told(basis: Basis) -> None:
    made = talk("APPROACH", decision=decision(way_out("XAAA"), "APPROACH", basis=basis))
    assert set(texts(made)) == {CONTROL}
