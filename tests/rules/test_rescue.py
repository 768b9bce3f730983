"""Categories of rescue and fire fighting against the published table."""

from __future__ import annotations

import pytest

from decision.profile import load_profile
from decision.rulebooks.rulebook import load_rulebook
from decision.rules.aerodrome import least_rescue_category, rescue_category_of
from tests.changing import replace
from tests.profile.builders import WIDEBODY

XTJ = load_profile("xtj150")


def category(length_m: float, width_m: float) -> int:
    return rescue_category_of(
        replace(XTJ, fuselage=replace(XTJ.fuselage, length_m=length_m, width_m=width_m))
    )


@pytest.mark.parametrize(
    ("length_m", "width_m", "expected"),
    [
        # [ICAO-ANNEX14] table 9-1 as an aeronautical information publication prints it
        (8.9, 2.0, 1),
        (9.0, 2.0, 2),
        (12.0, 3.0, 3),
        (18.0, 4.0, 4),
        (24.0, 4.0, 5),
        (28.0, 5.0, 6),
        (38.9, 5.0, 6),
        (39.0, 5.0, 7),
        (49.0, 7.0, 8),
        (61.0, 7.0, 9),
        (76.0, 8.0, 10),
    ],
)
def test_the_length_sets_the_category(length_m: float, width_m: float, expected: int) -> None:
    assert category(length_m, width_m) == expected


@pytest.mark.parametrize(("width_m", "expected"), [(5.0, 6), (5.01, 7)])
def test_a_wider_fuselage_is_one_category_higher(width_m: float, expected: int) -> None:
    """[ICAO-ANNEX14] 9.2.3, from memory."""
    assert category(37.5, width_m) == expected


def test_the_aircraft_of_the_demo_are_of_the_categories_of_their_size() -> None:
    assert (rescue_category_of(XTJ), rescue_category_of(load_profile(WIDEBODY))) == (6, 9)


# [ICAO-ANNEX6] 12th edition, table F-1 as quoted: never below category 4 above 27 t
@pytest.mark.parametrize(
    ("length_m", "mtow_kg", "below", "expected"),
    [
        (37.5, 76_000.0, 2.0, 4.0),
        (27.0, 30_000.0, 2.0, 4.0),
        (27.0, 27_001.0, 2.0, 4.0),
        (27.0, 27_000.0, 2.0, 3.0),
        (48.0, 76_000.0, 1.0, 6.0),
    ],
)
@pytest.mark.parametrize("rulebook", ["icao", "easa"])
def test_no_allowance_goes_below_the_floor_for_a_heavy_aeroplane(
    rulebook: str, length_m: float, mtow_kg: float, below: float, expected: float
) -> None:
    profile = replace(
        XTJ,
        fuselage=replace(XTJ.fuselage, length_m=length_m),
        masses=replace(XTJ.masses, mtow_kg=mtow_kg),
    )
    book = load_rulebook(rulebook)
    assert least_rescue_category(profile, below=below, rulebook=book) == expected
