"""Published worked values of wind, tyres, wet runways and distances over the earth.

Tolerances are the rounding of the source unless a comment says otherwise.
"""

from __future__ import annotations

import pytest

from decision.earth import distance_nm, initial_true_deg
from decision.performance.braking import hydroplaning_speed_kt, wet_friction
from decision.quantities import Position, wind_components
from decision.units import M_PER_NM


def at(latitude_deg: float, longitude_deg: float) -> Position:
    return Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg)


def test_the_wind_on_runway_18_resolves_as_in_the_knowledge_test() -> None:
    """[FAA-KT]: wind 220/30."""
    wind = wind_components(wind_from_true_deg=220.0, wind_kt=30.0, direction_true_deg=180.0)
    assert wind.headwind_kt == pytest.approx(23.0, abs=0.5)
    assert wind.crosswind_kt == pytest.approx(19.0, abs=0.5)


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
    found_nm = distance_nm(start=at(-41.32, 174.81), end=at(40.96, -5.50))
    assert found_nm * M_PER_NM == pytest.approx(19_959_679.267, abs=0.001)


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
    assert distance_nm(start=start, end=end) * M_PER_NM == pytest.approx(length_m, abs=1e-7)
    assert initial_true_deg(start=start, end=end) == pytest.approx(initial_deg, abs=1e-11)
    turned = initial_true_deg(start=end, end=start) - 180.0
    assert turned % 360.0 == pytest.approx(final_deg, abs=1e-11)


def test_los_angeles_to_new_york_is_nearly_as_on_the_sphere() -> None:
    """[AVIATION-FORMULARY]: 2144 NM and 66 degrees, where one minute is one mile.

    From 33 57 N 118 24 W to 40 38 N 73 47 W. The ellipsoid differs from that sphere by up to 0.6 %.
    """
    start, end = at(33 + 57 / 60, -(118 + 24 / 60)), at(40 + 38 / 60, -(73 + 47 / 60))
    assert distance_nm(start=start, end=end) == pytest.approx(2144.0, rel=0.006)
    assert initial_true_deg(start=start, end=end) == pytest.approx(66.0, abs=0.5)


def test_a_quarter_of_the_meridian_is_ten_thousand_kilometres() -> None:
    """[GEOGRAPHICLIB]: 10 001 965.729 m on WGS84; it sets out to the north."""
    start, end = at(0.0, 0.0), at(90.0, 0.0)
    assert distance_nm(start=start, end=end) * M_PER_NM == pytest.approx(10_001_965.729, abs=0.001)
    assert initial_true_deg(start=start, end=end) == pytest.approx(0.0, abs=1e-12)
