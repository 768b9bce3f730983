"""Minimum heights in the cold against the published table, and where they are corrected."""

from __future__ import annotations

import pytest

from decision.rules.cold import cold_correction_ft, cold_error_ft
from decision.rules.finding import Finding, Outcome
from tests.changing import replace
from tests.decide.builders import courses
from tests.rules.builders import PROCEDURE, attempt, ceiling, context, finding, seen

HEIGHTS_FT = (200, 300, 500, 1000, 2000, 5000)
# [PANS-OPS-I] part III, section 1, chapter 4, table of corrections in feet, aerodrome at sea level,
# rounded up to ten; the same as [FAA-AIM] table 7-3-1; from memory.
TABLE = {
    0.0: (20, 20, 30, 60, 120, 280),
    -10.0: (20, 30, 50, 100, 200, 490),
    -20.0: (30, 50, 70, 140, 280, 710),
    -30.0: (40, 60, 100, 190, 380, 950),
    -40.0: (50, 80, 120, 240, 480, 1210),
    -50.0: (60, 90, 150, 300, 590, 1500),
}


@pytest.mark.parametrize(
    ("degc", "height_ft", "printed_ft"),
    [
        (degc, float(height), printed)
        for degc, row in TABLE.items()
        for height, printed in zip(HEIGHTS_FT, row, strict=True)
    ],
)
def test_the_error_is_that_of_the_published_table(
    degc: float, height_ft: float, printed_ft: float
) -> None:
    error_ft = cold_error_ft(height_ft=height_ft, elevation_ft=0.0, temperature_degc=degc)
    assert printed_ft - 11.0 <= error_ft <= printed_ft + 1.0


def test_it_is_about_four_percent_for_ten_degrees() -> None:
    for below in (10.0, 20.0, 30.0):
        error_ft = cold_error_ft(height_ft=1000.0, elevation_ft=0.0, temperature_degc=15.0 - below)
        assert error_ft == pytest.approx(4.0 * below, rel=0.15)


def test_in_standard_air_there_is_none_at_any_elevation() -> None:
    for elevation_ft in (0.0, 5000.0):
        degc = 15.0 - 0.00198 * elevation_ft
        for warmer in (0.0, 20.0):
            error_ft = cold_error_ft(
                height_ft=2000.0, elevation_ft=elevation_ft, temperature_degc=degc + warmer
            )
            assert error_ft == pytest.approx(0.0, abs=1e-9)


def test_of_one_temperature_a_higher_place_is_less_cold() -> None:
    low, high = (
        cold_error_ft(height_ft=500.0, elevation_ft=elevation_ft, temperature_degc=-15.0)
        for elevation_ft in (0.0, 5000.0)
    )
    assert high < low


def found(degc: float, ceiling_ft: float, **changes: object) -> Finding:
    at = attempt(
        surface_temperature_degc=degc, weather=seen(ceiling=ceiling(ceiling_ft)), **changes
    )
    return finding("CT-01", at, context())


def test_it_is_advised_and_bars_nothing() -> None:
    missed = found(-30.0, 210.0)
    assert missed.outcome is Outcome.FAIL
    assert not missed.binds
    assert "at -30 degrees" in missed.text


def test_the_correction_is_of_the_minimum_that_counts() -> None:
    high = replace(PROCEDURE, dh_ft=600.0)
    low_ft, high_ft = (
        cold_correction_ft(attempt(surface_temperature_degc=-20.0, approach=each))
        for each in (PROCEDURE, high)
    )
    assert low_ft is not None
    assert high_ft is not None
    assert high_ft / low_ft == pytest.approx(3.0, rel=0.01)


def test_above_freezing_nothing_is_added_and_without_temperature_nothing_is_known() -> None:
    assert cold_correction_ft(attempt(surface_temperature_degc=0.5)) == 0.0
    assert cold_correction_ft(attempt(surface_temperature_degc=None)) is None
    assert cold_correction_ft(attempt(approach=None)) is None
    below = replace(PROCEDURE, dh_ft=100.0, rvr_m=300.0)
    assert cold_correction_ft(attempt(surface_temperature_degc=-9.0, approach=below)) == 0.0


def test_the_temperature_is_that_of_the_report() -> None:
    cold = "METAR XKAL 140600Z 26011KT 9999 SCT030 M18/M20 Q1013 NOSIG"
    first = courses(**{"/weather/reports/0": cold})["approach_then_divert:XBRE"].attempts[0]
    assert first.surface_temperature_degc == pytest.approx(-18.0)
