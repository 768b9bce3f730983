"""What changed between two decisions: told whole, and a verdict that moved with rule and cause."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.answer.changed import changed
from decision.brief import brief
from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes

METAR = "METAR XKAL 140630Z 26011KT 0200 FG VV001 08/08 Q1013"


def between(one: dict[str, Any], other: dict[str, Any]) -> dict[str, Any]:
    before, after = (told_of(case_from_mapping(body)) for body in (one, other))
    return changed(before, after, request_before=one, request_after=other)


ANSWER = told_of(case_from_mapping(demo("gear-stuck")))


@pytest.mark.parametrize("name", NAMES)
def test_the_same_case_again_has_not_changed(name: str) -> None:
    found = between(demo(name), demo(name))
    assert found["inputs"] == found["weather"] == found["findings"] == found["courses"] == []
    assert found["cautions"] == []
    assert found["verdict"]["from"] == found["verdict"]["to"]
    assert " as before" in found["why"]


def test_less_fuel_is_named_as_the_cause_with_the_rule_that_turned() -> None:
    found = between(demo("clean"), with_changes(demo("clean"), {"/fuel/on_board_kg": 2500}))
    assert found["verdict"] == {"from": "GO", "to": "NO_GO"}
    assert found["inputs"] == [
        {"pointer": "/fuel/on_board_kg", "from": 3450, "to": 2500, "unit": "kg"}
    ]
    turned = {(each["rule"], each["outcome"]["to"]) for each in found["findings"]}
    assert ("FU-01", "FAIL") in turned
    assert found["why"].startswith("GO became NO_GO. approach_then_divert:XTOR: FU-0")
    assert "fuel on board 3450 kg, now 2500 kg (950 kg less)" in found["why"]


def test_a_failure_is_told_by_its_name() -> None:
    found = between(
        demo("clean"), with_changes(demo("clean"), {"/failures": [{"id": "gear-retraction"}]})
    )
    assert found["verdict"]["to"] == "NO_GO"
    assert [each["pointer"] for each in found["inputs"]] == ["/failures/gear-retraction"]
    assert "failure gear-retraction added" in found["why"]
    assert any(each["what"] == "came" for each in found["cautions"])


def test_a_new_report_that_bars_the_approach_is_told_with_its_text() -> None:
    later = with_changes(demo("clean"), {"/as_of": "2026-03-14T06:32:00Z"})
    later["weather"]["reports"].append(METAR)
    found = between(demo("clean"), later)
    assert found["weather"] == [{"what": "came", "report": METAR}]
    assert found["verdict"]["to"] == "NO_GO"
    assert "AP-02 was PASS and is FAIL" in found["why"]
    assert METAR in found["why"]


def test_time_alone_is_said_to_be_the_only_difference() -> None:
    later = with_changes(demo("clean"), {"/as_of": "2026-03-14T06:14:00Z"})
    assert "Nothing but the time differs" in between(demo("clean"), later)["why"]


def test_an_alternate_that_is_gone_is_told_with_its_courses() -> None:
    fewer = demo("clean")
    fewer["alternates"] = fewer["alternates"][:1]
    found = between(demo("clean"), fewer)
    assert [each["pointer"] for each in found["inputs"]] == ["/alternates/XTOR"]
    gone = {each["course"] for each in found["courses"] if each.get("only") == "before"}
    assert "approach_then_divert:XTOR" in gone
    assert found["verdict"] == {"from": "GO", "to": "GO_WITH_CAUTION"}


def pointers(value: Any, pointer: str = "") -> list[str]:
    """Where the single values of the parts of a request are that are told by their pointer."""
    if isinstance(value, dict):
        return [found for name in value for found in pointers(value[name], f"{pointer}/{name}")]
    return [pointer]


SINGLE = {part: demo("gear-stuck")[part] for part in ("aircraft", "fuel", "plan", "destination")}


@given(st.sampled_from(pointers(SINGLE)), st.integers(0, 10**6) | st.text(max_size=5) | st.none())
def test_every_single_value_that_differs_is_listed_alone(pointer: str, value: object) -> None:
    request = demo("gear-stuck")
    other = with_changes(request, {pointer: value})
    told = ANSWER
    found = changed(told, told, request_before=request, request_after=other)
    if other == request:
        assert found["inputs"] == []
    else:
        [only] = found["inputs"]
        assert (only["pointer"], only["to"]) == (pointer, value)
        assert found["why"].endswith(".")
        assert "Different in the request: " in found["why"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"/fuel/on_board_kg": 2950}, "fuel on board 3450 kg, now 2950 kg (500 kg less)"),
        ({"/aircraft/gear": "down"}, "aircraft gear up, now down"),
        ({"/aircraft/anti_ice": True}, "aircraft anti ice no, now yes"),
        ({"/fuel/leak_kg_per_h": 400}, "fuel leak not given, now 400 kg/h"),
        ({"/failures": []}, "failure gear-retraction gone"),
        ({"/failures/-": {"id": "anti-skid"}}, "failure anti-skid added"),
        ({"/alternates": []}, "alternate XBRE gone; alternate XTOR gone"),
        ({"/destination": "XKAL"}, "destination given, now XKAL"),
        ({"/winds_aloft": [{"from_true_deg": 1}]}, "winds aloft changed"),
        ({"/winds_aloft": []}, "winds aloft given, now none"),
    ],
)
def test_what_differs_is_told_in_words(changes: dict[str, Any], words: str) -> None:
    request = demo("gear-stuck")
    if "/failures/-" in changes:
        changes = {"/failures": [*request["failures"], changes["/failures/-"]]}
    other = with_changes(request, changes)
    why = changed(ANSWER, ANSWER, request_before=request, request_after=other)["why"]
    assert why.endswith(f"Different in the request: {words}.")


@given(st.sampled_from(NAMES), st.sampled_from(NAMES))
def test_the_way_back_has_the_same_differences_turned_round(one: str, other: str) -> None:
    there, back = between(demo(one), demo(other)), between(demo(other), demo(one))
    assert there["verdict"] == {"from": back["verdict"]["to"], "to": back["verdict"]["from"]}
    assert [(each["pointer"], each["from"]) for each in there["inputs"]] == [
        (each["pointer"], each["to"]) for each in back["inputs"]
    ]
    assert {each["report"] for each in there["weather"]} == {
        each["report"] for each in back["weather"]
    }
    assert {(each["course"], each["rule"]) for each in there["findings"]} == {
        (each["course"], each["rule"]) for each in back["findings"]
    }


@given(st.sampled_from(NAMES), st.sampled_from(NAMES))
def test_a_verdict_that_moved_says_so_first_and_one_that_did_not_says_that(
    one: str, other: str
) -> None:
    found = between(demo(one), demo(other))
    moved = found["verdict"]["from"] != found["verdict"]["to"]
    assert (" became " in found["why"].partition(".")[0]) is moved
    assert (" as before" in found["why"]) is not moved


def test_answers_that_were_read_back_compare_like_fresh_ones() -> None:
    told = told_of(case_from_mapping(demo("clean")))
    assert brief(told)  # nothing of an answer is consumed by being told
    assert changed(told, told, request_before=demo("clean"), request_after=demo("clean"))


def test_a_course_without_figures_has_changed_only_where_it_gets_or_loses_them() -> None:
    """Without a position and without miles a place is no course that can be flown."""
    lost = with_changes(
        demo("clean"),
        {"/alternates/0/track_from_present_nm": REMOVED, "/aircraft/position": REMOVED},
    )
    icao = demo("clean")["alternates"][0]["icao"]
    assert between(lost, lost)["courses"] == []
    told = {each["course"]: each for each in between(demo("clean"), lost)["courses"]}
    margin_kg = told[f"divert_now:{icao}"]["margin_kg"]
    assert margin_kg["from"] > 0.0
    assert margin_kg["to"] is None
