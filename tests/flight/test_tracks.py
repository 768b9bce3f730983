"""The air along a way: winds resolved on it, what is tried out, temperature between levels."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import Case, case_from_mapping
from decision.flight.tracks import air_along, isa_deviation_degc
from decision.quantities import Position
from tests.case.builders import demo, with_changes

EQUATOR = Position(latitude_deg=0.0, longitude_deg=10.0)
EAST_OF_IT = Position(latitude_deg=0.0, longitude_deg=11.0)


def blown(*winds: dict[str, Any]) -> Case:
    return case_from_mapping(with_changes(demo("gear-stuck"), {"/winds_aloft": list(winds)}))


def wind(level_ft: float, from_deg: float, knots: float, degc: float | None = None) -> Any:
    told = {"pressure_altitude_ft": level_ft, "from_true_deg": from_deg, "speed_kt": knots}
    return told if degc is None else told | {"temperature_degc": degc}


@pytest.mark.parametrize("more_kt", [0.0, 25.0, -40.0])
def test_a_headwind_that_is_tried_out_adds_to_that_of_every_level(more_kt: float) -> None:
    """Eastbound along the equator the track is 090."""
    case = blown(wind(5_000, 90, 20), wind(20_000, 180, 30))
    air = air_along(case, start=EQUATOR, end=EAST_OF_IT, more_headwind_kt=more_kt)
    low, high = air.levels
    assert (low.headwind_kt, low.crosswind_kt) == pytest.approx((20.0 + more_kt, 0.0), abs=1e-6)
    assert (high.headwind_kt, high.crosswind_kt) == pytest.approx((more_kt, 30.0), abs=1e-6)


def test_calm_air_may_be_tried_out_too() -> None:
    case = case_from_mapping({k: v for k, v in demo("gear-stuck").items() if k != "winds_aloft"})
    air = air_along(case, start=EQUATOR, end=EAST_OF_IT, more_headwind_kt=15.0)
    assert [level.headwind_kt for level in air.levels] == [15.0] * len(air.levels)


def test_temperature_is_linear_between_levels_and_that_of_the_nearest_beyond() -> None:
    """ISA is +5.1 degrees at 5000 ft and -14.7 at 15,000 ft: deviations of 4 and 10 degrees."""
    case = blown(wind(5_000, 90, 20, 5.094 + 4.0), wind(15_000, 90, 20, -14.718 + 10.0))
    levels_ft = (1_000.0, 5_000.0, 7_500.0, 15_000.0, 30_000.0)
    found = [isa_deviation_degc(case, level_ft) for level_ft in levels_ft]
    assert found == pytest.approx([4.0, 4.0, 5.5, 10.0, 10.0], abs=0.01)


def test_without_a_temperature_there_is_no_deviation() -> None:
    assert isa_deviation_degc(blown(wind(5_000, 90, 20)), 5_000) is None
