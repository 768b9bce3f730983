"""All there is to tell: what was decided, and what was flown and judged once more for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from decision.decide.attempts import JudgedAttempt
from decision.decide.decision import (
    CleanPoint,
    Decided,
    Emergency,
    FuelState,
    Holding,
    LeaveBy,
)
from decision.decide.judge import JudgedCourse
from decision.flight.fuel_ahead import PointAhead
from decision.flight.irreversible import PricedExtension
from decision.flight.second_miss import LeftAfterMiss
from decision.flight.steps_ahead import StepAhead
from decision.performance import Spread
from decision.rules.finding import Judgement
from decision.what_if.flip import FlipPoint
from decision.what_if.remedies import Mended


@dataclass(frozen=True, slots=True, kw_only=True)
class Reasoned(Decided):
    """A decision with what its reasons and its headline tell.

    `ways_out`: the diversions after a miss that remain. `provision`: that by which the aircraft
    came without an alternate, where the approach rests on it.
    """

    ways_out: tuple[JudgedCourse, ...]
    provision: Judgement | None
    leave_by: LeaveBy | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation(Reasoned):
    """A decision with all that its answer tells, as values; nothing of it is in words yet.

    `place`: where the action leads. `instead`: the second-best course. `second_runways`: at each
    place of the decision the best attempt by another runway.
    """

    place: str
    fuel_state: FuelState
    emergency: Emergency
    clean_point: CleanPoint
    holding: Holding
    steps_ahead: tuple[StepAhead, ...]
    extensions: tuple[PricedExtension, ...]
    second_misses: Mapping[str, LeftAfterMiss]
    second_runways: tuple[JudgedAttempt, ...]
    instead: JudgedCourse | None
    mended: tuple[Mended, ...]
    minimum_fuel_to_start_kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Included:
    """What the case asked for besides; None: not asked for, or left out.

    `spread`: every sample of the fuel of the chosen course. `compared`: under each rulebook.
    `left_out`: what was asked for and is more than is worked out for one answer.
    """

    spread: Spread | None = None
    fuel_ahead: tuple[PointAhead, ...] | None = None
    compared: tuple[Reasoned, ...] | None = None
    flip_points: tuple[FlipPoint, ...] | None = None
    left_out: tuple[str, ...] = ()


NOTHING_MORE: Final = Included()
