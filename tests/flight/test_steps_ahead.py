"""The steps on the way to the threshold, against the last clean point and the approach flown."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.flight.approach import departure_of
from decision.flight.leave_later import hold_then_leave
from decision.flight.situation import situation_of
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.decide.builders import judged_ways


def told(name: str, **changes: Any) -> Any:
    return told_of(case_from_mapping(with_changes(demo(name), changes)))


def by_step(answer: Any) -> dict[str, Any]:
    return {each["step"]: each for each in answer["timeline"]}


@pytest.mark.parametrize("name", NAMES)
def test_the_step_that_cannot_be_undone_is_the_last_clean_point(name: str) -> None:
    answer = told(name)
    assert_for_good_at_the_last_clean_point(answer)


def assert_for_good_at_the_last_clean_point(answer: Any) -> list[str]:
    """The steps that cannot be undone, each at the distance and the moment of the last point."""
    for_good = [each for each in answer["timeline"] if each["cannot_be_undone"]]
    point = answer["last_clean_diversion"]
    assert bool(for_good) == (point["distance_to_go_nm"] is not None)
    for step in for_good:
        assert step["distance_to_go_nm"] == point["distance_to_go_nm"]
        assert step["at"] == point["at"]
    return [each["step"] for each in for_good]


@pytest.mark.parametrize(
    ("ids", "steps"),
    [
        (("hydraulic-1",), ["extend the gear by the alternate system"]),
        (("gear-retraction",), ["extend the gear"]),
        (("flaps-retraction",), ["flaps to 34"]),
        (("slats-retraction",), ["flaps to 34"]),
        (("flaps-retraction", "hydraulic-2"), ["flaps to 34 by the slow drive"]),
        (
            ("flaps-retraction", "hydraulic-1"),
            ["extend the gear by the alternate system", "flaps to 34"],
        ),
    ],
)
def test_whatever_stays_out_once_out_is_the_last_clean_point(
    ids: tuple[str, ...], steps: list[str]
) -> None:
    answer = told("clean", **{"/failures": [{"id": id_} for id_ in ids]})
    assert assert_for_good_at_the_last_clean_point(answer) == steps


def test_with_the_gear_down_flaps_that_stay_out_are_still_ahead() -> None:
    changes: dict[str, object] = {"/failures": [{"id": "flaps-retraction"}]}
    answer = told("clean", **changes, **{"/aircraft/gear": "down"})
    assert assert_for_good_at_the_last_clean_point(answer) == ["flaps to 34"]
    out = told("clean", **changes, **{"/aircraft/gear": "down", "/aircraft/flap": "34"})
    assert assert_for_good_at_the_last_clean_point(out) == []
    assert out["last_clean_diversion"]["reason"] == "none_ahead"


def test_a_slow_drive_brings_the_last_clean_point_of_flaps_that_stay_out_forward() -> None:
    points = [
        told("clean", **{"/failures": [{"id": id_} for id_ in ids]})["last_clean_diversion"]
        for ids in (("flaps-retraction",), ("flaps-retraction", "hydraulic-2"))
    ]
    assert points[0]["distance_to_go_nm"] == 5.0
    assert 9.0 < points[1]["distance_to_go_nm"] < 12.0  # three minutes of it before the gate


@pytest.mark.parametrize("name", NAMES)
def test_steps_come_in_order_of_the_way_and_of_time(name: str) -> None:
    steps = told(name)["timeline"]
    distances = [each["distance_to_go_nm"] for each in steps]
    assert distances == sorted(distances, reverse=True)
    assert [each["at"] for each in steps] == sorted(each["at"] for each in steps)


def test_gravity_extension_starts_at_ten_miles_where_five_are_usual() -> None:
    """Common practice, no source."""
    usual = by_step(told("clean"))["extend the gear"]
    assert usual["distance_to_go_nm"] == 5.0
    assert not usual["cannot_be_undone"]
    lost = told("clean", **{"/failures": [{"id": "hydraulic-1"}]})
    early = by_step(lost)["extend the gear by the alternate system"]
    assert early["distance_to_go_nm"] == 10.0
    assert early["cannot_be_undone"]
    assert early["because"][0] == "hydraulic-1"


def test_checklists_come_first_and_run_on_the_way() -> None:
    planned = told("clean", **{"/plan/checklist_min": 4})
    first = planned["timeline"][0]
    assert (first["step"], first["at"], first["minutes"]) == ("checklists", planned["as_of"], 4.0)
    plain = by_step(told("clean"))["extend the gear"]["at"]
    later = by_step(planned)["extend the gear"]["at"]
    assert later == plain


def test_the_planned_extension_and_a_hold_move_the_step() -> None:
    early = by_step(told("clean", **{"/plan/gear_extension_nm": 12}))["extend the gear"]
    assert early["distance_to_go_nm"] == 12.0
    held = by_step(told("clean", **{"/plan/hold_min": 10}))["extend the gear"]["at"]
    plain = by_step(told("clean"))["extend the gear"]["at"]
    waited = datetime.fromisoformat(held) - datetime.fromisoformat(plain)
    assert waited.total_seconds() == pytest.approx(600, abs=5)


def test_a_slow_flap_drive_is_told_with_the_distance_that_it_needs() -> None:
    normal = by_step(told("clean"))["flaps to 34"]
    slow = by_step(told("clean", **{"/failures": [{"id": "hydraulic-2"}]}))[
        "flaps to 34 by the slow drive"
    ]
    assert slow["distance_to_go_nm"] > normal["distance_to_go_nm"]
    assert slow["minutes"] > normal["minutes"]


def test_what_is_due_already_is_told_as_due_now() -> None:
    answer = told("clean", **{"/destination/track_nm": 4.5, "/aircraft/pressure_altitude_ft": 1500})
    gear = by_step(answer)["extend the gear"]
    assert (gear["distance_to_go_nm"], gear["at"], gear["late_nm"]) == (4.5, answer["as_of"], 0.5)


@pytest.mark.parametrize(
    "changes",
    [
        {"/destination/track_nm": REMOVED, "/aircraft/position": REMOVED},
        {"/destination/track_nm": 2.5, "/aircraft/pressure_altitude_ft": 1800},
    ],
    ids=["not known", "inside the gate"],
)
def test_without_a_way_to_run_there_are_no_steps(changes: dict[str, object]) -> None:
    assert told("clean", **changes)["timeline"] == []


def test_a_hold_ends_when_the_weather_of_the_way_out_does() -> None:
    """Fog forecast at the only alternate: fuel would last an hour and a half."""
    answer = told("later-into-fog")
    clean = answer["holding"]["clean_diversion"]
    assert clean["limited_by"] == "weather at XTOR"
    dry = told(
        "later-into-fog",
        **{
            "/weather/reports": [
                raw.split(" FM140737")[0] for raw in demo("later-into-fog")["weather"]["reports"]
            ]
        },
    )["holding"]["clean_diversion"]
    assert dry["limited_by"] == "fuel for XTOR"
    assert clean["available_min"] < dry["available_min"]
    seen = situation_of(case_from_mapping(demo("later-into-fog")))
    departure = departure_of(seen)
    for wait_min, legal in ((-2, True), (2, False)):
        waited = hold_then_leave(seen, departure, clean["available_min"] + wait_min)
        judged = {each.course.icao: each.legal for each in judged_ways(seen, waited)}
        assert judged["XTOR"] is legal
