"""Thrust laws at their joints, ratings by temperature, and what each engine contributes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.performance.configuration import Rating
from decision.performance.point import Point, point
from decision.performance.thrust import (
    climb_thrust_n,
    continuous_thrust_n,
    en_route_rating,
    go_around_thrust_n,
    idle_thrust_n,
    thrust_n,
)
from tests.physics.builders import CLEAN, ONE_ENGINE, flying, xtj150


def at(height_ft: float, cas_kt: float = 230.0, isa_deviation: float = 0.0) -> Point:
    return point(
        pressure_altitude_ft=height_ft,
        cas_kt=cas_kt,
        isa_deviation_degc=isa_deviation,
        mach_cap=0.78,
    )


def test_static_thrust_at_sea_level_is_the_rated_one() -> None:
    """[BARTEL-YOUNG] eq. 11 at rest; its polynomial reproduces 1 to 1e-4."""
    static = go_around_thrust_n(xtj150(), at=at(0.0, cas_kt=1e-3))
    assert static == pytest.approx(xtj150().engine.static_thrust_n, rel=2e-4)


def test_thrust_at_the_cruise_point_is_the_reference_cruise_thrust() -> None:
    """[BARTEL-YOUNG] eq. 15 is 1 there by construction; the profile scales it."""
    engine, ratings = xtj150().engine, xtj150().ratings
    cruise = point(
        pressure_altitude_ft=engine.cruise_pressure_altitude_ft,
        cas_kt=340.0,
        isa_deviation_degc=0.0,
        mach_cap=engine.cruise_mach,
    )
    expected = ratings.climb_scale * (0.2 * engine.static_thrust_n + 890.0)
    assert climb_thrust_n(xtj150(), at=cruise, rate_fpm=0.0) == pytest.approx(expected, rel=1e-9)


def test_the_climb_law_is_continuous_at_10000_ft() -> None:
    below = climb_thrust_n(xtj150(), at=at(9_999.9), rate_fpm=1_000.0)
    above = climb_thrust_n(xtj150(), at=at(10_000.1), rate_fpm=1_000.0)
    assert above == pytest.approx(float(below), rel=1e-4)


@pytest.mark.parametrize(
    ("height_ft", "cas_kt", "rate_fpm", "referred"),
    [
        pytest.param(5_200.0, 250.0, 2_500.0, 0.60, id="derived-5200ft"),
        pytest.param(19_900.0, 300.0, 2_000.0, 0.69, id="derived-19900ft"),
        pytest.param(26_500.0, 300.0, 1_500.0, 0.80, id="derived-26500ft"),
    ],
)
def test_referred_climb_thrust_is_that_of_a_recorded_climb(
    height_ft: float, cas_kt: float, rate_fpm: float, referred: float
) -> None:
    """Speeds and rates of the record are known to a few per cent, hence 0.015."""
    here = at(height_ft, cas_kt)
    thrust = climb_thrust_n(xtj150(), at=here, rate_fpm=rate_fpm)
    assert thrust / (here.delta * 110_000.0) == pytest.approx(referred, abs=0.015)


@pytest.mark.parametrize(
    ("rating", "flat_k", "lapse"),
    [(Rating.GO_AROUND, 15.0, 0.0085), (Rating.CLIMB, 10.0, 0.0070)],
)
def test_ratings_are_flat_and_then_lapse(rating: Rating, flat_k: float, lapse: float) -> None:
    def total_n(deviation: float) -> float:
        warm = at(2_000.0, 160.0, deviation)
        return float(thrust_n(xtj150(), CLEAN, rating=rating, at=warm))

    assert total_n(flat_k) == pytest.approx(total_n(0.0), rel=1e-12)
    assert total_n(flat_k + 10.0) == pytest.approx(total_n(0.0) * (1.0 - 10.0 * lapse), rel=1e-12)


def test_continuous_thrust_runs_from_the_go_around_to_the_climb_rating() -> None:
    profile = xtj150()
    low, high = at(4_000.0), at(21_000.0)
    assert continuous_thrust_n(profile, at=low, rate_fpm=0.0) == pytest.approx(
        0.88 * float(go_around_thrust_n(profile, at=low))
    )
    assert continuous_thrust_n(profile, at=high, rate_fpm=0.0) == pytest.approx(
        1.03 * float(climb_thrust_n(profile, at=high, rate_fpm=0.0))
    )


def test_one_engine_gives_half_and_flies_on_continuous_thrust() -> None:
    here = at(5_000.0)
    both = thrust_n(xtj150(), CLEAN, rating=Rating.CLIMB, at=here)
    one = thrust_n(xtj150(), ONE_ENGINE, rating=Rating.CLIMB, at=here)
    assert one == pytest.approx(float(both) / 2.0)
    assert en_route_rating(xtj150(), CLEAN) is Rating.CLIMB
    assert en_route_rating(xtj150(), ONE_ENGINE) is Rating.MAXIMUM_CONTINUOUS
    continuous = thrust_n(xtj150(), ONE_ENGINE, rating=Rating.MAXIMUM_CONTINUOUS, at=here)
    assert continuous == continuous_thrust_n(xtj150(), at=here, rate_fpm=0.0)


def test_anti_ice_bleed_takes_its_share_of_thrust() -> None:
    here = at(5_000.0)
    iced = flying(anti_ice=True)
    assert thrust_n(xtj150(), iced, rating=Rating.GO_AROUND, at=here) == pytest.approx(
        0.97 * float(thrust_n(xtj150(), CLEAN, rating=Rating.GO_AROUND, at=here))
    )


def test_idle_thrust_is_that_of_recorded_descents() -> None:
    """2 to 3 kN an engine between 5000 and 10 000 ft."""
    for height_ft in (5_000.0, 10_000.0):
        each_n = idle_thrust_n(xtj150(), CLEAN, at=at(height_ft)) / 2.0
        assert 1_500.0 < float(each_n) < 3_000.0


@given(height_ft=st.floats(0.0, 38_000.0), cas_kt=st.floats(150.0, 250.0))
def test_an_array_gives_what_its_elements_give(height_ft: float, cas_kt: float) -> None:
    for rating in Rating:
        alone = thrust_n(xtj150(), CLEAN, rating=rating, at=at(height_ft, cas_kt))
        together = point(
            pressure_altitude_ft=np.array([1_000.0, height_ft]),
            cas_kt=np.array([200.0, cas_kt]),
            isa_deviation_degc=0.0,
            mach_cap=0.78,
        )
        both = np.asarray(thrust_n(xtj150(), CLEAN, rating=rating, at=together))
        assert both[1] == pytest.approx(float(alone), rel=1e-12)
