"""The brief of any answer: narrow, whole, and honest where a figure is not known."""

from __future__ import annotations

import json
import re
from math import ceil, floor
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.brief import WIDTH, brief
from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.recommend.generated import answered, flights

GOLDEN = Path(__file__).parent / "golden"


def told(name: str = "clean", /, **changes: Any) -> str:
    return brief(told_of(case_from_mapping(with_changes(demo(name), changes))))


def test_every_golden_brief_belongs_to_a_case() -> None:
    assert sorted(path.stem for path in GOLDEN.glob("*.txt")) == NAMES


@given(flights(), st.text("AZaz09 _./+-", max_size=39))
@settings(max_examples=60)
def test_no_line_of_any_brief_is_wider_than_a_terminal(body: dict[str, Any], flight: str) -> None:
    body = with_changes(body, {"/flight_id": f"F{flight}"})
    text = brief(answered(body))
    assert max(map(len, text.splitlines())) <= WIDTH
    assert text.endswith("\n")
    assert text.isprintable() or all(char == "\n" or char.isprintable() for char in text)
    assert "None" not in text
    assert "nan" not in text.split()


def test_the_brief_reads_the_answer_after_a_trip_through_json() -> None:
    """Enumerations are plain words then: the brief must not depend on them."""
    answer = told_of(case_from_mapping(demo("gear-stuck")))
    assert brief(json.loads(json.dumps(answer))) == brief(answer)


def test_empty_tanks_are_said_and_not_counted_in_minutes() -> None:
    body = with_changes(demo("nothing-legal"), {"/fuel/on_board_kg": 700})
    answer = told_of(case_from_mapping(body))
    empty = [each for each in answer["courses"] if (each["fuel"] or {}).get("landing_kg", 1) <= 0]
    assert empty
    assert brief(answer).count(" empty ") == len(empty)
    answer["action"].update({"course": empty[0]["course"], "do": "DIVERT"})
    assert ", tanks empty, " in " ".join(brief(answer).split())


def test_a_way_that_the_step_closes_is_said_to_be_closed() -> None:
    text = told(
        **{
            "/failures": [{"id": "gear-retraction"}, {"id": "engine-1"}],
            "/alternates/1/minimum_level_ft": 12_000,
            "/winds_aloft": REMOVED,
        }
    )
    assert "cannot be reached after it" in text


def test_without_any_flown_course_there_are_no_figures_to_show() -> None:
    text = told(**{"/failures": [{"id": "engine-1"}, {"id": "engine-2"}]})
    assert "touchdown and fuel on landing not known" in " ".join(text.split())
    assert "NOT LEGAL" in text


def test_only_the_first_unknowns_are_shown_and_the_rest_counted() -> None:
    text = told(**{"/weather/reports": []})
    assert "NOT KNOWN" in text
    assert "more; see the full answer" in text


def test_steps_are_shown_only_where_they_were_asked_for() -> None:
    assert "STEPS of: " in told()
    assert "STEPS of: " not in told(**{"/include": []})


def test_an_answer_whose_chosen_course_is_not_in_it_still_reads() -> None:
    """A stored answer may have been cut: nothing is invented for it."""
    answer = told_of(case_from_mapping(demo("clean")))
    answer["courses"] = []
    text = brief(answer)
    assert "CHOSEN COURSE" not in text
    assert "STEPS of: " not in text
    assert "ACTION     APPROACH XKAL" in text
    assert "LANDING " not in text


def test_a_course_without_findings_against_it_has_none_to_show() -> None:
    answer = told_of(case_from_mapping(demo("gear-stuck")))
    assert "FU-02: " in brief(answer).split("COURSES, best first")[1]
    for course in answer["courses"]:
        course["findings"] = []
    assert "FU-02: " not in brief(answer).split("COURSES, best first")[1]


def test_a_gradient_that_is_not_known_is_left_out() -> None:
    text = told(**{"/weather/reports/0": "-", "/weather/reports/1": "-"})
    assert "climb gradient" not in text.split("CHOSEN COURSE")[1]
    known = " ".join(told().split())
    assert re.search(r"missed approach climb gradient \d+\.\d %, 2\.5 % asked for", known)


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (
            {"next_aerodrome": "XBRE", "margin_kg": 597.4, "distance_unknown": ["XTOR"]},
            "72 min of fuel, then XBRE, 590 kg above final reserve",
        ),
        (
            {"next_aerodrome": None, "margin_kg": None, "distance_unknown": []},
            "72 min of fuel, no other place in reach with reserve",
        ),
        (
            {"next_aerodrome": None, "margin_kg": None, "distance_unknown": ["XTOR", "XBRE"]},
            "in reach with reserve; how far it is to XTOR, XBRE is not known",
        ),
    ],
)
def test_a_miss_at_the_end_of_the_way_is_told_with_what_it_leaves(
    left: dict[str, Any], words: str
) -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    answer["courses"][0]["after_miss_there"] = {"endurance_min": 72.9, **left}
    text = " ".join(brief(answer).split())
    assert words in text
    assert "after a missed approach at XTOR: 72 min" in text
    answer["courses"][0]["after_miss_there"] = None
    assert "after a missed approach at" not in brief(answer)


def test_reasons_are_left_out_where_the_answer_has_none() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    answer["reasons"] = []
    assert "WHY" not in brief(answer)


