from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Annotated, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import defstruct

from decision.case import CASE
from decision.case.derive import record_of
from decision.case.spec import AnyOf
from decision.errors import Fault
from decision.fields import about
from service.examples import DEMOS
from service.openapi import shape_to_property
from service.resources import VIEWS
from service.schemas import Shaped, by_schema, faults_of, schema_of

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-10, 10**6)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)


def places(faults: tuple[Fault, ...]) -> set[tuple[str, str, str]]:
    return {(fault.pointer, fault.code, fault.accepted) for fault in faults}


def spots(value: object, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a body."""
    members = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    return [path, *(spot for key, inner in members for spot in spots(inner, (*path, key)))]


def replaced(value: Any, path: tuple[Any, ...], new: object) -> Any:
    if not path:
        return new
    copy = value.copy()
    copy[path[0]] = replaced(value[path[0]], path[1:], new)
    return copy


@st.composite
def damaged_cases(draw: st.DrawFn) -> Any:
    case = draw(st.sampled_from(list(DEMOS.values())))
    for _ in range(draw(st.integers(1, 3))):
        if isinstance(case, dict | list):
            case = replaced(case, draw(st.sampled_from(spots(case))), draw(JSON))
    return case


@given(damaged_cases())
def test_the_schemas_find_what_the_shape_finds(body: object) -> None:
    assert places(faults_of(CASE, body)) == places(CASE.faults(body))
    if isinstance(body, dict):
        assert places(by_schema(CASE, body)) == places(CASE.faults(body))


@pytest.mark.parametrize("case", DEMOS.values(), ids=DEMOS.keys())
def test_a_demo_case_has_no_fault(case: object) -> None:
    assert isinstance(case, dict)
    assert faults_of(CASE, case) == by_schema(CASE, case) == ()


@pytest.mark.parametrize(
    "address",
    [view.address for view in VIEWS if view.address.example is not None],
    ids=lambda address: address.path,
)
def test_the_example_of_an_address_has_no_fault(address: Any) -> None:
    assert faults_of(address.body, address.example) == ()
    assert by_schema(address.body, address.example) == ()


def test_threads_that_check_at_once_find_each_their_own_faults() -> None:
    good = next(iter(DEMOS.values()))
    assert isinstance(good, dict)
    bodies = [good, good | {"colour": 1}, good | {"fuel": {"on_board_kg": -1}}, {}] * 50
    alone = [faults_of(CASE, each) for each in bodies]
    with ThreadPoolExecutor(8) as threads:
        assert list(threads.map(lambda each: faults_of(CASE, each), bodies)) == alone


@pytest.mark.parametrize("body", [None, 1, "x", [], True])
def test_a_body_that_is_no_object_is_one_fault(body: object) -> None:
    [fault] = faults_of(CASE, body)
    assert (fault.pointer, fault.code, fault.accepted) == ("", "type", "an object")


def test_a_name_stands_for_one_record() -> None:
    schema_of(record_of(defstruct("OnlyOnce", [])))
    with pytest.raises(ValueError, match="two records are called OnlyOnce"):
        schema_of(record_of(defstruct("OnlyOnce", [])))


def test_a_number_in_words_is_no_number() -> None:
    whole = Annotated[int, about("N.", low=0, high=9)]
    shape = record_of(defstruct("Strictness", [("n", whole)]))
    assert faults_of(shape, {"n": 5.0}) == ()  # JSON Schema calls it an integer
    for value in ("5", True, 5.5, [5]):
        assert [fault.code for fault in faults_of(shape, {"n": value})] == ["type"]


def test_a_shape_that_the_document_cannot_express_is_a_fault_of_the_program() -> None:
    class Odd:
        accepted = "nothing"

    with pytest.raises(TypeError, match="no JSON Schema for Odd"):
        shape_to_property(None, Shaped(AnyOf(choices=(Odd(),))))  # type: ignore[arg-type]
