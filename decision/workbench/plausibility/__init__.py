"""Would an aeroplane with these figures be one? Gates that a profile must pass before it is used.

A file can be well formed and still describe an aircraft that no authority would certify, or one
with a slipped digit that every range lets through. Each gate works out what the aircraft would do
with the same functions that a decision uses, and compares that with a certification minimum or
with a band of what transport aeroplanes do. Sea level and standard air unless a gate says so.
A gate that cannot be worked out is not passed.
"""

from __future__ import annotations

from typing import Final

from decision.profile import Profile
from decision.workbench.plausibility.aircraft import AIRCRAFT
from decision.workbench.plausibility.certification import CERTIFICATION
from decision.workbench.plausibility.drag_and_fuel import DRAG_AND_FUEL
from decision.workbench.plausibility.finding import Gate, GateFinding
from decision.workbench.plausibility.operator_tables import OPERATOR_TABLES
from decision.workbench.plausibility.stopping import STOPPING

__all__ = ["GATES", "Gate", "GateFinding", "check_profile"]

GATES: Final = (*AIRCRAFT, *CERTIFICATION, *STOPPING, *DRAG_AND_FUEL, *OPERATOR_TABLES)


def check_profile(profile: Profile) -> tuple[GateFinding, ...]:
    """What every gate finds, in the order of the table."""
    return tuple(finding for gate in GATES for finding in gate.findings(profile))
