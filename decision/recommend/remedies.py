"""What would mend a limit that is missed: a gradient, a landing mass, an assigned hold.

Where the missed approach asks for more than the aircraft climbs: another procedure to the same
runway that asks for less, usually with a higher minimum; another runway; less mass. Where it is too
heavy to land: burning off, or an overweight landing. Where an assigned hold spoils the answer: to
refuse or to shorten it. Nothing here decides: each says what it takes. No time is spent on a
remedy where the landing is urgent or fuel is being lost.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final

import msgspec

from decision.attempt.arrival import any_procedure
from decision.course import Attempt
from decision.decide.attempts import JudgedAttempt, JudgedAttempts
from decision.decide.compose import Here
from decision.decide.decision import Do, FuelState, Verdict
from decision.decide.measures import leaks, urgency_of
from decision.flight.leave_later import present_flow_kg_per_h
from decision.flight.ledger import planned_reserve_kg
from decision.flight.situation import Situation
from decision.profile.operator_tables import OutOfTable
from decision.recommend.answer import Remedy, RemedyKind
from decision.rules.against_minima import minima_of
from decision.rules.finding import Outcome, shown, shown_down, shown_up
from decision.rules.row import Mend
from decision.systems import Urgency
from decision.turning import last_good
from decision.units import MIN_PER_H

MASS_STEP_KG: Final = 10.0  # the mass that is found is right to this, and never too heavy


def remedies_of(
    situation: Situation,
    here: Here | None,
    answered: Answered,
    decide: Decide,
    attempts: JudgedAttempts,
) -> tuple[Remedy, ...]:
    """The remedies for the approach here; empty where nothing is missed, or nobody knows."""
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


def _for_the_climb(situation: Situation, here: Here, attempts: JudgedAttempts) -> Iterator[Remedy]:
    if Outcome.FAIL not in _climbing(here.best):
        return
    attempt = here.best.attempt
    yield from _procedures(situation, attempt, attempts)
    if _may_wait(situation):
        usable_kg = here.flight.minimum.state.usable_kg
        yield _less_mass(situation, attempt, attempts, usable_kg=usable_kg)


def _for_the_mass(situation: Situation, here: Here) -> Iterator[Remedy]:
    """Too heavy to land: the minutes that burn it off, or the landing as it is."""
    attempt = here.best.attempt
    over_kg = max(
        (
            -each.margin
            for each in here.best.findings
            if each.by.mend is Mend.BURNING_OFF
            and each.outcome is Outcome.FAIL
            and each.judgement.unit == "kg"
            and each.margin is not None
        ),
        default=0.0,
    )
    if over_kg <= 0.0:
        return
    if _may_wait(situation):
        yield from _burn_off(situation, here, over_kg=over_kg)
    yield Remedy(
        kind=RemedyKind.OVERWEIGHT_LANDING,
        approach=None if attempt.approach is None else attempt.approach.id,
        runway=None if attempt.runway is None else attempt.runway.ident,
        mass_kg=attempt.mass_kg,
        text=f"land at {attempt.icao} at once, {shown_up(over_kg, 'kg')} above the maximum landing "
        "mass, by the operator's procedure for it: the aircraft is inspected afterwards",
    )


def _burn_off(situation: Situation, here: Here, *, over_kg: float) -> Iterator[Remedy]:
    attempt, state = here.best.attempt, here.flight.minimum.state
    try:
        reserve_kg = planned_reserve_kg(situation, attempt.mass_kg, attempt.leg)
        minutes = over_kg / present_flow_kg_per_h(situation) * MIN_PER_H
    except OutOfTable:
        return
    if state.usable_kg - over_kg < reserve_kg:
        return
    mass_kg = attempt.mass_kg - over_kg
    yield Remedy(
        kind=RemedyKind.BURN_OFF,
        approach=None,
        runway=None,
        mass_kg=mass_kg,
        minutes=minutes,
        text=f"hold {shown_up(minutes, 'min')} to burn {shown_up(over_kg, 'kg')}: then "
        f"{shown_down(mass_kg, 'kg')} on landing at {attempt.icao}, and so much less fuel for "
        "everything after it",
        say=f"Request to hold for {shown_up(minutes, 'min')} to burn fuel.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What an answer comes to, as far as a hold can change it."""

    verdict: Verdict
    do: Do
    place: str
    fuel_state: FuelState


Decide = Callable[[float], Answered]
"""What is answered with another hold, in minutes."""


def _for_the_hold(situation: Situation, answered: Answered, decide: Decide) -> Iterator[Remedy]:
    """An assigned hold is questioned where another answer is had without it, or with less of it."""
    assigned_min = situation.case.plan.hold_min
    if assigned_min <= 0.0:
        return
    without = decide(0.0)
    if without == answered:
        return
    here = situation.case.destination.aerodrome.icao
    yield _other_hold(RemedyKind.REFUSE_HOLD, here, assigned_min, 0.0, without)
    good_min = last_good(
        lambda minutes: decide(minutes) == without, good=0.0, bad=assigned_min, step=HOLD_STEP_MIN
    )
    if good_min >= HOLD_STEP_MIN:
        yield _other_hold(RemedyKind.SHORTEN_HOLD, here, assigned_min, good_min, without)


