"""Minima as data and pure functions: what an approach asks for, and what a report is worth."""

from decision.attempt.minima.landing import (
    LandingBasis,
    RequiredLanding,
    required_landing_distance_m,
)
from decision.attempt.minima.operating import (
    OperatingMinima,
    is_precision_runway,
    minima_at,
    operating_minima,
)
from decision.attempt.minima.planning import (
    PlanningJudgement,
    PlanningMinima,
    PlanningOption,
    Scheme,
    planning_met,
    planning_minima,
    same_strip,
)
from decision.attempt.minima.seen import (
    RANGES,
    Quantity,
    Seen,
    reported_to_required,
    worst_seen,
)

__all__ = [
    "RANGES",
    "LandingBasis",
    "OperatingMinima",
    "PlanningJudgement",
    "PlanningMinima",
    "PlanningOption",
    "Quantity",
    "RequiredLanding",
    "Scheme",
    "Seen",
    "is_precision_runway",
    "minima_at",
    "operating_minima",
    "planning_met",
    "planning_minima",
    "reported_to_required",
    "required_landing_distance_m",
    "same_strip",
    "worst_seen",
]
