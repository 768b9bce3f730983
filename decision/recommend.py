"""The road: from a case to the answer.

Fly, draw, judge, choose; fly again what the decision asks for; tell. Every stretch is flown in the
configuration that it will really be flown in, every attempt is drawn and judged once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

import msgspec

from decision import answer as answers
from decision.answer.recommendation import Included, Reasoned, Recommendation
from decision.case import Case
from decision.decide.afterwards import (
    clean_point_of,
    fully_sampled,
    left_after_each,
    priced_from,
    provision_of,
    second_misses_of,
    second_runways_of,
)
from decision.decide.attempts import JudgedAttempts
from decision.decide.carried import heed_carried
from decision.decide.compose import best_here, courses_of
from decision.decide.concerns import concerns_of
from decision.decide.deadline import leave_by_of, may_have_deadline
from decision.decide.decision import Decided, LeaveBy, Verdict
from decision.decide.facts import ways_out
from decision.decide.fuel_state import emergency_of, fuel_state_of
from decision.decide.holding import holding_of
from decision.decide.judge import compared
from decision.decide.rank import ranked, second_best
from decision.decide.verdict import decide, place_of
from decision.decide.wait import waiting_courses
from decision.decide.work import Work
from decision.errors import InvalidCase
from decision.flight.approach import assigned_hold_min, departure_of
from decision.flight.fuel_ahead import fuel_ahead
from decision.flight.irreversible import extensions
from decision.flight.situation import Situation, situation_of, varied_situation
from decision.flight.steps_ahead import steps_ahead
from decision.flight.tried import AS_IT_IS, WhatIf
from decision.rulebooks.rulebook import rulebook_ids
from decision.rules import adoption_faults
from decision.rules.policy import policy_faults, scheme_faults
from decision.what_if.flip import FlipPoints, flip_points
from decision.what_if.remedies import Answered, mended, minimum_fuel_to_start_kg
from decision.what_if.vary import BY_NAME, varied

__all__ = [
    "Recommendation",
    "Verdict",
    "decide_varied",
    "recommend",
    "recommend_answer",
    "recommend_mapping",
    "recommend_row",
    "recommend_tried",
    "row_of",
]


def recommend_mapping(case: Case, *, work: Work | None = None) -> dict[str, Any]:
    """The answer as plain data, with what the case asked to include; `work` counts."""
    return answers.plain(recommend_answer(case, work=work))


def recommend_answer(
    case: Case, *, whole: bool = False, work: Work | None = None
) -> answers.Answer:
    """The answer with what the case asked to include, or with all that was computed for it.

    Raises InvalidCase when the policy is looser than allowed.
    """
    include = frozenset(case.include) | (answers.EVERYTHING if whole else frozenset())
    situation = _asked(case)  # what is left, the configurations, the weather
    attempts = JudgedAttempts(work)  # each of them drawn and judged once
    decided = _decided(situation, attempts, flown_again=True)  # fly, draw, judge, choose
    # what the verdict asks for; then what the case does
    answer = _flown_again(decided, attempts, figures=bool(include & answers.EVERYTHING))
    told = answers.tell(answer, include=include, more=_included(answer, attempts))
    if whole or told.findings is None:
        return told
    return msgspec.structs.replace(told, findings=told.findings[: answers.MOST_FINDINGS])


def recommend_row(case: Case, *, work: Work | None = None) -> dict[str, Any]:
    """The decision as a row of figures, as plain data: nothing is flown again but its deadline.

    Raises InvalidCase when the policy is looser than allowed.
    """
    return answers.plain(row_of(case, work=work))


def row_of(case: Case, *, what_if: WhatIf = AS_IT_IS, work: Work | None = None) -> answers.RowTold:
    """The same as the published type; `what_if`: what is tried out in it.

    Raises InvalidCase when the policy is looser than allowed.
    """
    attempts = JudgedAttempts(work)
    situation = replace(_asked(case), what_if=what_if)
    return _row(_decided(situation, attempts), attempts)


def recommend_tried(
    case: Case,
    tried: Sequence[Mapping[str, float]],
    *,
    turns_of: Sequence[str] = (),
    work: Work | None = None,
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The case in a row of figures, and with inputs at other values, several times over.

    `turns_of`: inputs whose flip point is told as well, each with the other inputs of the row at
    their values and itself as the case has it. What variations share is worked out once.
    Raises InvalidCase when the policy is looser than allowed; and when a variation is none of the
    case, its pointers beginning with the number of the variation.
    """
    attempts = JudgedAttempts(work)
    stored = _decided(_asked(case), attempts)
    told = []
    for number, values in enumerate(tried):
        decided, judged = _at(values, stored, attempts, at=f"/{number}")
        turns = [_turn(name, values, stored, attempts) for name in turns_of]
        told.append(
            answers.plain(
                answers.tried_told(
                    stored,
                    [(BY_NAME[name], value) for name, value in values.items()],
                    row=_row(decided, judged),
                    turns=[flip for each in turns for flip in each.found],
                    left_out=[name for each in turns for name in each.left_out],
                )
            )
        )
    return answers.plain(_row(stored, attempts)), told


