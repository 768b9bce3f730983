"""What would mend a limit that is missed: a gradient, a landing mass, an assigned hold.

Where the missed approach asks for more than the aircraft climbs: another procedure to the same
runway that asks for less, usually with a higher minimum; another runway; less mass. Where it is too
heavy to land: burning off, or an overweight landing. Where an assigned hold spoils the answer: to
refuse or to shorten it. Nothing here decides: each says what it takes. No time is spent on a
remedy where the landing is urgent or fuel is being lost.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import msgspec

from decision.attempt.arrival import any_procedure
from decision.attempt.attempt import Attempt
from decision.course import CourseKind
from decision.decide.attempts import JudgedAttempt, JudgedAttempts
from decision.decide.compose import Here
from decision.decide.decision import Do, FuelState, Verdict
from decision.decide.judge import JudgedCourse
from decision.decide.measures import leaks, urgency_of
from decision.flight.leave_later import present_flow_kg_per_h
from decision.flight.ledger import planned_reserve_kg
from decision.flight.situation import Situation
from decision.performance import NotKnown
from decision.profile.operator_tables import OutOfTable
from decision.rules.finding import FAIL, NOT_APPLICABLE, PASS, Finding, Outcome
from decision.rules.row import Mend, Topic
from decision.systems import Urgency
from decision.turning import last_good
from decision.units import MIN_PER_H

MASS_STEP_KG: Final = 10.0  # the mass that is found is right to this, and never too heavy
HOLD_STEP_MIN: Final = 1.0  # a shorter hold is found to this


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherProcedure:
    """A procedure whose missed approach can be flown, to the same runway or to another."""

    judged: JudgedAttempt
    same_runway: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LessMass:
    """The greatest mass that climbs away; None: none does. `minutes` of holding burn the rest."""

    attempt: Attempt
    mass_kg: float | None
    minutes: float | NotKnown


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnOff:
    """The minutes of holding that bring the aircraft down to its landing mass."""

    attempt: Attempt
    over_kg: float
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OverweightLanding:
    """The landing as it is, so much too heavy."""

    attempt: Attempt
    over_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What an answer comes to, as far as a hold can change it."""

    verdict: Verdict
    do: Do
    place: str
    fuel_state: FuelState


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherHold:
    """At most so many minutes of the assigned ones, none if it is refused, and the answer then."""

    assigned_min: float
    minutes: float
    then: Answered


Mended = OtherProcedure | LessMass | BurnOff | OverweightLanding | OtherHold

Decide = Callable[[float], Answered]
"""What is answered with another hold, in minutes."""


def mended(
    situation: Situation,
    here: Here | None,
    answered: Answered,
    decide: Decide,
    attempts: JudgedAttempts,
) -> tuple[Mended, ...]:
    """What mends the approach here; empty where nothing is missed, or nobody knows."""
    if here is None:
        return ()
    return (
        *_for_the_climb(situation, here, attempts),
        *_for_the_mass(situation, here),
        *_for_the_hold(situation, answered, decide),
    )


def _may_wait(situation: Situation) -> bool:
    """Whether minutes may be spent on it."""
    return urgency_of(situation) is not Urgency.AS_SOON_AS_POSSIBLE and not leaks(situation)


def _for_the_climb(situation: Situation, here: Here, attempts: JudgedAttempts) -> Iterator[Mended]:
    if FAIL not in _climbing(here.best):
        return
    attempt = here.best.attempt
    yield from _procedures(situation, attempt, attempts)
    if _may_wait(situation):
        usable_kg = here.flight.minimum.state.usable_kg
        yield _less_mass(situation, attempt, attempts, usable_kg=usable_kg)


def _climbing(judged: JudgedAttempt) -> set[Outcome]:
    """What the rules on climbing away say."""
    return {each.outcome for each in judged.findings if each.by.mend is Mend.GENTLER_MISS}


def _meets(judged: JudgedAttempt) -> bool:
    return _climbing(judged) <= {PASS, NOT_APPLICABLE}


def _procedures(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts
) -> Iterator[Mended]:
    """The approach at the same moment by every procedure there is, whatever was planned."""
    for other in attempts.at(situation, any_procedure(attempt)):
        approach = other.attempt.approach
        if approach is not None and _meets(other):
            same = attempt.approach is not None and approach.runway == attempt.approach.runway
            yield OtherProcedure(judged=other, same_runway=same)


