"""How far an aircraft has come since a decision, if it did what that said.

Towards a place it goes along the steps that the chosen course was flown in; in a hold it stays
where it is and burns. A course is carried up to where its approach begins as if it had been flown
to the second; from there on gear and flaps go out and the aircraft lands or goes around, and what
of that was done nobody knows: fuel still drains, and the state is said to be lost.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import takewhile
from typing import Any, Final

from msgspec import Struct
from msgspec.structs import replace

from decision.flight.approach import HOLDING, present_flight
from decision.flight.leave_later import SAME_MIN, STANDING, lowered
from decision.flight.situation import Situation
from decision.flight.stretches import State, between, held
from decision.performance.arrival import ALLOWANCE, APPROACH
from decision.windows import minutes_between

Data = Mapping[str, Any]

APPROACHES: Final = frozenset({APPROACH, ALLOWANCE})
GEAR_DOWN: Final = "gear down"  # how the name of a configuration with the gear out begins
LANDED: Final = "by now the approach is flown, and gear, flaps and how it ended are not known"
NOT_FLOWN: Final = "the course that was chosen could not be flown so far"


class Moved(Struct, frozen=True, kw_only=True, gc=False):
    """What has become of the state: fuel gone, level reached, miles made towards the place.

    `level_ft` None: as before. `held_min`: how much of the time was spent holding. `gear_down`:
    the gear should be out by now. `lost`: why the state is not known any more.
    """

    fuel_kg: float = 0.0
    level_ft: float | None = None
    miles: float = 0.0
    held_min: float = 0.0
    gear_down: bool = False
    lost: str | None = None


def along(steps: Sequence[Data], minutes: float, *, level_ft: float) -> Moved:
    """After so many minutes on a course of these steps, which begins at that level."""
    way = [*takewhile(lambda step: step["name"] not in APPROACHES, steps)]
    final = steps[len(way) : len(way) + 1]  # nobody knows what comes after it
    moved, left_min = _flown(Moved(level_ft=level_ft), way, minutes)
    if left_min <= SAME_MIN:
        return moved
    moved, left_min = _flown(moved, final, left_min)
    rate = _rate(final or way)
    return replace(
        moved,
        fuel_kg=moved.fuel_kg + rate * left_min,
        gear_down=any(step["configuration"].startswith(GEAR_DOWN) for step in final),
        lost=LANDED if final else NOT_FLOWN,
    )


def in_hold(situation: Situation, minutes: float) -> Moved:
    """After holding for so many minutes, down to a level where that may be done first."""
    present = present_flight(situation)
    low = lowered(situation, present)
    down_min = minutes_between(present.state.at, low.state.at)
    if minutes < down_min:
        reached = between(present.state, low.state, minutes / down_min)
        return _difference(present.state, reached, minutes)
    configuration = situation.configurations.present
    end = held(situation, low, minutes - down_min, configuration=configuration, name=HOLDING)
    moved = _difference(present.state, end.state, minutes)
    if end.stopped is None:
        return moved
    return replace(moved, lost=NOT_FLOWN)


def _difference(before: State, after: State, minutes: float) -> Moved:
    return Moved(
        fuel_kg=before.usable_kg - after.usable_kg,
        level_ft=after.pressure_altitude_ft,
        held_min=minutes,
    )


def _flown(moved: Moved, steps: Sequence[Data], minutes: float) -> tuple[Moved, float]:
    """Moved on by so many minutes of these steps, and the minutes that they do not have.

    Inside a step everything changes evenly with time.
    """
    fuel_kg, level_ft, miles, held_min = moved.fuel_kg, moved.level_ft, moved.miles, moved.held_min
    for step in steps:
        if minutes <= 0.0:
            break
        share = min(1.0, minutes / step["time_min"]) if step["time_min"] > 0.0 else 1.0
        end_ft = step["pressure_altitude_ft"]
        level_ft = end_ft if level_ft is None else level_ft + (end_ft - level_ft) * share
        fuel_kg += step["fuel_kg"] * share
        miles += 0.0 if step["name"] in STANDING else step["distance_nm"] * share
        held_min += step["time_min"] * share if step["name"] == HOLDING else 0.0
        minutes -= step["time_min"] * share
    return (
        Moved(fuel_kg=fuel_kg, level_ft=level_ft, miles=miles, held_min=held_min),
        max(0.0, minutes),
    )


def _rate(steps: Sequence[Data]) -> float:
    """Fuel a minute of the last of these steps; 0 without one."""
    if not steps or steps[-1]["time_min"] <= 0.0:
        return 0.0
    rate: float = steps[-1]["fuel_kg"] / steps[-1]["time_min"]
    return rate
