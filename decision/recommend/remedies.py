"""What would let the aircraft climb away where the missed approach asks for more than it has.

Three remedies are looked for: another procedure to the same runway that asks for less, usually with
a higher minimum; another runway; and less mass. Nothing here decides: each says what it takes.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Final

from decision.course import Attempt
from decision.courses.arrive import Approaching
from decision.courses.attempts import attempts
from decision.courses.reserve import planned_reserve_kg
from decision.courses.situation import Situation
from decision.profile.operator_tables import OutOfTable
from decision.recommend.answer import Remedy, RemedyKind
from decision.recommend.holding import present_flow_kg_per_h
from decision.rules import GRADIENT_CODES, findings_on
from decision.rules.approach import minima_of
from decision.rules.finding import Outcome, shown, shown_down, shown_up
from decision.units import MIN_PER_H

MASS_STEP_KG: Final = 10.0  # the mass that is found is right to this, and never too heavy


def remedies_of(situation: Situation, approaching: Approaching | None) -> tuple[Remedy, ...]:
    """The remedies for the approach here; empty where it can climb away, or nobody knows."""
    if approaching is None:
        return ()
    attempt = approaching.attempt
    if Outcome.FAIL not in _climbing(situation, attempt):
        return ()
    return (
        *_procedures(situation, attempt),
        _less_mass(situation, attempt, usable_kg=approaching.flight.minimum.state.usable_kg),
    )


def _climbing(situation: Situation, attempt: Attempt) -> set[Outcome]:
    """What the rules on climbing away say."""
    found = findings_on(attempt, situation.context)
    return {each.outcome for each in found if each.rule in GRADIENT_CODES}


def _meets(situation: Situation, attempt: Attempt) -> bool:
    return _climbing(situation, attempt) <= {Outcome.PASS, Outcome.NOT_APPLICABLE}


def _redrawn(situation: Situation, attempt: Attempt, *, mass_kg: float) -> tuple[Attempt, ...]:
    """The approach at the same moment by every procedure there is, whatever was planned."""
    return attempts(
        situation,
        leg=attempt.leg,
        role=attempt.role,
        at=attempt.at,
        window=attempt.weather.window,
        mass_kg=mass_kg,
    )


def _procedures(situation: Situation, attempt: Attempt) -> Iterator[Remedy]:
    for other in _redrawn(situation, attempt, mass_kg=attempt.mass_kg):
        approach = other.approach
        if approach is not None and _meets(situation, other):
            same = attempt.approach is not None and approach.runway == attempt.approach.runway
            yield Remedy(
                kind=RemedyKind.ANOTHER_MINIMUM if same else RemedyKind.ANOTHER_RUNWAY,
                approach=approach.id,
                runway=approach.runway,
                mass_kg=None,
                text=f"{approach.id}{_minimum(situation, other)}: its missed approach can be "
                f"flown{_against(situation, other)}",
            )


def _minimum(situation: Situation, attempt: Attempt) -> str:
    minima = minima_of(attempt, situation.context)
    height_ft = None if minima is None else minima.height_ft
    return "" if height_ft is None else f", minimum height {shown(height_ft, 'ft')}"


def _against(situation: Situation, attempt: Attempt) -> str:
    """The first thing that stands against a procedure all the same."""
    for finding in findings_on(attempt, situation.context):
        if finding.outcome is Outcome.FAIL:
            return f", but {finding.text} ({finding.rule})"
    return ""


def _less_mass(situation: Situation, attempt: Attempt, *, usable_kg: float) -> Remedy:
    """The greatest mass that climbs away, down to that with nothing but the final reserve."""
    mass_kg = None
    try:
        spare_kg = usable_kg - planned_reserve_kg(situation, attempt.mass_kg, attempt.leg)
        light_kg = attempt.mass_kg - max(0.0, spare_kg)
        mass_kg = _greatest_kg(situation, attempt, light_kg=light_kg)
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


def _greatest_kg(situation: Situation, attempt: Attempt, *, light_kg: float) -> float | None:
    climbs = partial(_climbs_at, situation, attempt)
    heavy_kg = attempt.mass_kg
    if not climbs(light_kg):
        return None
    while heavy_kg - light_kg > MASS_STEP_KG:
        middle_kg = (light_kg + heavy_kg) / 2.0
        if climbs(middle_kg):
            light_kg = middle_kg
        else:
            heavy_kg = middle_kg
    return light_kg


def _climbs_at(situation: Situation, attempt: Attempt, mass_kg: float) -> bool:
    """Whether the same procedure can be flown at another mass."""
    drawn = _redrawn(situation, attempt, mass_kg=mass_kg)
    same = next(each for each in drawn if each.approach == attempt.approach)
    return _meets(situation, same)
