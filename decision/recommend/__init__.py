"""The one verb: from a case to a recommendation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import msgspec

from decision import answer as answers
from decision.case import Case
from decision.decide.afterwards import clean_point_of, second_misses_of, second_runways_of
from decision.decide.attempts import JudgedAttempt, JudgedAttempts
from decision.decide.compose import Here, best_here, courses_of
from decision.decide.deadline import leave_by_of
from decision.decide.decision import CleanPoint, Decided, Decision, Do, Holding, LeaveBy, Verdict
from decision.decide.facts import ways_out
from decision.decide.fuel_state import emergency_of, fuel_state_of
from decision.decide.holding import holding_of, step_ahead
from decision.decide.judge import JudgedCourse, compared
from decision.decide.rank import ranked
from decision.decide.verdict import decide, place_of
from decision.decide.wait import waiting_courses
from decision.errors import InvalidCase
from decision.flight.approach import Departure, assigned_hold_min, departure_of
from decision.flight.irreversible import Extension, extensions
from decision.flight.second_miss import AfterMissThere
from decision.flight.situation import Situation, situation_of, varied_situation
from decision.flight.tried import WhatIf
from decision.recommend.ahead import steps_ahead
from decision.recommend.answer import Recommendation
from decision.recommend.asks import asks_of
from decision.recommend.assumptions import assumptions_of
from decision.recommend.cautions import cautions_of
from decision.recommend.headline import Story, headline_of, reasons_of
from decision.recommend.instead import instead_of
from decision.recommend.other_runways import other_runway
from decision.recommend.outlook import next_look, valid_until
from decision.recommend.remedies import remedy
from decision.recommend.second_misses import with_second_misses
from decision.recommend.tell import Talk, messages_of, phrase_of
from decision.recommend.unknowns import unknowns_of
from decision.rulebooks.rulebook import rulebook_ids
from decision.rules import adoption_faults
from decision.rules.policy import policy_faults, scheme_faults
from decision.systems import SystemCaution
from decision.what_if.flip import flip_points
from decision.what_if.remedies import Answered, Mended, mended, minimum_fuel_to_start_kg

__all__ = [
    "Recommendation",
    "Verdict",
    "decide_varied",
    "recommend",
    "recommend_answer",
    "recommend_mapping",
]


def recommend(case: Case, *, rulebook: str | None = None) -> Recommendation:
    """Judge every course of the case. Raises InvalidCase when the policy is looser than allowed."""
    return _recommended(_asked(case, rulebook), JudgedAttempts())


def recommend_mapping(case: Case) -> dict[str, Any]:
    """The answer as plain data, with what the case asked to include."""
    return answers.plain(recommend_answer(case))


def recommend_answer(case: Case, *, whole: bool = False) -> answers.Answer:
    """The answer with what the case asked to include, or with all that was computed for it."""
    attempts = JudgedAttempts()
    answer = _recommended(_asked(case, None), attempts)
    flips = None
    if "flip_points" in case.include:
        varied = partial(decide_varied, like=answer.situation, attempts=attempts)
        flips = flip_points(answer, varied)
    others = None
    if case.compare_rulebooks:
        others = tuple(recommend(case, rulebook=book) for book in rulebook_ids())
    include = frozenset(case.include) | (answers.EVERYTHING if whole else frozenset())
    return answers.tell(answer, flip_points=flips, compared=others, include=include)


def _recommended(situation: Situation, attempts: JudgedAttempts) -> Recommendation:
    """The road: decide, fly again what that asks for, tell."""
    judged = _judged(situation, attempts)
    return _tell(judged, _fly_again(judged, attempts))


def _asked(case: Case, rulebook: str | None) -> Situation:
    """What follows from the case, if the policy may be what it is. Raises InvalidCase."""
    situation = situation_of(case, rulebook=rulebook)
    faults = policy_faults(case.policy, situation.rulebook) + adoption_faults(case.policy)
    if rulebook is None:  # compared with others, a choice that they do not know is theirs to make
        faults += scheme_faults(case.policy, situation.rulebook)
    if faults:
        raise InvalidCase(faults)
    return situation


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
    situation = None if like is None else varied_situation(like, case, what_if)
    if situation is None:  # nothing of the other case can be used again
        book = None if like is None else like.rulebook.id
        situation, attempts = situation_of(case, rulebook=book, what_if=what_if), None
    judged = _judged(situation, JudgedAttempts() if attempts is None else attempts)
    return Decided(situation=situation, courses=judged.courses, decision=judged.decision)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    """How it begins, the courses, best first, and what is decided of them."""

    situation: Situation
    departure: Departure
    here: Here | None
    courses: tuple[JudgedCourse, ...]
    cautions: tuple[SystemCaution, ...]
    decision: Decision


@dataclass(frozen=True, slots=True, kw_only=True)
class _More:
    """What was flown, drawn and judged once more for what is decided."""

    clean_point: CleanPoint
    holding: Holding
    leave_by: LeaveBy | None
    extensions: tuple[Extension, ...]
    second_misses: Mapping[str, AfterMissThere]
    second_runways: tuple[JudgedAttempt, ...]
    mended: tuple[Mended, ...]


def _judged(situation: Situation, attempts: JudgedAttempts) -> _Judged:
    """Fly to the minimum, choose there, fly on, choose at each end, wait, rank, decide."""
    departure = departure_of(situation)
    here = best_here(situation, departure.approach, attempts)
    alone = courses_of(situation, departure, here, attempts)
    alone += waiting_courses(situation, departure, alone, attempts)
    courses = ranked(compared(alone, situation), situation)
    cautions = cautions_of(situation, courses)
    return _Judged(
        situation=situation,
        departure=departure,
        here=here,
        courses=courses,
        cautions=cautions,
        decision=decide(alone, courses, situation, cautions),
    )


def _fly_again(judged: _Judged, attempts: JudgedAttempts) -> _More:
    """What the verdict asks for: deadlines, the price of the step for good, remedies."""
    situation, courses, decision = judged.situation, judged.courses, judged.decision
    departure, here = judged.departure, judged.here
    point = clean_point_of(courses, situation, departure.approach)
    holding = holding_of(courses, situation, decision, attempts)
    return _More(
        clean_point=point,
        holding=holding,
        leave_by=leave_by_of(decision, situation, departure, point, holding, attempts=attempts),
        extensions=_extensions(situation, departure, point),
        second_misses=second_misses_of(courses, decision, situation),
        second_runways=second_runways_of(
            None if here is None else here.best.attempt, decision.chosen, situation, attempts
        ),
        mended=mended(
            situation,
            here,
            _answered(courses, decision, situation),
            partial(_with_hold, situation, attempts),
            attempts,
        ),
    )


def _tell(judged: _Judged, more: _More) -> Recommendation:
    """The whole answer; nothing is flown or judged any more."""
    situation, courses, decision = judged.situation, judged.courses, judged.decision
    leave_by = more.leave_by
    reasons = reasons_of(decision, courses)
    by_at = None if leave_by is None else leave_by.at
    asks = asks_of(decision, courses, situation, by_at=by_at)
    place = place_of(decision.do, decision.chosen, situation)
    state = fuel_state_of(courses, situation, place=place)
    emergency = emergency_of(decision, state, situation)
    talk = Talk(situation=situation, decision=decision, emergency=emergency, state=state, asks=asks)
    return Recommendation(
        situation=situation,
        decision=decision,
        headline=headline_of(
            Story(
                decision=decision,
                courses=courses,
                situation=situation,
                reasons=reasons,
                leave_by=leave_by,
                asks=asks,
            )
        ),
        courses=courses,
        reasons=reasons,
        cautions=with_second_misses(judged.cautions, more.second_misses),
        unknowns=unknowns_of(courses, situation),
        assumptions=assumptions_of(courses, situation),
        fuel_state=state,
        emergency=emergency,
        phrase=phrase_of(talk),
        messages=messages_of(talk),
        clean_point=more.clean_point,
        steps_ahead=steps_ahead(situation, judged.departure.approach),
        extensions=more.extensions,
        remedies=tuple(remedy(each, situation) for each in more.mended),
        second_misses=more.second_misses,
        holding=more.holding,
        leave_by=leave_by,
        asks=asks,
        instead=instead_of(decision, courses, situation),
        ways_out=len({each.course.icao for each in ways_out(courses, situation)}),
        other_runways=tuple(map(other_runway, more.second_runways)),
        until_then=_until_then(decision, situation),
        minimum_fuel_to_start_kg=minimum_fuel_to_start_kg(courses, situation),
        next_look=next_look(situation, decision, more.holding),
        valid_until=valid_until(situation, courses, more.holding, leave_by),
    )


def _answered(
    courses: Sequence[JudgedCourse], decision: Decision, situation: Situation
) -> Answered:
    place = place_of(decision.do, decision.chosen, situation)
    return Answered(
        verdict=decision.verdict,
        do=decision.do,
        place=place,
        fuel_state=fuel_state_of(courses, situation, place=place),
    )


def _with_hold(situation: Situation, attempts: JudgedAttempts, minutes: float) -> Answered:
    """The same case with another hold before the approach."""
    case = situation.case
    other = msgspec.structs.replace(case, plan=msgspec.structs.replace(case.plan, hold_min=minutes))
    seen = decide_varied(other, situation.what_if, like=situation, attempts=attempts)
    return _answered(seen.courses, seen.decision, seen.situation)


def _until_then(decision: Decision, situation: Situation) -> tuple[str, ...]:
    """What must not be done before leaving: every step that cannot be undone."""
    if decision.do not in (Do.DIVERT, Do.HOLD) or not step_ahead(situation):
        return ()
    return tuple(f"do not {each.step}" for each in situation.capability.irreversible)


def _extensions(
    situation: Situation, departure: Departure, point: CleanPoint
) -> tuple[Extension, ...]:
    """What it costs to put the gear out early, told where it then stays out."""
    if point.distance_to_go_nm is None:
        return ()
    return extensions(situation, departure.present, hold_min=assigned_hold_min(situation))
