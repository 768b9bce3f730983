"""A flight in the making: the state after each stretch, and the steps so far.

A stretch that cannot be flown stops the flight with its named limit; nothing is flown after it. No
aircraft gets lighter than empty: there the flight stops for want of fuel. One with a load goes on
with less fuel than none, so that how much it lacks is a figure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from decision.performance import Flown, Step


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """Where the aircraft is in time, height and fuel."""

    at: datetime
    mass_kg: float
    usable_kg: float
    pressure_altitude_ft: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Flight:
    """The state now, how it was reached, and what stopped the flight, if anything did.

    `empty_kg`: operating empty mass. `unknown`: it stopped for a figure that is not known, rather
    than at a limit.
    """

    state: State
    empty_kg: float
    steps: tuple[Step, ...] = ()
    limited_by: str | None = None
    unknown: bool = False

    def then(
        self, flown: Flown, *, pressure_altitude_ft: float | None = None, name: str | None = None
    ) -> Flight:
        """The flight after one more stretch, which ends at the given level or at its own.

        `name` says what the stretch is for, where the physics knows only what it is.
        """
        if self.limited_by is not None:
            return self
        if not flown.feasible:
            return replace(self, limited_by=flown.limited_by, unknown=flown.unknown)
        if self.state.mass_kg - flown.fuel_kg < self.empty_kg:
            return replace(self, limited_by=self._exhausted(flown))
        level_ft = flown.pressure_altitude_ft
        return replace(
            self,
            state=State(
                at=self.state.at + timedelta(minutes=flown.time_min),
                mass_kg=self.state.mass_kg - flown.fuel_kg,
                usable_kg=self.state.usable_kg - flown.fuel_kg,
                pressure_altitude_ft=level_ft
                if pressure_altitude_ft is None
                else pressure_altitude_ft,
            ),
            steps=self.steps + (flown.steps if name is None else _named(flown.steps, name)),
        )

    def _exhausted(self, flown: Flown) -> str:
        return (
            f"fuel exhausted on the way: {flown.fuel_kg:.0f} kg needed, "
            f"{max(0.0, self.state.usable_kg):.0f} kg usable"
        )


def _named(steps: tuple[Step, ...], name: str) -> tuple[Step, ...]:
    return tuple(replace(step, name=name) for step in steps)
