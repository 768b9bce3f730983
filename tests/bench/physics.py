"""The physics beside other ways to the same figures."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from decision.performance.landing import landing
from decision.performance.slabs import Cases, fly_cases
from decision.performance.spread import full_spread, need_spread
from decision.profile import load_profile
from decision.quantities import AntiSkid
from tests.bench.measure import Comparison, Way
from tests.changing import replace
from tests.physics.builders import flying
from tests.physics.outcomes import fly_diversion
from tests.physics.test_landing import slow_roll_m

XTJ150 = load_profile("xtj150")
GEAR_DOWN = flying(gear_down=True)
MANY: Final = 10_000

ONE: dict[str, Any] = {
    "configuration": GEAR_DOWN,
    "mass_kg": 60_000.0,
    "start_pressure_altitude_ft": 1_500.0,
}
LEG: dict[str, Any] = ONE | {"distance_nm": 120.0, "end_pressure_altitude_ft": 1_500.0}
PLAN: dict[str, Any] = {"pressure_altitude_ft": 15_000.0, "cas_kt": 230.0}
FLOWN = fly_diversion(XTJ150, **LEG, **PLAN)
WET: dict[str, Any] = {
    "mass_kg": 66_000.0,
    "flap": "34",
    "slats_out": True,
    "pressure_altitude_ft": 0.0,
    "isa_deviation_degc": 0.0,
    "condition_code": 5,
    "headwind_kt": 0.0,
    "slope_percent": 0.0,
    "spoilers": True,
    "reversers": 2,
    "brakes_fraction": 1.0,
    "anti_skid": AntiSkid.FULL,
}


def cases(count: int) -> Cases:
    """Diversions of differing mass and distance at one level and speed."""
    rng = np.random.default_rng(1)
    return Cases(
        mass_kg=rng.uniform(55_000.0, 65_000.0, count),
        distance_nm=rng.uniform(100.0, 200.0, count),
        start_ft=1_500.0,
        end_ft=1_500.0,
        level_ft=15_000.0,
        cas_kt=230.0,
    )


MANY_CASES = cases(MANY)
ONE_CASE = replace(MANY_CASES, mass_kg=60_000.0, distance_nm=150.0)

COMPARISONS: Final = (
    Comparison(
        title="landing, wet",
        ours=Way(label="landing", call=lambda: landing(XTJ150, **WET)),
        yardstick=Way(label="scipy quad of the roll", call=lambda: slow_roll_m(XTJ150, WET, 5)),
    ),
    Comparison(
        title="spread of fuel and time",
        ours=Way(label="need_spread", call=lambda: need_spread(XTJ150, flown=FLOWN, **ONE)),
        yardstick=Way(
            label="full_spread, 20000 flights", call=lambda: full_spread(XTJ150, **LEG, **PLAN)
        ),
    ),
    Comparison(
        title="fixed diversion, per flight",
        ours=Way(
            label=f"{MANY} in one call",
            call=lambda: fly_cases(XTJ150, GEAR_DOWN, MANY_CASES),
            items=MANY,
        ),
        yardstick=Way(label="one", call=lambda: fly_cases(XTJ150, GEAR_DOWN, ONE_CASE)),
    ),
)
