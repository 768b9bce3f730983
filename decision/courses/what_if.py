"""Changes to the world that a flip point tries out; nothing of the request is touched by them.

A value that is None leaves the world as it is. Weather tried out is known weather: it takes the
place of what the reports say, in every window at that place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from decision.quantities import Bound
from decision.weather.readings import CeilingReading, Conditions, Governing, VisibilityReading
from decision.weather.report import CeilingState

TRIED: Final = Governing(kind="WHAT_IF", text="", why="a value that is tried out")


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What is tried out. `headwind_kt` is added to every diversion."""

    headwind_kt: float = 0.0
    destination_ceiling_ft: float | None = None
    destination_visibility_m: float | None = None
    destination_condition_code: int | None = None
    destination_temperature_degc: float | None = None
    alternate_ceiling_ft: float | None = None
    alternate_visibility_m: float | None = None

    def weather(self, seen: Conditions, *, at_destination: bool) -> Conditions:
        """The conditions with what is tried out in them."""
        ceiling_ft = self.destination_ceiling_ft if at_destination else self.alternate_ceiling_ft
        visibility_m = (
            self.destination_visibility_m if at_destination else self.alternate_visibility_m
        )
        if at_destination and self.destination_temperature_degc is not None:
            seen = replace(seen, temperature_degc=self.destination_temperature_degc)
        if ceiling_ft is not None:
            seen = replace(seen, ceiling=_ceiling(ceiling_ft))
        if visibility_m is not None:
            seen = replace(seen, visibility=_visibility(visibility_m), rvr=())
        return seen


AS_IT_IS: Final = WhatIf()


def _ceiling(feet: float) -> CeilingReading:
    return CeilingReading(
        state=CeilingState.VALUE,
        feet=feet,
        possibly_worse=False,
        possible_ceiling_ft=None,
        governing=TRIED,
    )


def _visibility(metres: float) -> VisibilityReading:
    return VisibilityReading(
        metres=metres,
        bound=Bound.EXACT,
        prevailing_metres=metres,
        minimum_metres=None,
        possibly_worse=False,
        possible_metres=None,
        governing=TRIED,
    )
