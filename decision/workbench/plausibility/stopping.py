"""Gates of a landing: its distance on every surface, the brakes, the tyres."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from decision.performance.landing import Landing, landing
from decision.profile import Profile
from decision.workbench.plausibility.finding import Gate, GateFigure

LANDING_DISTANCE_M: Final = (700.0, 2_200.0)  # [ASSUMED] of transport jets
BEST_CODE: Final = 6
WORST_CODE: Final = 1


def _land(profile: Profile, condition_code: int) -> Landing:
    """At maximum landing mass in still air, every device but the reversers working."""
    flap = profile.approach.landing_detent
    return landing(
        profile,
        mass_kg=profile.masses.mlw_kg,
        flap=flap,
        slats_out=profile.slats_out_with_lever(flap),
        pressure_altitude_ft=0.0,
        isa_deviation_degc=0.0,
        condition_code=condition_code,
        headwind_kt=0.0,
        slope_percent=0.0,
        spoilers=1.0,
        reversers=0,
        brakes_fraction=1.0,
        anti_skid=profile.tyres.anti_skid,
    )


def _landing_distance(profile: Profile) -> Iterator[GateFigure]:
    low_m, high_m = LANDING_DISTANCE_M
    dry = _land(profile, BEST_CODE)
    yield GateFigure(
        what="MLW, dry, no reversers, unfactored",
        value=dry.distance_m,
        low=low_m,
        high=high_m,
        problem=dry.limited_by or "",
    )
    distances = [(code, _land(profile, code)) for code in range(BEST_CODE, WORST_CODE - 1, -1)]
    for (_, better), (code, worse) in pairwise(distances):
        yield GateFigure(
            what=f"code {code}, not below code {code + 1}",
            value=worse.distance_m,
            low=better.distance_m,
            problem=worse.limited_by or "",
        )


def _brakes(profile: Profile) -> Iterator[GateFigure]:
    stop = _land(profile, BEST_CODE)
    yield GateFigure(
        what="energy of that landing",
        value=stop.brake_energy_mj,
        high=profile.brakes.energy_limit_mj,
    )


def _tyres(profile: Profile) -> Iterator[GateFigure]:
    speed_kt = _land(profile, BEST_CODE).tyre_speed_kt
    yield GateFigure(what="touchdown", value=speed_kt, high=profile.tyres.speed_limit_kt)


STOPPING: Final = (
    Gate(id="landing", figures=_landing_distance, unit="m", source="ASSUMED"),
    Gate(id="brake energy", figures=_brakes, unit="MJ", source="the profile"),
    Gate(id="tyre speed", figures=_tyres, unit="kt", source="the profile"),
)
