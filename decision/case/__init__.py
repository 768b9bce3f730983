"""The question: from a parsed request to an immutable `Case`."""

from decision.case.build import case_from_mapping, input_digest
from decision.case.lacking import lacking
from decision.case.library import Library, installed_library
from decision.case.types import (
    Aerodrome,
    AircraftState,
    AlternateBar,
    Approach,
    ApproachKind,
    Assumption,
    Case,
    Fetched,
    FuelState,
    Lack,
    Leg,
    Lights,
    Obstacle,
    Plan,
    Policy,
    ReportClass,
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
    "Fetched",
    "FuelState",
    "Lack",
    "Leg",
    "Library",
    "Lights",
    "Obstacle",
    "Plan",
    "Policy",
    "ReportClass",
    "Runway",
    "WindAloft",
    "case_from_mapping",
    "input_digest",
    "installed_library",
    "lacking",
]
