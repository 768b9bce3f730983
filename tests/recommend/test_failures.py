"""Every failure of the catalogue through a whole decision: decided, explained, never flattered."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.recommend.generated import FAILURE_IDS, by_label, failure

# What the crew must say besides, or what the state of the aircraft must be, for the id alone.
STATE = {
    "flaps-asymmetric": {"/failures/0/detent": "0"},
    "flaps-limited": {"/failures/0/detent": "0"},
    "gear-alternate-extension-used": {"/aircraft/gear": "down"},
}
VERDICTS = {"GO", "GO_WITH_CAUTION", "NO_GO", "INSUFFICIENT_DATA"}


def told_with(*ids: str, **changes: Any) -> dict[str, Any]:
    body = with_changes(demo("clean"), {"/failures": [failure(id_) for id_ in ids], **changes})
    return told_of(case_from_mapping(body))


def because(told: dict[str, Any]) -> set[str]:
    """Every word of every path that the answer gives."""
    left = told["capability"]
    entries = [*left["lost"], *left["limits"], *left["irreversible"], *told["cautions"]]
    paths = [entry["because"] for entry in entries]
    paths += [left[part]["because"] for part in ("gear", "flap", "slats")]
    return {word for path in paths for word in ([path] if isinstance(path, str) else path)}


@pytest.mark.parametrize("id_", FAILURE_IDS)
def test_every_failure_alone_is_decided_and_explains_itself(id_: str) -> None:
    told = told_with(id_, **STATE.get(id_, {}))
    assert told["verdict"] in VERDICTS
    assert told["headline"].endswith(".")
    assert any(id_ in words for words in because(told))


@pytest.mark.parametrize("id_", sorted(STATE))
def test_a_failure_that_lacks_its_state_is_refused_at_its_place(id_: str) -> None:
    with pytest.raises(InvalidCase) as caught:
        told_with(id_)
    assert {fault.pointer for fault in caught.value.faults} <= {
        "/failures/0/detent",
        "/aircraft/gear",
    }


def test_a_doubtful_fuel_quantity_is_unknown_and_never_go() -> None:
    told = told_with("fuel-quantity-indication")
    assert told["verdict"] == "INSUFFICIENT_DATA"
    assert all(course["legal"] is not True for course in told["courses"])


def test_limited_thrust_climbs_between_both_engines_and_one() -> None:
    gradients = [
        by_label(told_with(*ids))["approach_then_divert:XTOR"]["attempts"][0][
            "missed_gradient_percent"
        ]
        for ids in ((), ("engine-1-thrust-limited",), ("engine-1",))
    ]
    assert gradients[0] > gradients[1] > gradients[2]


def test_limited_thrust_costs_level_or_fuel_and_is_named() -> None:
    whole = by_label(told_with())["approach_then_divert:XTOR"]
    weak = by_label(told_with("engine-1-thrust-limited"))["approach_then_divert:XTOR"]
    assert "limited thrust" in weak["configuration"]
    assert weak["fuel"]["margin_kg"] < whole["fuel"]["margin_kg"]


def test_every_failure_with_a_speed_increment_comes_in_faster_and_lands_longer() -> None:
    sound = told_with()["courses"][0]["attempts"][0]
    raised = 0
    for id_ in FAILURE_IDS:
        told = told_with(id_, **STATE.get(id_, {}))
        limits = {each["name"]: each["value"] for each in told["capability"]["limits"]}
        added_kt = limits.get("min_approach_speed_increment_kt")
        here = told["courses"][0]["attempts"][:1]
        if added_kt is None or not here or here[0]["landing_distance_m"] is None:
            continue
        raised += 1
        assert here[0]["approach_speed_kt"] >= sound["approach_speed_kt"] + added_kt - 1.0, id_
        assert here[0]["landing_distance_m"] > sound["landing_distance_m"], id_
    assert raised > 0


def test_doors_that_hang_with_the_gear_up_cost_fuel() -> None:
    whole = by_label(told_with())["divert_now:XTOR"]
    hanging = by_label(told_with("gear-doors-open"))["divert_now:XTOR"]
    assert "doors open" in hanging["configuration"]
    assert hanging["fuel"]["flight_kg"] > whole["fuel"]["flight_kg"] + 20.0


@pytest.mark.parametrize("gear", ["up", "down"])
@pytest.mark.parametrize("level_ft", [2500, 9000, 16_000])
@pytest.mark.parametrize("flow", [None, 2400])
def test_with_both_engines_stopped_no_course_is_flown_and_one_is_still_named(
    gear: str, level_ft: int, flow: int | None
) -> None:
    told = told_with(
        "engine-1",
        "engine-2",
        **{
            "/aircraft/gear": gear,
            "/aircraft/pressure_altitude_ft": level_ft,
            "/fuel/observed_flow_kg_per_h": flow,
        },
    )
    assert (told["basis"], told["verdict"]) == ("TIME_CRITICAL", "NO_GO")
    assert told["action"]["do"] != "HOLD"
    assert told["emergency"]["level"] == "DISTRESS"
    assert all(course["limited_by"] for course in told["courses"])
    assert told["holding"]["available_min"] is None


@pytest.mark.parametrize("id_", ["fuel-leak", "fuel-quantity-indication"])
def test_too_little_fuel_stays_too_little_when_more_is_unknown(id_: str) -> None:
    few = {"/fuel/on_board_kg": 2000}
    sound, doubtful = by_label(told_with(**few)), by_label(told_with(id_, **few))
    short = [label for label, course in sound.items() if course["legal"] is False]
    assert short
    assert all(doubtful[label]["legal"] is False for label in short)
