"""What is wrong with a patched case, told of the patch: its sender has not sent the case."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from decision.errors import Fault

FIXED_VARIED: Final = {
    "flight_id": "the flight of the stored decision; another flight is another decision",
    "as_of": "the moment of the stored decision; POST .../again decides at a later one",
    "carried": "written by the service",
}
"""Members that a patch of a stored case must leave alone, and what they are."""
FIXED_ANEW: Final = {**FIXED_VARIED, "as_of": "the moment of deciding, by the service's clock"}
"""The same where it is decided anew."""
REPORTS, ADDED = "/weather/reports", "/add_reports"


def fixed_faults(patch: Mapping[str, Any], fixed: Mapping[str, str]) -> tuple[Fault, ...]:
    """A fault for each member that the patch must leave alone."""
    return tuple(
        Fault(
            pointer=f"/{name}",
            code="fixed",
            message=f"cannot be patched: it is {why}",
            accepted="a patch without it",
        )
        for name, why in fixed.items()
        if name in patch
    )


def faults_in(faults: Sequence[Fault], *, at: str, added: bool = False) -> tuple[Fault, ...]:
    """Faults of a patched case as faults of the body that holds the patch, at a pointer.

    `added`: reports were added besides, which may be what makes them too many.
    """
    return tuple(
        replace(
            fault,
            pointer=ADDED if added and fault.pointer == REPORTS else f"{at}{fault.pointer}",
        )
        for fault in faults
    )
