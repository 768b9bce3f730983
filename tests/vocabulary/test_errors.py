"""Errors carry what went wrong as attributes, and say it in one line."""

from __future__ import annotations

import math

import pytest

from decision.errors import Fault, InvalidCase, OutOfRange, UnreadableReport, require_range


@pytest.mark.parametrize("value", [-1.0, 11.0, math.nan, math.inf])
def test_a_value_outside_the_range_raises_with_the_range(value: float) -> None:
    with pytest.raises(OutOfRange, match="valid from 0 to 10") as caught:
        require_range("mass_kg", value, low=0, high=10, source="[KEY] 1")
    assert (caught.value.name, caught.value.low, caught.value.high) == ("mass_kg", 0, 10)
    assert "[KEY] 1" in str(caught.value)


@pytest.mark.parametrize(
    ("end", "beyond"), [(0.0, -math.inf), (10.0, math.inf)], ids=["low", "high"]
)
def test_the_ends_of_the_range_belong_to_it_and_the_next_number_does_not(
    end: float, beyond: float
) -> None:
    require_range("mass_kg", end, low=0, high=10)
    with pytest.raises(OutOfRange):
        require_range("mass_kg", math.nextafter(end, beyond), low=0, high=10)


def test_an_invalid_case_lists_every_fault() -> None:
    faults = [Fault(pointer=f"/{name}", code="type", message=f"{name} wrong") for name in "ab"]
    assert str(InvalidCase(faults)) == "/a: a wrong; /b: b wrong"


def test_an_unreadable_report_shows_only_its_beginning() -> None:
    error = UnreadableReport("X" * 200, "no station")
    assert len(str(error)) < 100
