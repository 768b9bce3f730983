"""Published worked values of wind, turns, tyres, wet runways and distances over the earth.

Tolerances are the rounding of the source unless a comment says otherwise.
"""

from __future__ import annotations

import math

import pytest

from decision.geodesy import (
    NAVIGATION_SPHERE,
    bank_for_rate_deg,
    destination,
    distance_nm,
    inverse,
    turn_radius_nm,
    turn_rate_deg_per_s,
)
from decision.performance.braking import hydroplaning_speed_kt, wet_friction
from decision.quantities import Position, wind_components
from decision.units import M_PER_FT, m_to_nm, nm_to_m


def at(latitude_deg: float, longitude_deg: float) -> Position:
    return Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg)


def test_the_wind_on_runway_18_resolves_as_in_the_knowledge_test() -> None:
    """[FAA-KT]: wind 220/30."""
    wind = wind_components(wind_from_true_deg=220.0, wind_kt=30.0, direction_true_deg=180.0)
    assert wind.headwind_kt == pytest.approx(23.0, abs=0.5)
    assert wind.crosswind_kt == pytest.approx(19.0, abs=0.5)


def test_a_turn_at_100_kt_and_45_degrees_is_the_published_one() -> None:
    """[AVIATION-FORMULARY]; its radius comes from a rounded constant, hence 9 ft."""
    radius_nm = turn_radius_nm(true_airspeed_kt=100.0, bank_deg=45.0)
    assert nm_to_m(radius_nm) / M_PER_FT == pytest.approx(891.0, abs=9.0)
    rate = turn_rate_deg_per_s(true_airspeed_kt=100.0, bank_deg=45.0)
    assert rate == pytest.approx(10.9, abs=0.05)


def test_a_standard_rate_turn_at_100_kt_needs_the_published_bank() -> None:
    """[AVIATION-FORMULARY]: 3 degrees per second."""
    bank_deg = bank_for_rate_deg(true_airspeed_kt=100.0, rate_deg_per_s=3.0)
    assert bank_deg == pytest.approx(15.4, abs=0.05)


@pytest.mark.parametrize(
    ("tyre_pressure_psi", "speed_kt"),
    [
        pytest.param(36.0, 54.0, id="NASA-TN-D-2056-36psi"),
        pytest.param(50.0, 64.0, id="NASA-TN-D-2056-50psi"),
        pytest.param(200.0, 127.0, id="NASA-TN-D-2056-200psi"),
    ],
)
def test_tyres_plane_at_nine_times_the_root_of_their_pressure(
    tyre_pressure_psi: float, speed_kt: float
) -> None:
    found_kt = hydroplaning_speed_kt(tyre_pressure_psi=tyre_pressure_psi)
    assert found_kt == pytest.approx(speed_kt, abs=0.5)


def test_a_tyre_that_touches_down_planing_spins_up_at_a_lower_speed() -> None:
    """[NASA-TN-D-2056]: 7.7 times the square root of the pressure."""
    found_kt = hydroplaning_speed_kt(tyre_pressure_psi=100.0, spin_up=True)
    assert found_kt == pytest.approx(77.0, abs=0.05)


@pytest.mark.parametrize(
    ("tyre_pressure_psi", "ground_speed_kt", "friction", "half_digit"),
    [
        pytest.param(100.0, 50.0, 0.38, 0.005, id="CFR-25-109-POLY-100psi-50kt"),
        pytest.param(100.0, 100.0, 0.22, 0.005, id="CFR-25-109-POLY-100psi-100kt"),
        *(
            pytest.param(psi, kt, mu, 0.0005, id=f"CFR-25-109-POLY-{psi:.0f}psi-{kt:.0f}kt")
            for psi, values in (
                (50.0, (0.380, 0.242, 0.156)),
                (100.0, (0.341, 0.220, 0.147)),
                (200.0, (0.305, 0.202, 0.139)),
                (300.0, (0.267, 0.181, 0.131)),
            )
            for kt, mu in zip((60.0, 100.0, 140.0), values, strict=True)
        ),
    ],
)
def test_wet_braking_has_the_coefficients_of_the_regulation(
    tyre_pressure_psi: float, ground_speed_kt: float, friction: float, half_digit: float
) -> None:
    found = wet_friction(ground_speed_kt=ground_speed_kt, tyre_pressure_psi=tyre_pressure_psi)
    assert found == pytest.approx(friction, abs=half_digit)


