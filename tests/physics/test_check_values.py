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
