"""The brief of any answer: narrow, whole, and honest where a figure is not known."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.brief import WIDTH, brief
from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from tests.case.builders import CASES, REMOVED, demo, with_changes
from tests.recommend.generated import answered, flights

SCREEN_LINES = 60
GOLDEN = Path(__file__).parent / "golden"
NAMES = sorted(path.stem for path in CASES.glob("*.json"))
RULER = "-" * WIDTH


def told(name: str = "clean", /, **changes: Any) -> str:
    return brief(recommend_mapping(case_from_mapping(with_changes(demo(name), changes))))


def test_every_golden_brief_belongs_to_a_case() -> None:
    assert sorted(path.stem for path in GOLDEN.glob("*.txt")) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_the_decision_fits_a_screen_before_the_table(name: str) -> None:
    lines = told(name).splitlines()
    assert lines.index(RULER) <= SCREEN_LINES


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
    answer = recommend_mapping(case_from_mapping(demo("gear-stuck")))
    assert brief(json.loads(json.dumps(answer))) == brief(answer)


def test_empty_tanks_are_said_and_not_counted_in_minutes() -> None:
    assert "tanks empty" in told("nothing-legal", **{"/fuel/on_board_kg": 700})


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
    assert "FUEL ON LANDING" not in text
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
    answer = recommend_mapping(case_from_mapping(demo("clean")))
    answer["courses"] = []
    text = brief(answer)
    assert "CHOSEN COURSE" not in text
    assert "STEPS of: " not in text
    assert "GO: APPROACH XKAL" in text


def test_a_course_without_findings_against_it_has_none_to_show() -> None:
    answer = recommend_mapping(case_from_mapping(demo("gear-stuck")))
    for course in answer["courses"]:
        course["findings"] = []
    assert "FU-02:" not in brief(answer).split(RULER)[1]


def test_a_gradient_that_is_not_known_is_left_out() -> None:
    text = told(**{"/weather/reports/0": "-", "/weather/reports/1": "-"})
    assert "climbs" not in text.split(RULER)[0]


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (
            {"next_aerodrome": "XBRE", "margin_kg": 597.4, "distance_unknown": ["XTOR"]},
            "72 min of fuel, then XBRE, 590 kg over reserve",
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
    answer = recommend_mapping(case_from_mapping(demo("clean")))
    answer["courses"][0]["after_miss_there"] = {"endurance_min": 72.9, **left}
    text = " ".join(brief(answer).split())
    assert words in text
    assert "after a miss at XTOR: 72 min" in text
    answer["courses"][0]["after_miss_there"] = None
    assert "after a miss at" not in brief(answer)


def test_reasons_are_left_out_where_the_answer_has_none() -> None:
    answer = recommend_mapping(case_from_mapping(demo("clean")))
    answer["reasons"] = []
    assert "WHY" not in brief(answer)
