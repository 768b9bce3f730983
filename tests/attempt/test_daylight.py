"""Day and night against an independent implementation of another algorithm, and at known edges."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from astral import Observer
from astral.sun import dawn, dusk, elevation
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.daylight import (
    is_night,
    solar_elevation_deg,
)
from decision.errors import OutOfRange
from decision.quantities import Position
from decision.rulebooks.rulebook import load_rulebook
from tests.attempt.minima_builders import rulebook_with

ARC_MINUTE_DEG = 1.0 / 60.0  # published accuracy of the almanac formula
ORACLE_LATITUDE_DEG = 89.8  # the oracle treats places nearer to a pole as this far from it
PLACE = Position(latitude_deg=50.0, longitude_deg=10.0)
NOON = datetime(2026, 3, 20, 11, 30, tzinfo=UTC)
ICAO = load_rulebook("icao")

instants = st.integers(0, 60 * 365 * 24 * 60).map(
    lambda minutes: datetime(2000, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
)


@given(
    latitude_deg=st.floats(-ORACLE_LATITUDE_DEG, ORACLE_LATITUDE_DEG),
    longitude_deg=st.floats(-180.0, 180.0),
    at=instants,
)
def test_the_height_of_the_sun_agrees_with_another_algorithm_to_an_arc_minute(
    latitude_deg: float, longitude_deg: float, at: datetime
) -> None:
    place = Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    oracle = elevation(Observer(latitude_deg, longitude_deg), at, with_refraction=False)
    assert solar_elevation_deg(place, at) == pytest.approx(oracle, abs=ARC_MINUTE_DEG)


@pytest.mark.parametrize("month", range(1, 13))
@pytest.mark.parametrize("latitude_deg", [-45.0, 0.0, 50.0])
def test_civil_twilight_ends_and_begins_within_seconds_of_another_algorithm(
    latitude_deg: float, month: int
) -> None:
    place = Position(latitude_deg=latitude_deg, longitude_deg=10.0)
    observer = Observer(latitude_deg, 10.0)
    day = datetime(2026, month, 15, tzinfo=UTC)
    slack = timedelta(seconds=60)  # the oracle's twilight is solved to the minute or so
    evening, morning = dusk(observer, day), dawn(observer, day)
    assert not is_night(place, evening - slack, ICAO)
    assert is_night(place, evening + slack, ICAO)
    assert is_night(place, morning - slack, ICAO)
    assert not is_night(place, morning + slack, ICAO)


@pytest.mark.parametrize(
    ("latitude_deg", "at", "night"),
    [
        (80.0, datetime(2026, 6, 21, 0, tzinfo=UTC), False),
        (80.0, datetime(2026, 12, 21, 12, tzinfo=UTC), True),
        (-90.0, datetime(2026, 12, 21, 12, tzinfo=UTC), False),
        (90.0, datetime(2026, 12, 21, 12, tzinfo=UTC), True),
        (0.0, datetime(2026, 3, 20, 12, tzinfo=UTC), False),
        (0.0, datetime(2026, 3, 20, 0, tzinfo=UTC), True),
    ],
)
def test_polar_days_and_nights_have_no_twilight_to_find(
    latitude_deg: float, at: datetime, night: bool
) -> None:
    assert is_night(Position(latitude_deg=latitude_deg, longitude_deg=0.0), at, ICAO) is night


def test_without_a_place_day_or_night_is_not_known() -> None:
    assert is_night(None, NOON, ICAO) is None


def test_the_sun_overhead_is_at_ninety_degrees_and_not_beyond() -> None:
    heights = [
        solar_elevation_deg(
            Position(latitude_deg=0.0, longitude_deg=step / 100.0),
            datetime(2026, 3, 20, 14, 46, tzinfo=UTC),
        )
        for step in range(-4200, -3800)
    ]
    assert 89.9 < max(heights) <= 90.0


@pytest.mark.parametrize("year", [1799, 2201])
def test_years_outside_the_formula_are_refused(year: int) -> None:
    with pytest.raises(OutOfRange, match="year"):
        solar_elevation_deg(PLACE, datetime(year, 1, 1, tzinfo=UTC))


@pytest.mark.parametrize("year", [1800, 2200])
def test_years_at_the_edge_of_the_formula_are_served(year: int) -> None:
    assert -90.0 <= solar_elevation_deg(PLACE, datetime(year, 1, 1, tzinfo=UTC)) <= 90.0


def test_the_angle_of_night_is_that_of_the_rulebook() -> None:
    """A sun 6 to 12 degrees down is night by civil twilight and not yet by the nautical one."""
    nautical = rulebook_with("icao", night_sun_depression_degrees=12.0)
    evening = dusk(Observer(50.0, 10.0), NOON) + timedelta(minutes=10)
    assert is_night(PLACE, evening, ICAO) is True
    assert is_night(PLACE, evening, nautical) is False
