"""Minima as data and pure functions: what an approach asks for, and what a report is worth."""

from decision.rules.minima.category import AeroplaneCategory, category_of, circling_minimum
from decision.rules.minima.daylight import is_night, is_night_throughout, solar_elevation_deg
from decision.rules.minima.landing import (
    LandingBasis,
    RequiredLanding,
    credited_headwind_kt,
    required_landing_distance_m,
)
from decision.rules.minima.operating import (
    OperatingMinima,
    is_precision_runway,
    operating_minima,
)
from decision.rules.minima.planning import (
    PlanningJudgement,
    PlanningMinima,
    PlanningOption,
    Scheme,
    planning_met,
    planning_minima,
    same_strip,
)
from decision.rules.minima.seen import (
    RANGES,
    Quantity,
    Seen,
    reported_to_required,
    worst_seen,
)

__all__ = [
    "RANGES",
    "AeroplaneCategory",
    "LandingBasis",
    "OperatingMinima",
    "PlanningJudgement",
    "PlanningMinima",
    "PlanningOption",
    "Quantity",
    "RequiredLanding",
    "Scheme",
    "Seen",
    "category_of",
    "circling_minimum",
    "credited_headwind_kt",
    "is_night",
    "is_night_throughout",
    "is_precision_runway",
    "operating_minima",
    "planning_met",
    "planning_minima",
    "reported_to_required",
    "required_landing_distance_m",
    "same_strip",
    "solar_elevation_deg",
    "worst_seen",
]
