"""What the aircraft can do in a configuration: climb, divert, hold, approach, land, and how surely.

Every question is one function of a profile and keyword arguments; every flight answers with a
`Outcome`: flown, or why not. The rest of the package is how.
"""

from __future__ import annotations

from decision.performance.arrival import approach_allowance, fly_configured, fly_go_around
from decision.performance.climb import Climb, ceiling_ft, climb
from decision.performance.configuration import (
    CALM_STANDARD,
    Air,
    AirAtLevel,
    CannotFly,
    Configuration,
    Flown,
    NotKnown,
    Objective,
    OrdinaryWay,
    Outcome,
    Rating,
    Step,
    clean,
    uniform_air,
)
from decision.performance.descend import Descent, LevelLimit, fly_level_limit, level_limit
from decision.performance.diversion import (
    Leaving,
    Track,
    fly_diversion,
    fly_diversions,
    fly_from_each,
)
from decision.performance.holding import (
    FINAL_RESERVE_HEIGHT_FT,
    FINAL_RESERVE_MIN,
    final_reserve_kg,
    fly_hold,
    holding_flow_kg_per_h,
    holding_speed_kt,
)
from decision.performance.landing import Landing, approach_speed_kt, landing
from decision.performance.ordinary import normal_cruise_flow_kg_per_h
from decision.performance.run_in import fly_run_in
from decision.performance.spread import Spread, full_spread, need_spread

__all__ = [
    "CALM_STANDARD",
    "FINAL_RESERVE_HEIGHT_FT",
    "FINAL_RESERVE_MIN",
    "Air",
    "AirAtLevel",
    "CannotFly",
    "Climb",
    "Configuration",
    "Descent",
    "Flown",
    "Landing",
    "Leaving",
    "LevelLimit",
    "NotKnown",
    "Objective",
    "OrdinaryWay",
    "Outcome",
    "Rating",
    "Spread",
    "Step",
    "Track",
    "approach_allowance",
    "approach_speed_kt",
    "ceiling_ft",
    "clean",
    "climb",
    "final_reserve_kg",
    "fly_configured",
    "fly_diversion",
    "fly_diversions",
    "fly_from_each",
    "fly_go_around",
    "fly_hold",
    "fly_level_limit",
    "fly_run_in",
    "full_spread",
    "holding_flow_kg_per_h",
    "holding_speed_kt",
    "landing",
    "level_limit",
    "need_spread",
    "normal_cruise_flow_kg_per_h",
    "uniform_air",
]