def _less_mass(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts, *, usable_kg: float
) -> LessMass:
    """The greatest mass that climbs away, down to that with nothing but the final reserve."""
    mass_kg = None
    try:
        spare_kg = usable_kg - planned_reserve_kg(situation, attempt.mass_kg, attempt.leg)
        light_kg = attempt.mass_kg - max(0.0, spare_kg)
        mass_kg = _greatest_kg(situation, attempt, attempts, light_kg=light_kg)
        less_kg = 0.0 if mass_kg is None else attempt.mass_kg - mass_kg
        minutes = less_kg / present_flow_kg_per_h(situation) * MIN_PER_H if less_kg else 0.0
    except OutOfTable as error:
        return LessMass(attempt=attempt, mass_kg=mass_kg, minutes=NotKnown(what=str(error)))
    return LessMass(attempt=attempt, mass_kg=mass_kg, minutes=minutes)


def _greatest_kg(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts, *, light_kg: float
) -> float | None:
    """By the same procedure."""
    asked = msgspec.structs.replace(
        any_procedure(attempt),
        approach_id=None if attempt.approach is None else attempt.approach.id,
    )

    def climbs(mass_kg: float) -> bool:
        judged = attempts.at(situation, msgspec.structs.replace(asked, mass_kg=mass_kg))
        return _meets(next(each for each in judged if each.attempt.approach == attempt.approach))

    if not climbs(light_kg):
        return None
    return last_good(climbs, good=light_kg, bad=attempt.mass_kg, step=MASS_STEP_KG)


def _for_the_mass(situation: Situation, here: Here) -> Iterator[Mended]:
    """Too heavy to land: the minutes that burn it off, or the landing as it is."""
    over_kg = max(
        (
            -each.margin
            for each in here.best.findings
            if each.by.mend is Mend.BURNING_OFF
            and each.outcome is FAIL
            and each.judgement.unit == "kg"
            and each.margin is not None
        ),
        default=0.0,
    )
    if over_kg <= 0.0:
        return
    if _may_wait(situation):
        yield from _burn_off(situation, here, over_kg=over_kg)
    yield OverweightLanding(attempt=here.best.attempt, over_kg=over_kg)


def _burn_off(situation: Situation, here: Here, *, over_kg: float) -> Iterator[Mended]:
    """None where it would take the final reserve, or an operator's table ends before."""
    attempt, state = here.best.attempt, here.flight.minimum.state
    try:
        reserve_kg = planned_reserve_kg(situation, attempt.mass_kg, attempt.leg)
        minutes = over_kg / present_flow_kg_per_h(situation) * MIN_PER_H
    except OutOfTable:
        return
    if state.usable_kg - over_kg >= reserve_kg:
        yield BurnOff(attempt=attempt, over_kg=over_kg, minutes=minutes)


def _for_the_hold(situation: Situation, answered: Answered, decide: Decide) -> Iterator[Mended]:
    """An assigned hold is questioned where another answer is had without it, or with less of it."""
    assigned_min = situation.case.plan.hold_min
    if assigned_min <= 0.0:
        return
    without = decide(0.0)
    if without == answered:
        return
    yield OtherHold(assigned_min=assigned_min, minutes=0.0, then=without)
    good_min = last_good(
        lambda minutes: decide(minutes) == without, good=0.0, bad=assigned_min, step=HOLD_STEP_MIN
    )
    if good_min >= HOLD_STEP_MIN:
        yield OtherHold(assigned_min=assigned_min, minutes=good_min, then=without)


def minimum_fuel_to_start_kg(courses: Sequence[JudgedCourse], situation: Situation) -> float | None:
    """Fuel on board now that brings the cheapest way out exactly to its final reserve.

    Counts only ways that nothing but fuel bars; None when there is none. The aircraft's mass is
    kept: with less fuel it would be lighter and need a little less, so this errs upwards.
    """
    margins = [
        judged.course.ledger.margin_kg
        for judged in courses
        if judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
        and judged.course.ledger is not None
        and all(finding.by.topic is Topic.FUEL for finding in _not_met(judged))
    ]
    if not margins:
        return None
    return situation.case.fuel.on_board_kg - max(margins)


def _not_met(judged: JudgedCourse) -> list[Finding]:
    """What a course breaks, or nobody knows."""
    met = (PASS, NOT_APPLICABLE)
    return [each for each in judged.found if each.judgement.outcome not in met]
