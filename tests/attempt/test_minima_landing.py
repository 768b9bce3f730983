"""Margins on landing distances and the credit of a wind, rulebook by rulebook."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.minima import LandingBasis, required_landing_distance_m
from decision.attempt.runway_wind import credited_headwind_kt
from decision.rulebooks.rulebook import load_rulebook, rulebook_ids

HALF_METRE = 0.5
HALF_OF_THIRD_DECIMAL = 0.0005


def test_the_worked_example_of_the_arrival_check() -> None:
    required = required_landing_distance_m(
        1800.0, basis=LandingBasis.ARRIVAL, rulebook=load_rulebook("easa")
    )
    assert required.distance_m == pytest.approx(2070.0, abs=HALF_METRE)  # 20 m over 2050 m
    assert required.because == ("[EU-AO] CAT.OP.MPA.303(a)",)


def test_an_operator_factor_takes_the_place_of_the_rulebook() -> None:
    required = required_landing_distance_m(
        1000.0,
        basis=LandingBasis.ARRIVAL,
        rulebook=load_rulebook("easa"),
        arrival_factor=1.3,
    )
    assert (required.distance_m, required.factor) == (1300.0, 1.3)


@pytest.mark.parametrize(
    ("rulebook", "basis", "factor"),
    [
        ("easa", LandingBasis.DISPATCH_DRY, 1.667),
        ("easa", LandingBasis.DISPATCH_WET, 1.917),
        ("easa", LandingBasis.DISPATCH_ALTERNATE_DRY, 1.667),
        ("easa", LandingBasis.DISPATCH_ALTERNATE_WET, 1.917),
        ("faa-121", LandingBasis.DISPATCH_DRY, 1.667),
        ("faa-121", LandingBasis.DISPATCH_WET, 1.917),
        ("faa-121", LandingBasis.DISPATCH_ALTERNATE_DRY, 1.667),
        ("faa-121", LandingBasis.DISPATCH_ALTERNATE_WET, 1.667),
    ],
    ids=[
        "EU-AO-A.230",
        "EU-AO-A.235",
        "EU-AO-A.230-alternate",
        "EU-AO-A.235-alternate",
        "CFR-121.195(b)",
        "CFR-121.195(d)",
        "CFR-121.197",
        "CFR-121.197-has-no-wet-factor",
    ],
)
def test_dispatch_factors_are_the_published_ones(
    rulebook: str, basis: LandingBasis, factor: float
) -> None:
    required = required_landing_distance_m(1000.0, basis=basis, rulebook=load_rulebook(rulebook))
    assert required.factor == pytest.approx(factor, abs=HALF_OF_THIRD_DECIMAL)
    assert required.distance_m == pytest.approx(1000.0 * factor, abs=HALF_METRE)


@pytest.mark.parametrize(
    ("contaminated_m", "distance_m"),
    [(1600.0, 1916.7), (1700.0, 1955.0)],
    ids=["EU-AO-A.235-wet-governs", "EU-AO-A.235-contaminated-governs"],
)
def test_on_a_contaminated_runway_the_greater_distance_governs(
    contaminated_m: float, distance_m: float
) -> None:
    required = required_landing_distance_m(
        1000.0,
        basis=LandingBasis.DISPATCH_WET,
        rulebook=load_rulebook("easa"),
        contaminated_distance_m=contaminated_m,
    )
    assert required.distance_m == pytest.approx(distance_m, abs=0.05)
    assert len(required.because) == 3


def test_slippery_is_no_more_than_wet_in_the_united_states() -> None:
    """[CFR-121] 121.195(d), 121.197."""
    for basis, distance_m in (
        (LandingBasis.DISPATCH_WET, 1916.7),
        (LandingBasis.DISPATCH_ALTERNATE_WET, 1666.7),
    ):
        required = required_landing_distance_m(
            1000.0,
            basis=basis,
            rulebook=load_rulebook("faa-121"),
            contaminated_distance_m=1800.0,
        )
        assert required.distance_m == pytest.approx(distance_m, abs=0.05)
        assert len(required.because) == 2


def test_contaminated_data_do_not_matter_to_a_dry_dispatch() -> None:
    required = required_landing_distance_m(
        1000.0,
        basis=LandingBasis.DISPATCH_DRY,
        rulebook=load_rulebook("easa"),
        contaminated_distance_m=5000.0,
    )
    assert required.distance_m == pytest.approx(1666.7, abs=0.05)


@pytest.mark.parametrize("rulebook", rulebook_ids())
@pytest.mark.parametrize(
    ("headwind_kt", "credited_kt"),
    [(20.0, 10.0), (0.0, 0.0), (-10.0, -15.0)],
    ids=["CFR-25-125(f)-head", "CFR-25-125(f)-calm", "CFR-25-125(f)-tail"],
)
def test_half_of_a_headwind_and_one_and_a_half_of_a_tailwind_count(
    rulebook: str, headwind_kt: float, credited_kt: float
) -> None:
    book = load_rulebook(rulebook)
    assert credited_headwind_kt(headwind_kt, rulebook=book) == credited_kt


@given(first_kt=st.floats(-100.0, 200.0), second_kt=st.floats(-100.0, 200.0))
def test_a_credited_wind_is_never_better_than_the_wind(first_kt: float, second_kt: float) -> None:
    book = load_rulebook("easa")
    assert credited_headwind_kt(first_kt, rulebook=book) <= first_kt
    low, high = sorted((first_kt, second_kt))
    assert credited_headwind_kt(low, rulebook=book) <= credited_headwind_kt(high, rulebook=book)
