"""A decision in a row of figures: what to do, by when and with how much room, without words."""

from __future__ import annotations

from typing import Annotated, Final

from msgspec import Struct

from decision.answer.figures import instant, number
from decision.answer.place import runway_of
from decision.answer.types import Action, DeadlineTold
from decision.course import Course, CourseKind
from decision.decide.decision import Basis, Decided, Decision, Do, FuelState, LeaveBy, Verdict
from decision.decide.facts import ways_out
from decision.decide.measures import margin_p95_kg
from decision.fields import Instant, about
from decision.flight.situation import Situation

DIVERTING: Final = frozenset({CourseKind.DIVERT_NOW, CourseKind.APPROACH_THEN_DIVERT})


class Margin(Struct, frozen=True, kw_only=True, gc=False):
    """The room of a course."""

    course: Annotated[str, about("Label of the course.")]
    legal: Annotated[bool | None, about("Whether it is legal; null: not known.")]
    margin_kg: Annotated[
        float | None,
        about("Above final reserve on landing; null: not flown, or not known.", unit="kg"),
    ]
    landing_kg: Annotated[float | None, about("Fuel on landing.", unit="kg")]
    final_reserve_kg: Annotated[
        float | None, about("Final reserve where the course ends.", unit="kg")
    ]
    margin_p95_kg: Annotated[
        float | None,
        about("The margin if the flight needs as much as 19 flights of 20 do.", unit="kg"),
    ]


class RowTold(Struct, frozen=True, kw_only=True, gc=False):
    """A decision without words: what a sweep over many cases compares."""

    flight_id: Annotated[str, about("As in the case.")]
    as_of: Annotated[Instant, about("The moment of deciding.")]
    rulebook: Annotated[str, about("Id of the rulebook.")]
    verdict: Annotated[Verdict, about("Whether to start or continue the approach.")]
    basis: Annotated[Basis, about("The row of the table of decisions that spoke.")]
    action: Annotated[Action, about("What to do.")]
    deadline: Annotated[
        DeadlineTold | None, about("By when the action has to be begun; null: no deadline.")
    ]
    fuel_state: Annotated[FuelState, about("State of the fuel in words of air traffic.")]
    ways_out: Annotated[int, about("Aerodromes that remain after a missed approach.")]
    diversions: Annotated[
        tuple[str, ...],
        about("Aerodromes that a course which keeps every rule diverts to, the best first."),
    ]
    margins: Annotated[tuple[Margin, ...], about("The room of every course, the best first.")]


def row_told(
    decided: Decided, *, place: str, fuel_state: FuelState, leave_by: LeaveBy | None
) -> RowTold:
    """The row of what was decided; `place`: where the action leads."""
    case = decided.situation.case
    return RowTold(
        flight_id=case.flight_id,
        as_of=instant(case.as_of),
        rulebook=decided.situation.rulebook.id,
        verdict=decided.decision.verdict,
        basis=decided.decision.basis,
        action=action_told(decided.decision, place, leave_by),
        deadline=deadline_told(leave_by),
        fuel_state=fuel_state,
        ways_out=len({each.course.icao for each in ways_out(decided.courses, decided.situation)}),
        diversions=tuple(
            dict.fromkeys(
                each.course.icao
                for each in decided.courses
                if each.legal is True and each.course.kind in DIVERTING
            )
        ),
        margins=tuple(
            _margin(each.course, decided.situation, legal=each.legal) for each in decided.courses
        ),
    )


def _margin(course: Course, situation: Situation, *, legal: bool | None) -> Margin:
    ledger = course.ledger
    return Margin(
        course=course.label,
        legal=legal,
        margin_kg=None if ledger is None else number(ledger.margin_kg),
        landing_kg=None if ledger is None else number(ledger.landing_kg),
        final_reserve_kg=None if ledger is None else number(ledger.final_reserve_kg),
        margin_p95_kg=number(margin_p95_kg(course, situation)),
    )


def action_told(decision: Decision, place: str, leave_by: LeaveBy | None) -> Action:
    """What to do, where and by when."""
    chosen = decision.chosen.course
    return Action(
        do=decision.do,
        aerodrome=place,
        runway=_runway(decision.do, chosen),
        latest_at=None if leave_by is None else instant(leave_by.at),
        course=chosen.label,
    )


def _runway(do: Do, chosen: Course) -> str | None:
    """That of the action: of an approach and a hold the first, else the one at the end."""
    if do not in (Do.APPROACH, Do.HOLD):
        return runway_of(chosen)
    first = chosen.attempts[0].runway if chosen.attempts else None
    return None if first is None else first.ident


def deadline_told(leave_by: LeaveBy | None) -> DeadlineTold | None:
    """The deadline of the action."""
    if leave_by is None:
        return None
    return DeadlineTold(
        at=instant(leave_by.at),
        what=leave_by.what,
        aerodrome=leave_by.aerodrome,
        distance_to_go_nm=number(leave_by.distance_to_go_nm),
        fuel_kg=number(leave_by.fuel_kg),
        holding_until=instant(leave_by.holding_until),
    )