def _at(
    values: Mapping[str, float], stored: Decided, attempts: JudgedAttempts, *, at: str = ""
) -> tuple[Decided, JudgedAttempts]:
    """What is decided with inputs at these values, and the attempts judged for it.

    Raises: InvalidCase, its pointers below `at`.
    """
    if not values:
        return stored, attempts
    return _varied(*varied(stored, values, at=at), stored.situation, attempts)


def _turn(
    name: str, values: Mapping[str, float], stored: Decided, attempts: JudgedAttempts
) -> FlipPoints:
    """Where one input turns the verdict, the others of a variation at their values."""
    others = {other: value for other, value in values.items() if other != name}
    given, judged = _at(others, stored, attempts)
    again = partial(decide_varied, like=given.situation, attempts=judged)
    return flip_points(given, again, judged.work.has_room_for, inputs=(BY_NAME[name],))


def _row(decided: Decided, attempts: JudgedAttempts) -> answers.RowTold:
    answered = _answered(decided)
    return answers.row_told(
        decided,
        place=answered.place,
        fuel_state=answered.fuel_state,
        leave_by=_leave_by(decided, attempts),
    )


def _leave_by(decided: Decided, attempts: JudgedAttempts) -> LeaveBy | None:
    """The deadline, flown for those actions alone that may have one."""
    situation, courses, departure = decided.situation, decided.courses, decided.departure
    if not may_have_deadline(decided.decision):
        return None
    point = clean_point_of(courses, situation, departure.approach)
    holding = holding_of(courses, situation, decided.decision, attempts)
    return leave_by_of(decided.decision, situation, departure, point, holding, attempts=attempts)


def _included(answer: Recommendation, attempts: JudgedAttempts) -> Included:
    """What the case asks for besides, the dearest last: what finds no room any more is left out."""
    situation, case, work = answer.situation, answer.situation.case, attempts.work
    spread = ahead = others = flips = None
    left_out: list[str] = []
    if "uncertainty" in case.include:
        spread = fully_sampled(case.aircraft.profile, answer.decision.chosen.course)
    if "ahead" in case.include:
        missed = None if answer.here is None else answer.here.best.attempt.approach
        ahead = fuel_ahead(situation, answer.departure, missed)
        work.flown(sum(len(point.needs) for point in ahead))
    if case.compare_rulebooks:
        books = rulebook_ids()
        if work.has_room_for(len(books) * work.done):
            others = tuple(
                answer if book == situation.rulebook.id else _under(case, book, work)
                for book in books
            )
        else:
            left_out.append("rulebooks compared")
    if "flip_points" in case.include:
        varied = partial(decide_varied, like=situation, attempts=attempts)
        flips = flip_points(answer, varied, work.has_room_for)
        left_out += [f"flip point of {name.replace('_', ' ')}" for name in flips.left_out]
    return Included(
        spread=spread,
        fuel_ahead=ahead,
        compared=others,
        flip_points=None if flips is None else flips.found,
        left_out=tuple(left_out),
    )


def recommend(case: Case, *, rulebook: str | None = None) -> Recommendation:
    """What is decided of a case, and what is flown again for it: all there is to tell.

    Raises InvalidCase when the policy is looser than allowed.
    """
    attempts = JudgedAttempts()
    return _flown_again(_decided(_asked(case, rulebook), attempts), attempts)


def _under(case: Case, rulebook: str, work: Work) -> Reasoned:
    """What is decided under another rulebook, and why; nothing is flown again but its deadline."""
    attempts = JudgedAttempts(work)
    decided = _decided(_asked(case, rulebook), attempts)
    return Reasoned(
        situation=decided.situation,
        departure=decided.departure,
        here=decided.here,
        courses=decided.courses,
        concerns=decided.concerns,
        decision=decided.decision,
        ways_out=tuple(ways_out(decided.courses, decided.situation)),
        provision=provision_of(decided.decision, decided.situation),
        leave_by=_leave_by(decided, attempts),
    )


def _asked(case: Case, rulebook: str | None = None) -> Situation:
    """What follows from the case, if the policy may be what it is. Raises InvalidCase."""
    situation = situation_of(case, rulebook=rulebook)
    faults = policy_faults(case.policy, situation.rulebook) + adoption_faults(case.policy)
    if rulebook is None:  # compared with others, a choice that they do not know is theirs to make
        faults += scheme_faults(case.policy, situation.rulebook)
    if faults:
        raise InvalidCase(faults)
    return situation


