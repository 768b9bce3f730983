"""The question: from a parsed request to an immutable `Case`."""

from decision.case.build import case_from_mapping, input_digest
from decision.case.library import Library, installed_library
from decision.case.types import (
    Aerodrome,
    AircraftState,
    AlternateBar,
    Approach,
    ApproachKind,
    Assumption,
    Case,
    FuelState,
    Leg,
    Lights,
    Plan,
    Policy,
    Runway,
    WindAloft,
)

__all__ = [
    "Aerodrome",
    "AircraftState",
    "AlternateBar",
    "Approach",
    "ApproachKind",
    "Assumption",
    "Case",
    "FuelState",
    "Leg",
    "Library",
    "Lights",
    "Plan",
    "Policy",
    "Runway",
    "WindAloft",
    "case_from_mapping",
    "input_digest",
    "installed_library",
]
