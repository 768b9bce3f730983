"""The run-in to the minimum: every mile of it is flown, from whatever height."""

from __future__ import annotations

from typing import Any

import pytest

from decision.case import case_from_mapping
from decision.flight.approach import PATH_FT_PER_NM, ApproachFlight, departure_of
from decision.flight.situation import situation_of
from tests.case.builders import demo, with_changes

TRACK_NM = 42.0


def flown(**changes: Any) -> ApproachFlight:
    body = with_changes(demo("gear-stuck"), {"/destination/track_nm": TRACK_NM} | changes)
    flight = departure_of(situation_of(case_from_mapping(body))).approach
    assert flight is not None
    return flight


def test_without_a_descent_or_a_hold_all_miles_are_still_to_go() -> None:
    flight = flown()
    assert flight.waited_nm == pytest.approx(TRACK_NM)
    assert flight.waited.steps == ()


def test_a_hold_takes_time_and_no_miles() -> None:
    flight = flown(**{"/plan/hold_min": 12})
    assert flight.waited_nm == pytest.approx(TRACK_NM)
    assert sum(step.time_min for step in flight.waited.steps) == pytest.approx(12.0)


@pytest.mark.parametrize("above_ft", [0.0, 4000.0])
def test_the_miles_to_the_extension_are_flown_from_the_height_of_the_path_and_above_it(
    above_ft: float,
) -> None:
    elevation_ft = case_from_mapping(demo("gear-stuck")).destination.aerodrome.elevation_ft
    level_ft = elevation_ft + PATH_FT_PER_NM * flown().extension_nm + above_ft
    flight = flown(**{"/aircraft/pressure_altitude_ft": level_ft})
    miles = sum(step.distance_nm for step in flight.last_clean.steps)
    assert miles == pytest.approx(TRACK_NM - flight.extension_nm)
    assert flight.last_clean.state.usable_kg < flight.waited.state.usable_kg