def _decided(
    situation: Situation, attempts: JudgedAttempts, *, flown_again: bool = False
) -> Decided:
    """Fly to the minimum, choose there, fly on, choose at each end, wait, rank, decide.

    `flown_again`: it will be, and what is known by then is searched together.
    """
    departure = departure_of(situation)  # flown to the minimum, once
    here = best_here(situation, departure.approach, attempts)  # drawn and judged, the best chosen
    beside = priced_from(situation, departure.approach) if flown_again else ()
    # flown on; the best at each end
    alone = courses_of(situation, departure, here, attempts, beside=beside)
    alone += waiting_courses(situation, departure, alone, attempts)
    courses = ranked(compared(alone, situation), situation)
    attempts.work.flown(len(courses))
    concerns = concerns_of(situation, courses)
    return Decided(
        situation=situation,
        departure=departure,
        here=here,
        courses=courses,
        concerns=concerns,
        decision=heed_carried(decide(alone, courses, situation, concerns), courses, situation),
    )


def _flown_again(
    decided: Decided, attempts: JudgedAttempts, *, figures: bool = True
) -> Recommendation:
    """What the verdict asks for: deadlines, the price of the step for good, what else there is.

    `figures`: with those that are told of each course only where its steps or findings are.
    """
    situation, courses, decision = decided.situation, decided.courses, decided.decision
    departure, here = decided.departure, decided.here
    answered = _answered(decided)
    misses = second_misses_of(courses, decision, situation, figures=figures)
    point = clean_point_of(courses, situation, departure.approach, misses)
    holding = holding_of(courses, situation, decision, attempts)
    with_hold = partial(_with_hold, situation, attempts)
    return Recommendation(
        situation=situation,
        departure=departure,
        here=here,
        courses=courses,
        concerns=decided.concerns,
        decision=decision,
        place=answered.place,
        ways_out=tuple(ways_out(courses, situation)),
        provision=provision_of(decision, situation),
        fuel_state=answered.fuel_state,
        emergency=emergency_of(decision, answered.fuel_state, situation),
        clean_point=point,
        holding=holding,
        leave_by=leave_by_of(decision, situation, departure, point, holding, attempts=attempts),
        steps_ahead=steps_ahead(situation, departure.approach),
        extensions=()
        if point.distance_to_go_nm is None
        else extensions(situation, departure.present, hold_min=assigned_hold_min(situation)),
        second_misses=left_after_each(misses, situation),
        second_runways=second_runways_of(
            None if here is None else here.best.attempt, decision.chosen, situation, attempts
        ),
        instead=second_best(decision, courses, situation),
        mended=mended(situation, here, answered, with_hold, attempts),
        minimum_fuel_to_start_kg=minimum_fuel_to_start_kg(courses, situation),
    )


def _answered(decided: Decided) -> Answered:
    """What an answer comes to, in short."""
    decision = decided.decision
    place = place_of(decision.do, decision.chosen, decided.situation)
    return Answered(
        verdict=decision.verdict,
        do=decision.do,
        place=place,
        fuel_state=fuel_state_of(decided.courses, decided.situation, place=place),
    )


def _with_hold(situation: Situation, attempts: JudgedAttempts, minutes: float) -> Answered:
    """The same case with another hold before the approach."""
    case = situation.case
    other = msgspec.structs.replace(case, plan=msgspec.structs.replace(case.plan, hold_min=minutes))
    return _answered(decide_varied(other, situation.what_if, like=situation, attempts=attempts))


def decide_varied(
    case: Case,
    what_if: WhatIf,
    *,
    like: Situation | None = None,
    attempts: JudgedAttempts | None = None,
) -> Decided:
    """What is decided of a varied case, without the words around it.

    `like`: the situation of the case that it varies, and `attempts` those that were judged in it.
    """
    kept = JudgedAttempts() if attempts is None else attempts
    if like is None:
        return _decided(situation_of(case, what_if=what_if), kept)
    return _varied(case, what_if, like, kept)[0]


def _varied(
    case: Case, what_if: WhatIf, like: Situation, attempts: JudgedAttempts
) -> tuple[Decided, JudgedAttempts]:
    """What is decided of a varied case, and the attempts judged for it.

    They are those of the case that it varies, unless nothing of that can be used again.
    """
    situation = varied_situation(like, case, what_if)
    if situation is None:
        situation = situation_of(case, rulebook=like.rulebook.id, what_if=what_if)
        attempts = JudgedAttempts(attempts.work)
    return _decided(situation, attempts), attempts
