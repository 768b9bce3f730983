"""Builders of operators' tables: written from the physics of the demo aircraft, then read back."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from pathlib import Path

from decision.performance.configuration import Configuration
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.performance.landing import landing
from decision.profile import Profile, load_profile
from decision.profile.load import FileReading, read_profile
from tests.profile.builders import DEMO, file_with

CLEAN = Configuration(flap="0", engines_running=2)
GEAR = Configuration(flap="0", engines_running=2, gear_down=True)
MASSES_KG = tuple(float(kg) for kg in range(42_000, 76_001, 2_000))
LEVELS_FT = tuple(float(ft) for ft in range(-2_000, 37_001, 1_000))
GEAR_LEVELS_FT = tuple(float(ft) for ft in range(-2_000, 25_001, 1_000))
SPEEDS_KT = tuple(float(kt) for kt in range(160, 256, 5))
CODES = (1, 2, 3, 4, 5, 6)
FUEL_HEADER = (
    "gear,doors,flap,slats,engines_running,mass_kg,pressure_altitude_ft,{speed},"
    "fuel_flow_kg_per_h,source"
)
LANDING_HEADER = "flap,condition_code,mass_kg,distance_m,source"
CORRECTIONS_HEADER = "flap,condition_code,departing,m_per_unit,most_units,source"
FACTORS_HEADER = "quantity,loss,detent,condition_code,factor,source"
MANUAL = "manual page 1"


def fuel_rows(
    configuration: Configuration = CLEAN,
    *,
    masses: Sequence[float] = MASSES_KG,
    levels: Sequence[float] = LEVELS_FT,
    speeds: Sequence[float] = SPEEDS_KT,
    times: float = 1.0,
) -> list[str]:
    """Rows of a fuel table by calibrated airspeed: the flows of the physics, times something."""
    label = (
        f"{'down' if configuration.gear_down else 'up'},"
        f"{'open' if configuration.gear_doors_open else 'closed'},{configuration.flap},"
        f"{'out' if configuration.slats_out else 'in'},{configuration.engines_running}"
    )
    rows = []
    for mass_kg, height_ft, cas_kt in product(masses, levels, speeds):
        flow = level_flow_kg_per_h(
            _fast(),
            configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=height_ft,
            cas_kt=cas_kt,
        )
        rows.append(
            f"{label},{mass_kg:g},{height_ft:g},{cas_kt:g},{float(flow) * times!r},{MANUAL}"
        )
    return rows


def _fast() -> Profile:
    """The demo aircraft."""
    return load_profile(DEMO)


def fuel_csv(*rows: str, speed: str = "cas_kt") -> str:
    """A fuel table with its header."""
    return "\n".join([FUEL_HEADER.format(speed=speed), *rows]) + "\n"


def landing_csv(
    *, flap: str = "34", masses: Sequence[float] = (43_000.0, 54_000.0, 66_000.0, 76_000.0)
) -> str:
    """Distances of the physics at sea level with all reversers, in whole metres."""
    distances = {
        (code, mass_kg): sound_landing_m(flap=flap, code=code, mass_kg=mass_kg)
        for code, mass_kg in product(CODES, masses)
    }
    rows = [
        f"{flap},{code},{mass_kg:g},{distance_m:g},{MANUAL}"
        for (code, mass_kg), distance_m in distances.items()
    ]
    return "\n".join([LANDING_HEADER, *rows]) + "\n"


def sound_landing_m(*, flap: str, code: int, mass_kg: float) -> float:
    """Distance of the physics with nothing lost, rounded."""
    profile = load_profile(DEMO)
    landed = landing(
        profile,
        mass_kg=mass_kg,
        flap=flap,
        slats_out=profile.slats_out_with_lever(flap),
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
        condition_code=code,
        headwind_kt=0.0,
        slope_percent=0.0,
        spoilers=1.0,
        reversers=2,
        brakes_fraction=1.0,
        anti_skid=profile.tyres.anti_skid,
    )
    assert landed.distance_m is not None
    return round(landed.distance_m)


def corrections_csv(flap: str = "34") -> str:
    """Corrections that a manual would have, the same on every surface."""
    per_unit = (
        ("pressure_altitude_ft", 0.04, 8_000),
        ("below_sea_level_ft", 0.0, 2_000),
        ("warmer_degc", 3.0, 40),
        ("colder_degc", -1.0, 60),
        ("headwind_kt", -6.0, 50),
        ("tailwind_kt", 25.0, 15),
        ("downslope_percent", 80.0, 2),
        ("upslope_percent", 0.0, 2),
        ("speed_increment_kt", 15.0, 30),
        ("unused_reversers", 60.0, 2),
    )
    rows = [
        f"{flap},{code},{what},{m_per_unit:g},{most:g},{MANUAL}"
        for code, (what, m_per_unit, most) in product(CODES, per_unit)
    ]
    return "\n".join([CORRECTIONS_HEADER, *rows]) + "\n"


def factors_csv(*rows: str) -> str:
    """A table of factors."""
    return "\n".join([FACTORS_HEADER, *rows]) + "\n"


def reading_with(folder: Path, *, section: str, **files: str) -> FileReading:
    """The demo file with a section `tables`; files are given by name, a dot as two underscores."""
    path = file_with(folder)
    path.write_text(f"{path.read_text(encoding='utf-8')}\n[tables]\n{section}\n", encoding="utf-8")
    for name, text in files.items():
        (folder / name.replace("__", ".")).write_text(text, encoding="utf-8")
    return read_profile(path)


def profile_with(folder: Path, *, section: str, **files: str) -> Profile:
    """The same, read without a fault."""
    reading = reading_with(folder, section=section, **files)
    assert reading.profile is not None, [str(fault) for fault in reading.faults]
    return reading.profile


def with_fuel(folder: Path, *rows: str, elsewhere: str = "physics") -> Profile:
    """The demo aircraft with one fuel table."""
    return profile_with(
        folder,
        section=f'fuel_flow = ["fuel.csv"]\nother_configurations = "{elsewhere}"',
        fuel__csv=fuel_csv(*rows),
    )
