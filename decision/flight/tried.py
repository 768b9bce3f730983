"""Changes to the world that a flip point tries out; nothing of the request is touched by them.

A value that is None leaves the world as it is. Weather tried out is known weather: it takes the
place of what the reports say, in every window at that place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.quantities import Bound
from decision.weather.readings import CeilingReading, Governing, VisibilityReading, WeatherMet
from decision.weather.report import CeilingState

TRIED: Final = Governing(kind="WHAT_IF", text="", why="a value that is tried out")


class Tried(Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """What is tried out at a place; the ordinary one changes nothing."""

    ceiling_ft: float | None = None
    visibility_m: float | None = None
    temperature_degc: float | None = None
    condition_code: int | None = None

    def weather(self, seen: WeatherMet) -> WeatherMet:
        """The conditions with what is tried out in them."""
        if self.temperature_degc is not None:
            seen = replace(seen, temperature_degc=self.temperature_degc)
        if self.ceiling_ft is not None:
            seen = replace(seen, ceiling=_ceiling(self.ceiling_ft), foretold_ceilings=())
        if self.visibility_m is not None:
            tried = _visibility(self.visibility_m)
            seen = replace(
                seen,
                visibility=tried,
                rvr=(),
                reported=tuple(replace(each, visibility=tried, rvr=()) for each in seen.reported),
                forecast_visibility=tried,
                prevailing_visibility=tried,
                foretold=(),
            )
        return seen

    def beside(self, other: Tried) -> Tried:
        """Both tried out at once; of what both try this one's."""
        return replace(
            other,
            **{name: value for name in FIELDS if (value := getattr(self, name)) is not None},
        )


FIELDS: Final = Tried.__struct_fields__
NOTHING_TRIED: Final = Tried()


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What is tried out. `headwind_kt` is added to every diversion."""

    headwind_kt: float = 0.0
    destination: Tried = NOTHING_TRIED
    alternates: Tried = NOTHING_TRIED

    def at(self, *, destination: bool) -> Tried:
        """What is tried out at the destination, or at every alternate."""
        return self.destination if destination else self.alternates

    def beside(self, other: WhatIf) -> WhatIf:
        """Both tried out at once; of what both try this one's."""
        return WhatIf(
            headwind_kt=self.headwind_kt or other.headwind_kt,
            destination=self.destination.beside(other.destination),
            alternates=self.alternates.beside(other.alternates),
        )


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
