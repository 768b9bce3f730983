"""Whatever is within the accepted ranges gets an answer: no figure of the model ends a decision."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from decision.case import CASE, case_from_mapping
from decision.case.spec import ListOf, Number, RecordSpec, Spec
from tests.answer.told import told_of
from tests.case.builders import NAMES, REMOVED, demo, with_changes
from tests.recommend.generated import decided

WINDS = ["00000KT", "09036KT", "27060G90KT", "VRB45KT", "180110KT", "36P99KT", "09095KT"]
TEMPERATURES = ["M79/M81", "60/M10", "M90/M95", "99/20"]
PRESSURES = ["Q0850", "Q1090", "A3500", "Q0100"]


def numbers(spec: Spec, body: Any, pointer: str = "") -> Iterator[tuple[str, Number]]:
    """Every number that a request has, or could have beside what it has."""
    if isinstance(spec, RecordSpec) and isinstance(body, dict):
        for field in spec.fields:
            if isinstance(field.spec, Number):
                yield f"{pointer}/{field.name}", field.spec
            elif field.name in body:
                yield from numbers(field.spec, body[field.name], f"{pointer}/{field.name}")
    elif isinstance(spec, ListOf) and isinstance(body, list):
        for index, item in enumerate(body):
            yield from numbers(spec.item, item, f"{pointer}/{index}")


def within(spec: Number) -> st.SearchStrategy[float]:
    """Values of a range, its ends often."""
    between: st.SearchStrategy[float] = st.floats(spec.low, spec.high)
    if spec.whole:
        between = st.integers(round(spec.low), round(spec.high))
    return st.one_of(st.sampled_from([spec.low, spec.high]), between)


@st.composite
def extremes(draw: st.DrawFn) -> dict[str, Any]:
    """A demo case with a few numbers anywhere within what is accepted, and odd weather."""
    body = demo(draw(st.sampled_from(NAMES)))
    found = dict(numbers(CASE, body))
    chosen = draw(st.lists(st.sampled_from(sorted(found)), max_size=6, unique=True))
    body = with_changes(body, {pointer: draw(within(found[pointer])) for pointer in chosen})
    for index, report in enumerate(body["weather"]["reports"]):
        if report.startswith("METAR") and not draw(st.integers(0, 3)):
            body["weather"]["reports"][index] = odd(draw, report)
    return body


def odd(draw: st.DrawFn, report: str) -> str:
    """The report with a gale, air of another season, or a pressure that no place has."""
    report = re.sub(r"\S+KT", draw(st.sampled_from(WINDS)), report, count=1)
    report = re.sub(r"\bM?\d\d/M?\d\d\b", draw(st.sampled_from(TEMPERATURES)), report, count=1)
    return re.sub(r"\b[QA]\d{4}\b", draw(st.sampled_from(PRESSURES)), report, count=1)


@given(extremes())
@settings(deadline=None)
def test_a_case_within_the_accepted_ranges_gets_an_answer(body: dict[str, Any]) -> None:
    answer = decided(body)
    assume(answer is not None)  # it contradicts itself, and was told so
    assert answer is not None
    assert answer["courses"]
    assert answer["verdict"]


def told(**changes: Any) -> Any:
    return told_of(case_from_mapping(with_changes(demo("clean"), changes)))


@pytest.mark.parametrize(
    ("report", "unknown"),
    [
        ("METAR XKAL 140600Z 09036KT 9999 SCT025 08/07 Q1013", "headwind of -54 kt"),
        ("METAR XKAL 140600Z 26011KT 9999 SCT025 M90/M95 Q1013", "isa deviation of -105 degc"),
    ],
)
def test_beyond_the_model_a_landing_is_unknown_and_what_is_known_still_counts(
    report: str, unknown: str
) -> None:
    answer = told(**{"/weather/reports/0": report})
    [course] = [each for each in answer["courses"] if each["kind"] == "commit_to_land"]
    by_rule = {each["rule"]: each for each in course["findings"]}
    assert by_rule["LD-01"]["outcome"] == "UNKNOWN"
    assert unknown in by_rule["LD-01"]["text"]
    assert course["legal"] is not True
    assert answer["verdict"] in {"NO_GO", "INSUFFICIENT_DATA"}
    if "09036KT" in report:
        assert by_rule["WD-02"]["outcome"] == "FAIL"


@pytest.mark.parametrize("low_kt", [300, 160])  # in the run-in already, or only on the approach
def test_an_approach_against_a_wind_that_leaves_no_headway_cannot_be_flown(low_kt: int) -> None:
    gale = [
        {"pressure_altitude_ft": 1_000, "from_true_deg": 265, "speed_kt": low_kt},
        {"pressure_altitude_ft": 9_000, "from_true_deg": 265, "speed_kt": low_kt},
    ]
    answer = told(**{"/winds_aloft": gale, "/aircraft/position": REMOVED})
    [course] = [each for each in answer["courses"] if each["kind"] == "commit_to_land"]
    assert "leaves no headway" in course["limited_by"]
    assert course["legal"] is False
