"""Shared values: what they refuse, and wind components against a published question."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.quantities import Position, wind_components


def test_wind_components_agree_with_the_published_question() -> None:
    """[FAA-KT]: runway 18, wind 220 at 30 kt gives headwind 23 and crosswind 19 kt."""
    parts = wind_components(wind_from_true_deg=220, wind_kt=30, direction_true_deg=180)
    assert parts.headwind_kt == pytest.approx(23, abs=0.5)
    assert parts.crosswind_kt == pytest.approx(19, abs=0.5)


@given(st.floats(0, 360), st.floats(0, 100), st.floats(0, 360))
def test_components_keep_the_speed_of_the_wind(
    wind_from: float, speed_kt: float, direction: float
) -> None:
    parts = wind_components(
        wind_from_true_deg=wind_from, wind_kt=speed_kt, direction_true_deg=direction
    )
    assert math.hypot(parts.headwind_kt, parts.crosswind_kt) == pytest.approx(speed_kt)
    assert parts.crosswind_kt >= 0


def test_a_negative_wind_speed_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        wind_components(wind_from_true_deg=0, wind_kt=-1, direction_true_deg=0)


@pytest.mark.parametrize(("latitude", "longitude"), [(90.1, 0.0), (0.0, -180.1), (math.nan, 0.0)])
def test_a_point_off_the_earth_cannot_be_built(latitude: float, longitude: float) -> None:
    with pytest.raises(ValueError, match="position"):
        Position(latitude_deg=latitude, longitude_deg=longitude)
