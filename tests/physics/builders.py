"""Builders for the physics tests: the demo profile, configurations and flights with defaults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from decision.performance import CALM_STANDARD, Air, AirAtLevel, Configuration, clean
from decision.profile import Profile, load_profile
from tests.changing import replace
from tests.physics.outcomes import Seen, fly_diversion


def xtj150() -> Profile:
    """The demo aircraft."""
    return load_profile("xtj150")


def flying(**changed: Any) -> Configuration:
    """The demo aircraft clean with both engines; anything can be changed."""
    return replace(clean(xtj150()), **changed)


CLEAN = flying()
GEAR = flying(gear_down=True)
GEAR_AND_DOORS = flying(gear_down=True, gear_doors_open=True)
GEAR_AND_FLAP = flying(gear_down=True, flap="12", slats_out=True)
FLAP = flying(flap="12", slats_out=True)
UNPRESSURISED = flying(pressurised=False)
ONE_ENGINE = flying(engines_running=1)
ONE_ENGINE_AND_GEAR = flying(engines_running=1, gear_down=True)
LANDING = flying(gear_down=True, flap="34", slats_out=True)

CONFIGURATIONS = (
    CLEAN,
    GEAR,
    GEAR_AND_DOORS,
    GEAR_AND_FLAP,
    FLAP,
    UNPRESSURISED,
    ONE_ENGINE,
    ONE_ENGINE_AND_GEAR,
)

WINDY = Air(
    levels=tuple(
        AirAtLevel(
            pressure_altitude_ft=height_ft,
            headwind_kt=headwind_kt,
            crosswind_kt=crosswind_kt,
            isa_deviation_degc=deviation,
        )
        for height_ft, headwind_kt, crosswind_kt, deviation in (
            (0.0, 10.0, 5.0, 12.0),
            (10_000.0, 25.0, -20.0, 8.0),
            (30_000.0, 60.0, 50.0, 14.0),
        )
    )
)


def divert(configuration: Configuration = CLEAN, **changed: Any) -> Seen:
    """60 t, 120 NM, 1500 ft to 1500 ft, still standard air; anything can be changed."""
    asked: dict[str, Any] = {
        "mass_kg": 60_000.0,
        "distance_nm": 120.0,
        "start_pressure_altitude_ft": 1500.0,
        "end_pressure_altitude_ft": 1500.0,
        "air": CALM_STANDARD,
    }
    return fly_diversion(xtj150(), configuration=configuration, **(asked | changed))


def configurations() -> st.SearchStrategy[Configuration]:
    """Any of the usual degraded configurations."""
    return st.sampled_from(CONFIGURATIONS)


def masses_kg() -> st.SearchStrategy[float]:
    """Masses within the demo aircraft's limits."""
    return st.floats(43_000.0, 76_000.0)