def _other_hold(
    kind: RemedyKind, here: str, assigned_min: float, minutes: float, then: Answered
) -> Remedy:
    whole = shown_down(minutes, "min")
    most = "without the hold" if kind is RemedyKind.REFUSE_HOLD else f"with {whole} at the most"
    said = "unable to hold" if kind is RemedyKind.REFUSE_HOLD else f"unable to hold beyond {whole}"
    return Remedy(
        kind=kind,
        approach=None,
        runway=None,
        mass_kg=None,
        minutes=minutes,
        text=f"{most} instead of the assigned {shown_up(assigned_min, 'min')} the answer is "
        f"{then.verdict}: {then.do} {then.place}, fuel state {then.fuel_state}",
        say=f"{said[:1].upper()}{said[1:]} due to fuel, request approach at {here}.",
    )


HOLD_STEP_MIN: Final = 1.0  # a shorter hold is found to this


def _climbing(judged: JudgedAttempt) -> set[Outcome]:
    """What the rules on climbing away say."""
    return {each.outcome for each in judged.findings if each.by.mend is Mend.GENTLER_MISS}


def _meets(judged: JudgedAttempt) -> bool:
    return _climbing(judged) <= {Outcome.PASS, Outcome.NOT_APPLICABLE}


def _procedures(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts
) -> Iterator[Remedy]:
    """The approach at the same moment by every procedure there is, whatever was planned."""
    for other in attempts.at(situation, any_procedure(attempt)):
        approach = other.attempt.approach
        if approach is not None and _meets(other):
            same = attempt.approach is not None and approach.runway == attempt.approach.runway
            yield Remedy(
                kind=RemedyKind.ANOTHER_MINIMUM if same else RemedyKind.ANOTHER_RUNWAY,
                approach=approach.id,
                runway=approach.runway,
                mass_kg=None,
                text=f"{approach.id}{_minimum(situation, other.attempt)}: its missed approach can "
                f"be flown{_against(other)}",
            )


def _minimum(situation: Situation, attempt: Attempt) -> str:
    minima = minima_of(attempt, situation)
    height_ft = None if minima is None else minima.height_ft
    return "" if height_ft is None else f", minimum height {shown(height_ft, 'ft')}"


def _against(judged: JudgedAttempt) -> str:
    """The first thing that stands against a procedure all the same."""
    for finding in judged.findings:
        if finding.outcome is Outcome.FAIL:
            return f", but {finding.text} ({finding.rule})"
    return ""


def _less_mass(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts, *, usable_kg: float
) -> Remedy:
    """The greatest mass that climbs away, down to that with nothing but the final reserve."""
    mass_kg = None
    try:
        spare_kg = usable_kg - planned_reserve_kg(situation, attempt.mass_kg, attempt.leg)
        light_kg = attempt.mass_kg - max(0.0, spare_kg)
        mass_kg = _greatest_kg(situation, attempt, attempts, light_kg=light_kg)
        text = _mass_words(situation, attempt, mass_kg)
    except OutOfTable as error:
        text = f"how much less it takes is not known: {error}"
    return Remedy(kind=RemedyKind.LESS_MASS, approach=None, runway=None, mass_kg=mass_kg, text=text)


def _mass_words(situation: Situation, attempt: Attempt, mass_kg: float | None) -> str:
    """Raises OutOfTable."""
    if mass_kg is None:
        return "less mass alone does not do it, not even with only the final reserve left"
    less_kg = attempt.mass_kg - mass_kg
    minutes = less_kg / present_flow_kg_per_h(situation) * MIN_PER_H
    return (
        f"{shown_down(mass_kg, 'kg')} at the missed approach point, {shown_up(less_kg, 'kg')} less "
        f"({shown_up(minutes, 'min')} of holding): every diversion after it has so much less fuel"
    )


def _greatest_kg(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts, *, light_kg: float
) -> float | None:
    climbs = partial(_climbs_at, situation, attempt, attempts)
    if not climbs(light_kg):
        return None
    return last_good(climbs, good=light_kg, bad=attempt.mass_kg, step=MASS_STEP_KG)


def _climbs_at(
    situation: Situation, attempt: Attempt, attempts: JudgedAttempts, mass_kg: float
) -> bool:
    """Whether the same procedure can be flown at another mass."""
    arrival = msgspec.structs.replace(any_procedure(attempt), mass_kg=mass_kg)
    judged = attempts.at(situation, arrival)
    return _meets(next(each for each in judged if each.attempt.approach == attempt.approach))
