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
from decision.systems.alone import FailureAlone, each_alone
from decision.systems.assess import assess
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
from decision.systems.check import check_failures
from decision.systems.explain import explain
from decision.systems.timeline import TimelineStep, timeline

__all__ = [
    "ApproachEquipment",
    "Capability",
    "Drive",
    "Extension",
    "Failure",
    "FailureAlone",
    "FlapCapability",
    "GearCapability",
    "IrreversibleChange",
    "Limit",
    "LimitName",
    "LostFunction",
    "SlatCapability",
    "SystemCaution",
    "TimelineStep",
    "Urgency",
    "Weight",
    "assess",
    "check_failures",
    "each_alone",
    "explain",
    "timeline",
]
