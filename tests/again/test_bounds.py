"""What a decision on carried state comes to, at best."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.errors import InvalidCase
from tests.again.deciding import whole
from tests.case.builders import demo, with_changes

OLD = {"field": "/fuel/on_board_kg", "given_at": "2026-03-14T06:05:00Z"}


def carried(name: str, **bound: Any) -> dict[str, Any]:
    """What is decided of a demo case if it were carried from a decision that bounds it."""
    more = {"along": "DIVERT XTOR", "values": [OLD], "no_better_than": bound}
    return whole(with_changes(demo(name), {"/carried": more}))


@pytest.mark.parametrize(
    ("before", "verdict"),
    [
        ("GO", "GO"),
        ("GO_WITH_CAUTION", "GO_WITH_CAUTION"),
        ("INSUFFICIENT_DATA", "INSUFFICIENT_DATA"),
        ("NO_GO", "NO_GO"),
    ],
)
def test_a_verdict_is_no_better_than_the_one_before(before: str, verdict: str) -> None:
    answer = carried("clean", verdict=before)
    assert answer["verdict"] == verdict
    asked = [each["what"] for each in answer["ask"]]
    assert bool(asked) is (verdict in ("INSUFFICIENT_DATA", "NO_GO"))
    assert (answer["action"]["do"] == "APPROACH") is (verdict != "NO_GO")


def test_a_worse_verdict_is_told_as_it_is() -> None:
    answer = carried("gear-stuck", verdict="GO")
    assert (answer["verdict"], answer["basis"]) == ("NO_GO", "LEAVE_WHILE_CLEAN")


def test_an_urgent_landing_is_flown_whatever_is_not_known() -> None:
    plain = whole(demo("time-critical"))
    answer = carried("time-critical", verdict="NO_GO")
    assert answer["action"] == plain["action"]
    lost = {"along": "COMMIT XKAL", "values": [OLD], "lost": "it has landed"}
    unknown = whole(with_changes(demo("time-critical"), {"/carried": lost}))
    assert unknown["verdict"] == "INSUFFICIENT_DATA"
    assert unknown["action"] == plain["action"]


def test_a_deadline_is_no_later_than_the_one_before_and_place_and_fuel_then_are_not_told() -> None:
    plain = whole(demo("gear-stuck"))["deadline"]
    answer = carried("gear-stuck", deadline_at="2026-03-14T06:12:30Z")
    assert answer["deadline"]["at"] == answer["action"]["latest_at"] == "2026-03-14T06:12:30Z"
    assert (answer["deadline"]["distance_to_go_nm"], answer["deadline"]["fuel_kg"]) == (None, None)
    later = carried("gear-stuck", deadline_at="2026-03-14T07:00:00Z")
    assert later["deadline"] == plain


def test_without_time_to_hold_for_it_the_state_is_asked_for_on_the_way_to_a_landing() -> None:
    body = with_changes(demo("clean"), {"/fuel/on_board_kg": 1900, "/aircraft/mass_kg": 58_750})
    more = {"along": "APPROACH XKAL", "values": [OLD], "no_better_than": {"verdict": "NO_GO"}}
    answer = whole(with_changes(body, {"/carried": more}))
    assert answer["verdict"] == "NO_GO"
    assert answer["action"]["do"] in ("COMMIT", "DIVERT")


@pytest.mark.parametrize(
    ("value", "pointer"),
    [
        ({**OLD, "given_at": "2026-03-14T06:10:01Z"}, "/carried/values/0/given_at"),
        ({**OLD, "field": "/alternates/7/track_from_present_nm"}, "/carried/values/0/field"),
        ({**OLD, "field": "/fuel/unusable_kg"}, "/carried/values/0/field"),
    ],
)
def test_what_is_carried_is_of_the_case_and_was_given_before(
    value: dict[str, Any], pointer: str
) -> None:
    body = with_changes(demo("clean"), {"/carried": {"along": "APPROACH XKAL", "values": [value]}})
    with pytest.raises(InvalidCase) as error:
        case_from_mapping(body)
    assert [each.pointer for each in error.value.faults] == [pointer]