def test_nearly_antipodal_cities_are_as_far_apart_as_published() -> None:
    """[GEOGRAPHICLIB] documentation: Wellington to Salamanca."""
    path = inverse(start=at(-41.32, 174.81), end=at(40.96, -5.50))
    assert path.distance_m == pytest.approx(19_959_679.267, abs=0.001)


@pytest.mark.parametrize(
    ("start", "initial_deg", "end", "final_deg", "length_m"),
    [
        pytest.param(*line, id=f"GEOGRAPHICLIB-{line[-1] / 1e3:.0f}km")
        for line in (
            (
                at(55.52454, 106.05087),
                22.020059880983,
                at(77.03196, -162.81766),
                109.112041110672,
                4105086.1713924406,
            ),
            (
                at(-66.99028, 112.2363),
                173.734912408784,
                at(-12.70631, -74.09656),
                2.512956620914,
                11150344.2312080241,
            ),
            (
                at(-17.42761, 173.34268),
                200.966442338807,
                at(-15.84784, 5.93557),
                339.212515348463,
                16076603.1631180673,
            ),
            (
                at(6.96833, 52.74123),
                92.581585386318,
                at(-7.39675, -153.82709),
                90.721692165924,
                17102477.2496958388,
            ),
            (
                at(-68.82867, -74.28391),
                93.774347763115,
                at(-50.63005, -8.36685),
                34.655640854113,
                3956936.926063544,
            ),
        )
    ],
)
def test_ways_over_the_earth_are_those_of_the_published_test_set(
    start: Position, initial_deg: float, end: Position, final_deg: float, length_m: float
) -> None:
    """[GEOGRAPHICLIB]: lines of its test set, which was worked out with more digits."""
    path = inverse(start=start, end=end)
    assert path.distance_m == pytest.approx(length_m, abs=1e-7)
    assert path.initial_true_deg == pytest.approx(initial_deg, abs=1e-11)
    assert path.final_true_deg == pytest.approx(final_deg, abs=1e-11)
    reached = destination(start=start, initial_true_deg=initial_deg, distance_nm=m_to_nm(length_m))
    assert distance_nm(start=reached, end=end) == pytest.approx(0.0, abs=1e-9)


def test_the_published_direct_problem_ends_where_it_should() -> None:
    """[GEOGRAPHICLIB] documentation: 20 000 km from Perth on azimuth 225."""
    end = destination(
        start=at(-32.06, 115.74), initial_true_deg=225.0, distance_nm=m_to_nm(20_000_000.0)
    )
    assert end.latitude_deg == pytest.approx(32.11195529, abs=5e-9)
    assert end.longitude_deg == pytest.approx(-63.95925278, abs=5e-9)


def test_los_angeles_to_new_york_on_the_navigation_sphere() -> None:
    """[AVIATION-FORMULARY]: 33 57 N 118 24 W to 40 38 N 73 47 W, one minute one mile."""
    path = inverse(
        start=at(33 + 57 / 60, -(118 + 24 / 60)),
        end=at(40 + 38 / 60, -(73 + 47 / 60)),
        ellipsoid=NAVIGATION_SPHERE,
    )
    assert path.distance_nm == pytest.approx(2144.0, abs=1.0)


def test_a_quarter_of_the_navigation_sphere_is_5400_miles() -> None:
    """[AVIATION-FORMULARY]: 90 degrees of 60 miles."""
    path = inverse(start=at(0.0, 0.0), end=at(90.0, 0.0), ellipsoid=NAVIGATION_SPHERE)
    assert path.distance_nm == pytest.approx(5_400.0, rel=1e-12)
    assert math.isclose(path.initial_true_deg, 0.0, abs_tol=1e-12)