@pytest.mark.parametrize("name", NAMES)
def test_every_need_in_the_course_table_counts_from_the_fuel_on_board_now(name: str) -> None:
    """Need and margin together are what is on board, each rounded against the aircraft.

    What is missing is the difference of two figures that are rounded: once more against it.
    """
    answer = told_of(case_from_mapping(demo(name)))
    table = brief(answer).split("COURSES, best first")[1].split("Kilograms.")[0]
    rows = re.findall(
        r"^ *\d+ .{32} .{15} +(-?\d+) +(\d+|empty) +(-?\d+) +\d\d:\d\dZ$", table, re.M
    )
    assert rows
    for needed, _, margin in rows:
        off_kg = int(needed) + int(margin) - answer["fuel_on_board_kg"]
        rounded = 2 if int(margin) < 0 else 1
        assert -10.0 * rounded < off_kg < 10.0


def test_the_last_clean_point_and_its_course_need_the_same_fuel() -> None:
    answer = told_of(case_from_mapping(demo("gear-stuck")))
    leaving = {
        course["aerodrome"]: course["fuel"]
        for course in answer["courses"]
        if course["from"] == "last_clean_point"
    }
    assert len(leaving) == 2
    text = brief(answer).split("LAST CLEAN POINT")[1]
    for icao, fuel in leaving.items():
        assert fuel["required_from"] == "last_clean_point"
        need = ceil(fuel["required_kg"] / 10) * 10
        assert f"{icao}: {need} kg there with final reserve, " in text
        below_kg = answer["last_clean_diversion"]["fuel_kg"] - fuel["required_kg"]
        assert below_kg == pytest.approx(fuel["margin_kg"], abs=0.01)


def test_a_place_that_is_not_left_for_from_the_clean_point_has_its_price_alone() -> None:
    answer = told_of(case_from_mapping(demo("gear-stuck")))
    for course in answer["courses"]:
        if course["from"] == "last_clean_point":
            course["fuel"] = None
    text = brief(answer).split("LAST CLEAN POINT")[1]
    assert re.search(r"XTOR: \d+ kg more after it", text)


def test_everything_that_was_included_is_told() -> None:
    body = with_changes(
        demo("gear-stuck"),
        {"/include": ["flip_points", "uncertainty", "steps"], "/compare_rulebooks": True},
    )
    answer = told_of(case_from_mapping(body))
    text = " ".join(brief(answer).split())
    for point in answer["flip_points"]:
        assert f"{point['input']}: now " in text
    assert any(point["flips_at"] is None for point in answer["flip_points"])
    assert any(point["flips_at"] is not None for point in answer["flip_points"])
    spread = answer["uncertainty"]
    low = floor(spread["landing_fuel_p5_kg"] / 10) * 10
    assert f"{low} kg in the worst of 20" in text
    assert f"({spread['samples']} flights)" in text
    assert {other["rulebook"] for other in answer["rulebooks_compared"]} >= {"easa", "icao"}
    for other in answer["rulebooks_compared"]:
        told_so = f"{other['rulebook']}: {other['verdict']}, {other['do']}, {other['basis']}."
        assert (told_so in text) is (other["rulebook"] != "icao")


def test_a_flip_point_without_a_present_value_or_unit_reads() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    point = {"input": "/x", "present": None, "flips_at": 3.0, "to_verdict": "NO_GO", "unit": None}
    answer["flip_points"] = [point]
    assert "/x: now not known, at 3 NO_GO" in brief(answer)


def test_both_deadlines_of_a_hold_are_shown_with_what_each_keeps() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    both = answer["holding"]
    assert both["clean_diversion"]
    assert both["approach_and_miss"]
    text = " ".join(brief(answer).split("HOLDING")[1].split())
    for name, member in (
        ("for a clean diversion", "clean_diversion"),
        ("for an approach with a way out after a missed approach", "approach_and_miss"),
    ):
        ends = both[member]
        assert f"{name}: {floor(ends['available_min'])} min, until {ends['until'][11:16]}Z" in text
    older = {key: value for key, value in both.items() if "_and_" not in key and "clean" not in key}
    answer["holding"] = older
    assert f"- {floor(older['available_min'])} min, until " in brief(answer)


def test_what_is_advised_against_is_legal_and_says_so() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    answer["courses"][0]["advised_against"] = True
    row = brief(answer).split("COURSES, best first")[1].splitlines()[2]
    assert "advised against" in row


def test_only_the_first_assumptions_are_shown_and_the_rest_counted() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    text = brief(answer)
    assert f"{answer['assumptions'][0]['field']} not given: " in text
    assert f"and {len(answer['assumptions']) - 4} more; see the full answer" in text


def test_the_second_runway_of_a_place_is_told_with_what_it_lacks() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    answer["other_runways"] = [
        {"aerodrome": "XKAL", "runway": "09", "approach": None, "lacks": ["crosswind", "length"]},
        {"aerodrome": "XTOR", "runway": "14", "approach": "ILS 14", "lacks": []},
    ]
    text = brief(answer)
    assert "- XKAL 09, no procedure: crosswind; length" in text
    assert "- XTOR 14, ILS 14: breaks nothing" in text


def test_a_step_that_comes_too_late_says_by_how_far() -> None:
    answer = told_of(case_from_mapping(demo("gear-stuck")))
    answer["timeline"][1]["late_nm"] = 1.24
    assert "CANNOT BE UNDONE; late by 1.2 NM" in brief(answer)


def test_an_approach_whose_landing_here_is_not_in_the_answer_tells_the_diversion_alone() -> None:
    answer = told_of(case_from_mapping(demo("clean")))
    answer["courses"] = [each for each in answer["courses"] if each["kind"] != "commit_to_land"]
    assert "LANDING    after a missed approach XTOR " in brief(answer)
