"""A figure of a profile beside its limits, and the gate that works it out."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from decision.errors import OutOfRange
from decision.performance.configuration import Configuration
from decision.performance.envelope import stall_speed_kt
from decision.profile import Profile


@dataclass(frozen=True, slots=True, kw_only=True)
class GateFinding:
    """One figure of a profile beside its limit or limits (None: open on that side).

    `value` is None when it cannot be worked out; `problem` then says why.
    """

    gate: str
    what: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    source: str
    problem: str = ""

    @property
    def passed(self) -> bool:
        """Whether the figure is known and lies within its limits."""
        if self.value is None or not math.isfinite(self.value):
            return False
        above = self.low is None or self.value >= self.low
        return above and (self.high is None or self.value <= self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class GateFigure:
    """What a gate works out for one thing, with its limits and, if it has no value, why."""

    what: str
    value: float | None
    low: float | None = None
    high: float | None = None
    problem: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A kind of figure, its unit and the source of its limits."""

    id: str
    figures: Callable[[Profile], Iterator[GateFigure]]
    unit: str
    source: str

    def findings(self, profile: Profile) -> tuple[GateFinding, ...]:
        """Every figure of a profile beside its limits."""
        try:
            figures = tuple(self.figures(profile))
        except (OutOfRange, ArithmeticError) as error:
            figures = (GateFigure(what="cannot be worked out", value=None, problem=str(error)),)
        return tuple(self._finding(figure) for figure in figures)

    def _finding(self, figure: GateFigure) -> GateFinding:
        return GateFinding(
            gate=self.id,
            what=figure.what,
            value=figure.value,
            low=figure.low,
            high=figure.high,
            unit=self.unit,
            source=self.source,
            problem=figure.problem,
        )


def with_lever(
    profile: Profile, flap: str, *, stopped: int = 0, gear: bool = False
) -> Configuration:
    """The aircraft as the flap lever sets it, with so many engines stopped."""
    return Configuration(
        gear_down=gear,
        flap=flap,
        slats_out=profile.slats_out_with_lever(flap),
        engines_running=profile.engine.count - stopped,
    )


def stall_kt(profile: Profile, flap: str) -> float:
    """VSR at maximum landing mass as the lever sets the wing."""
    mass_kg = profile.masses.mlw_kg
    return float(stall_speed_kt(profile, with_lever(profile, flap), mass_kg=mass_kg))
