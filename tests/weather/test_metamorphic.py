"""What must not matter does not matter, and a lost group moves only its own element to unknown."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.weather import Element, Elements, Report
from tests.changing import replace
from tests.weather.builders import read
from tests.weather.generated import Model, forecasts, observations, trends

HEAD = "METAR XABC 251150Z"


def _meaning(report: Report) -> Report:
    """The report without the text it came from."""
    return replace(report, raw="")


def _elements(body: str) -> Elements:
    elements = read(f"{HEAD} {body}").elements
    assert elements is not None
    return elements


def _spaced(text: str) -> str:
    return text.replace(" ", " \t ")


def _broken(text: str) -> str:
    return text.replace(" ", "\r\n     ")


def _ended(text: str) -> str:
    return f"{text}="


@pytest.mark.parametrize("change", [str.lower, _spaced, _broken, _ended])
@given(model=observations, trend=trends)
@settings(max_examples=30)  # of each
def test_case_spaces_breaks_and_end_sign_change_nothing(
    change: object, model: Model, trend: str
) -> None:
    raw = f"{HEAD} {model.body} {trend} RMK TSNO"

    assert callable(change)
    assert _meaning(read(change(raw))) == _meaning(read(raw))


@pytest.mark.parametrize("change", [str.lower, _spaced, _broken, _ended])
@given(made=forecasts())
@settings(max_examples=30)  # of each
def test_a_forecast_over_several_lines_is_the_same_forecast(
    change: object, made: tuple[str, list[tuple[str, Model]]]
) -> None:
    raw, _ = made

    assert callable(change)
    assert _meaning(read(change(raw))) == _meaning(read(raw))


@given(observations, trends)
def test_a_trend_changes_nothing_in_the_observation(model: Model, trend: str) -> None:
    assert _elements(f"{model.body} {trend}") == _elements(model.body)


@given(observations, st.sampled_from(["AO2 SLP045", "TSNO $", "CIG 005V010", "0200 FG BKN001"]))
def test_a_remark_changes_nothing_but_the_remarks(model: Model, remark: str) -> None:
    remarked = _elements(f"{model.body} RMK {remark}")

    assert replace(remarked, remarks=()) == _elements(model.body)


@given(observations)
def test_the_kind_is_not_part_of_the_elements(model: Model) -> None:
    bare, special = read(f"XABC 251150Z {model.body}"), read(f"SPECI XABC 251150Z {model.body}")

    assert bare.elements == special.elements == _elements(model.body)


# Index of a part of the model, the element it gives, and the field that holds it.
PARTS = (
    (0, Element.WIND, "wind"),
    (1, Element.VISIBILITY, "visibility"),
    (4, Element.CLOUD, "ceiling"),
    (5, Element.TEMPERATURE, "temperature"),
    (6, Element.PRESSURE, "pressure"),
)


@pytest.mark.parametrize(("index", "element", "name"), PARTS)
@given(model=observations)
@settings(max_examples=30)  # of each
def test_a_group_left_out_moves_only_its_element_to_unknown(
    model: Model, index: int, element: Element, name: str
) -> None:
    whole, without = _elements(model.body), _elements(model.without(index).body)

    assert without.unknown == whole.unknown | {element}
    others = {part for _, _, part in PARTS} - {name}
    for other in others | {"rvr", "weather"}:
        assert getattr(without, other) == getattr(whole, other)


@pytest.mark.parametrize(("index", "element", "name"), PARTS)
@given(model=observations)
@settings(max_examples=30)  # of each
def test_an_unreadable_group_moves_its_element_to_unknown(
    model: Model, index: int, element: Element, name: str
) -> None:
    word = {
        "wind": "2400XKT",
        "visibility": "99X9",
        "ceiling": "BKNX04",
        "temperature": "1X/04",
        "pressure": "Q10X3",
    }[name]
    parts = list(model.parts)
    parts[index] = replace(parts[index], words=word)
    report = read(f"{HEAD} {Model(tuple(parts)).body}")

    assert report.elements is not None
    assert word in report.unread
    assert element in report.elements.unknown
