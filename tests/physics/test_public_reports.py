"""Plausibility against flights that public reports tell of; figures as quoted, places as published.

Source: press accounts of the final report on the airliner that left Chania for Hannover on 12 July
2000 with a landing gear that would not retract fully: the fuel for the flight ran out about 12 NM
short of Vienna, as gear drag was not in the prediction; a gear down is said to take about twice the
fuel. The report itself was not read. Coordinates of the aerodromes are from memory, to a minute.
The aircraft here is an invented smaller one: what is compared is how far the same tanks take it.
"""

from __future__ import annotations

import pytest

from decision.earth import distance_nm
from decision.performance import final_reserve_kg
from decision.profile import load_profile
from decision.quantities import Position
from tests.physics.builders import flying
from tests.physics.outcomes import fly_diversion

XTJ = load_profile("xtj150")
CHANIA = Position(latitude_deg=35.53, longitude_deg=24.15)
HANNOVER = Position(latitude_deg=52.46, longitude_deg=9.69)
VIENNA = Position(latitude_deg=48.11, longitude_deg=16.57)
SHORT_OF_VIENNA_NM = 12.0
ALTERNATE_NM = 150.0  # planned alternate: common practice, no source
CONTINGENCY = 1.05  # 5 % of the trip fuel: common practice, no source
MASS_KG = 66_000.0


def needed_kg(miles_nm: float, *, gear_down: bool) -> float:
    flown = fly_diversion(
        XTJ,
        configuration=flying(gear_down=gear_down),
        mass_kg=MASS_KG,
        distance_nm=miles_nm,
        start_pressure_altitude_ft=1500.0,
        end_pressure_altitude_ft=1500.0,
    )
    assert flown.feasible, flown.limited_by
    return flown.fuel_kg


def planned_kg() -> float:
    """Fuel for the whole flight, clean: trip and contingency, alternate, final reserve."""
    trip_kg = needed_kg(distance_nm(start=CHANIA, end=HANNOVER), gear_down=False)
    reserve_kg = final_reserve_kg(
        XTJ, configuration=flying(), mass_kg=MASS_KG - trip_kg, elevation_ft=0.0
    )
    return trip_kg * CONTINGENCY + needed_kg(ALTERNATE_NM, gear_down=False) + reserve_kg


def test_gear_down_takes_about_twice_the_fuel_over_the_miles_to_vienna() -> None:
    to_vienna_nm = distance_nm(start=CHANIA, end=VIENNA)
    ratio = needed_kg(to_vienna_nm, gear_down=True) / needed_kg(to_vienna_nm, gear_down=False)
    assert ratio == pytest.approx(2.0, abs=0.25)


def test_fuel_planned_clean_for_hannover_ends_gear_down_near_vienna() -> None:
    """The miles at which the tanks are empty, found by halving; within a tenth of the reported."""
    short_nm, long_nm = 100.0, distance_nm(start=CHANIA, end=HANNOVER)
    fuel_kg = planned_kg()
    assert needed_kg(long_nm, gear_down=True) > fuel_kg
    while long_nm - short_nm > 1.0:
        middle_nm = (short_nm + long_nm) / 2.0
        if needed_kg(middle_nm, gear_down=True) > fuel_kg:
            long_nm = middle_nm
        else:
            short_nm = middle_nm
    reported_nm = distance_nm(start=CHANIA, end=VIENNA) - SHORT_OF_VIENNA_NM
    assert short_nm == pytest.approx(reported_nm, rel=0.10)
