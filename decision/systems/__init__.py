"""Failures -> lost functions -> degraded capability, each with its path."""

from __future__ import annotations

from decision.profile.systems_effects import (
    ApproachEquipment,
    Drive,
    Extension,
    LimitName,
    Urgency,
    Weight,
)
from decision.systems.capability import (
    Capability,
    Failure,
    FlapCapability,
    GearCapability,
    IrreversibleChange,
    Limit,
    LostFunction,
    SlatCapability,
    SystemCaution,
)

__all__ = [
    "ApproachEquipment",
    "Capability",
    "Drive",
    "Extension",
    "Failure",
    "FlapCapability",
    "GearCapability",
    "IrreversibleChange",
    "Limit",
    "LimitName",
    "LostFunction",
    "SlatCapability",
    "SystemCaution",
    "Urgency",
    "Weight",
]
