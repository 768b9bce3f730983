"""Conversions against their exact definitions and each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision import units

FIGURES = st.floats(-1e6, 1e6)


@given(FIGURES)
def test_conversions_there_and_back_return_the_figure(value: float) -> None:
    pairs = [
        (units.ft_to_m, units.m_to_ft),
        (units.kt_to_mps, units.mps_to_kt),
        (units.degc_to_k, units.k_to_degc),
        (units.fpm_to_mps, units.mps_to_fpm),
    ]
    for there, back in pairs:
        assert back(there(value)) == pytest.approx(value, abs=1e-6)


def test_published_equivalents_hold() -> None:
    """[FAA-AIM] and [TERPS]: A2992 is 1013.2 hPa; 2.5 % is 152 ft/NM, 3.3 % is 200 ft/NM."""
    assert units.inhg_to_hpa(29.92) == pytest.approx(1013.2, abs=0.05)
    assert units.percent_to_ft_per_nm(2.5) == pytest.approx(152, abs=0.5)
    assert units.percent_to_ft_per_nm(3.29) == pytest.approx(200, abs=0.5)
    assert units.statute_miles_to_m(0.25) == pytest.approx(402, abs=0.5)
    assert units.kmh_to_kt(185.2) == pytest.approx(100)
    assert units.m_to_nm(1852.0) == pytest.approx(1.0)
