"""Figures of a profile for its page: `python -m tests.bench.profile_plots` draws them all.

What a profile's numbers mean is seen best in what the aircraft burns: by level, and over distance,
clean and with the gear down. A line ends where the aircraft cannot fly any further.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from typing import Final

from decision.performance import Configuration, climb, fly_diversion, fly_hold
from decision.performance.climb import MINIMUM_RATE_FPM
from decision.performance.configuration import Rating
from decision.performance.envelope import envelope
from decision.performance.fitting import fit_flows, residuals
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.profile import Profile, load_profile, profile_ids
from decision.units import MIN_PER_H, PERCENT
from service.documents import FIGURES
from tests.bench.svg import Axis, Marker, Point, Series, line_chart
from tests.profile.flows import flows_of_library

SHARE_OF_LANDING_MASS: Final = 0.9
MASS_STEP_KG: Final = 1_000.0
CAS_KT: Final = 250.0
LEVEL_STEP_FT: Final = 500
TERMINAL_FT: Final = 1_500.0
DISTANCES_NM: Final = range(40, 401, 20)
FT_PER_KFT: Final = 1_000.0
FIT_START: Final = "xtj150"
MARKERS: Final = ((Marker.CROSS, Marker.CROSS), (Marker.CIRCLE, Marker.SQUARE))


def figures(profile: Profile) -> Mapping[str, str]:
    """Every figure of a profile by file name."""
    return {
        f"{profile.id}-fuel-flow.svg": fuel_flow_chart(profile),
        f"{profile.id}-diversion-fuel.svg": diversion_chart(profile),
    }


def shown_mass_kg(profile: Profile) -> float:
    """A mass of arrival, a round one."""
    return MASS_STEP_KG * round(SHARE_OF_LANDING_MASS * profile.masses.mlw_kg / MASS_STEP_KG)


def fuel_flow_chart(profile: Profile) -> str:
    """Flow by level: holding, and at one speed."""
    mass_kg = shown_mass_kg(profile)
    clean, gear = _configurations(profile)
    return line_chart(
        title=f"{profile.id}: level fuel flow, {mass_kg / MASS_STEP_KG:.0f} t, standard air",
        x=Axis(name="pressure altitude", unit="1000 ft", low=0.0),
        y=Axis(name="fuel flow", unit="kg/h", low=0.0),
        series=(
            Series(label="holding, clean", points=tuple(_holding(profile, clean))),
            Series(label="holding, gear down", points=tuple(_holding(profile, gear))),
            Series(label=f"{CAS_KT:.0f} kt, clean", points=tuple(_level(profile, clean))),
            Series(label=f"{CAS_KT:.0f} kt, gear down", points=tuple(_level(profile, gear))),
        ),
    )


def diversion_chart(profile: Profile) -> str:
    """Fuel of a diversion over its distance, at the best level and speed."""
    mass_kg = shown_mass_kg(profile)
    return line_chart(
        title=f"{profile.id}: diversion fuel, {mass_kg / MASS_STEP_KG:.0f} t, best level and speed",
        x=Axis(name="distance", unit="NM", low=0.0),
        y=Axis(name="fuel, 1500 ft to 1500 ft", unit="kg", low=0.0),
        series=tuple(
            Series(label=words, points=tuple(_diversions(profile, configuration)))
            for words, configuration in zip(
                ("clean", "gear down"), _configurations(profile), strict=True
            )
        ),
    )


def _configurations(profile: Profile) -> tuple[Configuration, Configuration]:
    clean = Configuration(flap=profile.flaps_up, engines_running=profile.engine.count)
    gear = Configuration(
        flap=profile.flaps_up, engines_running=profile.engine.count, gear_down=True
    )
    return clean, gear


def _heights_ft(profile: Profile, configuration: Configuration) -> range:
    top_ft = int(envelope(profile, configuration).highest_ft.value)
    return range(int(TERMINAL_FT), top_ft + 1, LEVEL_STEP_FT)


def _holding(profile: Profile, configuration: Configuration) -> Iterator[Point]:
    for height_ft in _heights_ft(profile, configuration):
        held = fly_hold(
            profile,
            configuration=configuration,
            mass_kg=shown_mass_kg(profile),
            pressure_altitude_ft=float(height_ft),
            minutes=1.0,
        )
        if not held.feasible:
            return
        yield height_ft / FT_PER_KFT, held.fuel_kg * MIN_PER_H


def _level(profile: Profile, configuration: Configuration) -> Iterator[Point]:
    """As far up as the speed law and the climb thrust allow."""
    mass_kg, limits = shown_mass_kg(profile), envelope(profile, configuration)
    for height_ft in map(float, _heights_ft(profile, configuration)):
        rising = climb(
            profile,
            configuration=configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=height_ft,
            isa_deviation_degc=0.0,
            rating=Rating.CLIMB,
            cas_kt=CAS_KT,
        )
        slowed = rising.cas_kt < CAS_KT  # held back by the Mach number
        if rising.rate_fpm < MINIMUM_RATE_FPM or slowed or limits.fastest_kt.value < CAS_KT:
            return
        flow = level_flow_kg_per_h(
            profile,
            configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=height_ft,
            cas_kt=CAS_KT,
        )
        yield height_ft / FT_PER_KFT, float(flow)


def _diversions(profile: Profile, configuration: Configuration) -> Iterator[Point]:
    for distance_nm in map(float, DISTANCES_NM):
        flown = fly_diversion(
            profile,
            configuration=configuration,
            mass_kg=shown_mass_kg(profile),
            distance_nm=distance_nm,
            start_pressure_altitude_ft=TERMINAL_FT,
            end_pressure_altitude_ft=TERMINAL_FT,
        )
        if flown.feasible:
            yield distance_nm, flown.fuel_kg


def residual_chart() -> str:
    """What a fit leaves of the open library's flows, and what there was at the start."""
    rows, start = flows_of_library(), load_profile(FIT_START)
    shown = ("the start", residuals(start, rows)), ("fitted", fit_flows(start, rows).residuals)
    return line_chart(
        title=f"{FIT_START} fitted to the flows of an open library",
        x=Axis(name="tabulated fuel flow", unit="kg/h"),
        y=Axis(name="model over table, less one", unit="%"),
        series=tuple(
            Series(
                label=f"{words}, gear {'down' if gear_down else 'up'}",
                points=tuple(
                    (row.fuel_flow_kg_per_h, PERCENT * residual)
                    for row, residual in zip(rows, left, strict=True)
                    if row.gear_down is gear_down
                ),
                marker=marker,
                joined=False,
            )
            for (words, left), markers in zip(shown, MARKERS, strict=True)
            for gear_down, marker in zip((False, True), markers, strict=True)
        ),
    )


def drawings() -> Iterator[tuple[str, str]]:
    """Every figure, by file name."""
    for profile in map(load_profile, profile_ids()):
        yield from figures(profile).items()
    yield "fit-residuals.svg", residual_chart()


def draw() -> None:
    """Write all of them."""
    FIGURES.mkdir(exist_ok=True)
    for name, svg in drawings():
        (FIGURES / name).write_text(svg, encoding="utf-8")
        sys.stdout.write(f"{name} written\n")


if __name__ == "__main__":
    draw()
