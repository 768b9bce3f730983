"""Who is told what: the words follow from what is decided and from what broke."""

from __future__ import annotations

from functools import cache

import pytest

from decision.case import case_from_mapping
from decision.recommend import Recommendation, recommend
from decision.recommend.answer import Basis, Distress, Whom
from tests.case.builders import CASES, REMOVED, demo, with_changes

NAMES = sorted(path.stem for path in CASES.glob("*.json"))


@cache
def answered(name: str) -> Recommendation:
    return recommend(case_from_mapping(demo(name)))


def told(answer: Recommendation) -> dict[Whom, str]:
    return {message.to: message.text for message in answer.messages}


@pytest.mark.parametrize("name", NAMES)
def test_air_traffic_control_hears_who_calls_and_then_where_to(name: str) -> None:
    answer = answered(name)
    text = told(answer)[Whom.AIR_TRAFFIC_CONTROL]
    called = answer.emergency.phrase or answer.situation.case.flight_id
    assert text.startswith(f"{called}.")
    missing = answer.decision.basis is Basis.MISSING
    place = answer.reasons[0][0].at if missing else answer.decision.chosen.course.icao
    assert place in text


@pytest.mark.parametrize("name", NAMES)
def test_a_declared_emergency_tells_its_nature_endurance_and_asks_for_rescue(name: str) -> None:
    answer = answered(name)
    text = told(answer)[Whom.AIR_TRAFFIC_CONTROL]
    declared = answer.emergency.level is not Distress.NONE
    assert ("rescue and fire services" in text) is declared
    assert ("Endurance" in text) is declared
    if declared:
        assert answer.emergency.reason[1:].rstrip(".") in text


def test_nothing_special_is_told_to_nobody_but_air_traffic_control() -> None:
    sound = with_changes(demo("clean"), {"/failures": []})
    answer = recommend(case_from_mapping(sound))
    assert set(told(answer)) == {Whom.AIR_TRAFFIC_CONTROL}
    assert "after a miss, request" in told(answer)[Whom.AIR_TRAFFIC_CONTROL]


def test_a_committed_landing_says_that_no_way_out_is_left() -> None:
    text = told(answered("commit-permitted"))
    assert "no diversion is left after a miss" in text[Whom.AIR_TRAFFIC_CONTROL]
    assert text[Whom.DISPATCH].startswith("Landing is committed at XKAL")


def test_a_hold_is_asked_for_in_minutes_and_with_the_approach_after_it() -> None:
    answer = answered("wait-for-fog")
    minutes = int(answer.decision.chosen.course.hold_min)
    text = told(answer)[Whom.AIR_TRAFFIC_CONTROL]
    assert f"Request to hold for {minutes} min." in text


@pytest.mark.parametrize(
    ("failure", "atc", "cabin"),
    [
        ("nose-wheel-steering", "block it until it is towed", "stays on the runway"),
        ("gear-nose-leg-stuck", "Landing without the nose leg", "emergency landing"),
    ],
)
def test_a_landing_that_blocks_the_runway_is_told_to_those_who_must_know(
    failure: str, atc: str, cabin: str
) -> None:
    body = with_changes(demo("clean"), {"/failures": [{"id": failure}]})
    text = told(recommend(case_from_mapping(body)))
    assert atc in text[Whom.AIR_TRAFFIC_CONTROL]
    assert cabin in text[Whom.CABIN]
    assert "Towing is needed" in text[Whom.DISPATCH]


def test_nothing_is_announced_that_is_not_decided_and_what_is_missing_is_asked_for() -> None:
    text = told(answered("alternate-weather-missing"))
    assert "Request the present weather" in text[Whom.AIR_TRAFFIC_CONTROL]
    assert "Intend" not in text[Whom.AIR_TRAFFIC_CONTROL]
    assert "nothing is decided yet" in text[Whom.DISPATCH]
    assert Whom.CABIN not in text


def test_dispatch_hears_where_to_even_without_figures() -> None:
    lost = with_changes(
        demo("nothing-legal"),
        {
            "/alternates/0/track_from_present_nm": REMOVED,
            "/alternates/1/track_from_present_nm": REMOVED,
            "/destination/track_nm": REMOVED,
            "/aircraft/position": REMOVED,
        },
    )
    text = told(recommend(case_from_mapping(lost)))
    assert Whom.DISPATCH in text


def test_each_hazard_of_the_landing_is_said_to_control_once() -> None:
    ids = ("gear-main-leg-stuck", "gear-nose-leg-stuck")
    body = with_changes(demo("clean"), {"/failures": [{"id": id_} for id_ in ids]})
    said = told(recommend(case_from_mapping(body)))[Whom.AIR_TRAFFIC_CONTROL]
    assert said.count("Landing without a main leg") == 1
    assert said.count("Landing without the nose leg") == 1


def test_what_the_manual_has_to_say_is_not_asked_of_control() -> None:
    body = with_changes(demo("clean"), {"/failures": [{"id": "gear-main-leg-stuck"}]})
    said = told(recommend(case_from_mapping(body)))[Whom.AIR_TRAFFIC_CONTROL]
    assert said.startswith("MAYDAY")
    assert "Request the present weather" not in said
