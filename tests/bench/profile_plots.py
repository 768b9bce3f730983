"""Figures of a profile for its page: `python -m tests.bench.profile_plots` draws them all.

What a profile's numbers mean is seen best in what the aircraft burns: by level, and over distance,
clean and with the gear down. A line ends where the aircraft cannot fly any further.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from decision.performance import Configuration, climb
from decision.performance.climb import MINIMUM_RATE_FPM, climb_rate
from decision.performance.configuration import Rating
from decision.performance.envelope import SPEED_STEP_KT, envelope
from decision.performance.fuel_flow import level_flow_kg_per_h
from decision.performance.point import point
from decision.performance.thrust import en_route_rating
from decision.profile import Profile, load_profile, profile_ids
from decision.units import MIN_PER_H, PERCENT
from decision.workbench.fitting import fit_flows, residuals
from service.charts import ChartAxis, Dot, Point, Series, line_chart
from service.documents import FIGURES
from tests.changing import replace
from tests.physics.outcomes import fly_diversion, fly_hold
from tests.workbench.flows import flows_of_library

SHARE_OF_LANDING_MASS: Final = 0.9
MASS_STEP_KG: Final = 1_000.0
CAS_KT: Final = 250.0
LEVEL_STEP_FT: Final = 500
TERMINAL_FT: Final = 1_500.0
DISTANCES_NM: Final = range(40, 401, 20)
FT_PER_KFT: Final = 1_000.0
KG_PER_T: Final = 1_000.0
FIT_START: Final = "xtj150"
MARKERS: Final = ((Dot.CROSS, Dot.CROSS), (Dot.CIRCLE, Dot.SQUARE))


def figures(profile: Profile) -> Mapping[str, str]:
    """Every figure of a profile by file name."""
    return {
        f"{profile.id}-fuel-flow.svg": fuel_flow_chart(profile),
        f"{profile.id}-specific-range.svg": specific_range_chart(profile),
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
        x=ChartAxis(name="pressure altitude", unit="1000 ft", low=0.0),
        y=ChartAxis(name="fuel flow", unit="kg/h", low=0.0),
        series=(
            Series(label="holding, clean", points=tuple(_holding(profile, clean))),
            Series(label="holding, gear down", points=tuple(_holding(profile, gear))),
            Series(label=f"{CAS_KT:.0f} kt, clean", points=tuple(_level(profile, clean))),
            Series(label=f"{CAS_KT:.0f} kt, gear down", points=tuple(_level(profile, gear))),
        ),
    )


def specific_range_chart(profile: Profile) -> str:
    """How far a tonne takes the aircraft at each level, at the best speed, by configuration."""
    mass_kg = shown_mass_kg(profile)
    return line_chart(
        title=f"{profile.id}: specific range, {mass_kg / MASS_STEP_KG:.0f} t, best speed",
        x=ChartAxis(name="pressure altitude", unit="1000 ft", low=0.0),
        y=ChartAxis(name="specific range", unit="NM/t", low=0.0),
        series=tuple(
            Series(label=words, points=tuple(_specific_range(profile, configuration)))
            for words, configuration in _shapes(profile)
        ),
    )


def _shapes(profile: Profile) -> Iterator[tuple[str, Configuration]]:
    """What a failure can leave the aircraft with."""
    clean, gear = _configurations(profile)
    first = profile.detents[1].id
    yield "clean", clean
    yield "one engine stopped", replace(clean, engines_running=profile.engine.count - 1)
    yield f"flap {first}", replace(clean, flap=first, slats_out=profile.slats_out_with_lever(first))
    yield "gear down", gear
    yield "gear down, doors open", replace(gear, gear_doors_open=True)


def _specific_range(profile: Profile, configuration: Configuration) -> Iterator[Point]:
    """As far up as any speed lets it climb."""
    for height_ft in map(float, _heights_ft(profile, configuration)):
        best = max(_ranges_nm_per_t(profile, configuration, height_ft), default=None)
        if best is None:
            return
        yield height_ft / FT_PER_KFT, best


def _ranges_nm_per_t(
    profile: Profile, configuration: Configuration, height_ft: float
) -> Iterator[float]:
    """Distance per tonne at each speed that can be flown at a level."""
    mass_kg, limits = shown_mass_kg(profile), envelope(profile, configuration)
    rating = en_route_rating(profile, configuration)
    slowest_kt = limits.slowest_per_sqrt_kg * mass_kg**0.5
    for cas_kt in np.arange(slowest_kt, limits.fastest_kt.value, SPEED_STEP_KT).tolist():
        at = point(
            pressure_altitude_ft=height_ft,
            cas_kt=cas_kt,
            isa_deviation_degc=0.0,
            mach_cap=limits.mach_cap,
        )
        rising = climb_rate(profile, configuration, mass_kg=mass_kg, at=at, rating=rating)
        if at.cas_kt == cas_kt and rising.rate_fpm >= MINIMUM_RATE_FPM:
            flow = level_flow_kg_per_h(
                profile,
                configuration,
                mass_kg=mass_kg,
                pressure_altitude_ft=height_ft,
                cas_kt=cas_kt,
            )
            yield KG_PER_T * float(at.tas_kt) / float(flow)


def diversion_chart(profile: Profile) -> str:
    """Fuel of a diversion over its distance, at the best level and speed; what the gear costs."""
    mass_kg = shown_mass_kg(profile)
    clean, gear = (dict(_diversions(profile, each)) for each in _configurations(profile))
    costs = {miles: gear[miles] - clean[miles] for miles in clean if miles in gear}
    shown = {"clean": clean, "gear down": gear, "what the gear costs": costs}
    return line_chart(
        title=f"{profile.id}: diversion fuel, {mass_kg / MASS_STEP_KG:.0f} t, best level and speed",
        x=ChartAxis(name="distance", unit="NM", low=0.0),
        y=ChartAxis(name="fuel, 1500 ft to 1500 ft", unit="kg", low=0.0),
        series=tuple(
            Series(label=words, points=tuple(points.items())) for words, points in shown.items()
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
        x=ChartAxis(name="tabulated fuel flow", unit="kg/h"),
        y=ChartAxis(name="model over table, less one", unit="%"),
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
