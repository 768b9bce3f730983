"""Every course there is: now, from the last clean point, after a miss, and staying.

Each is first flown, in the configuration that the aircraft will really have there; which one that
is, the configurations of the situation know, so no course treats the irreversible step as a special
case. Then the attempts at all ends are drawn and judged together, the best at each place is chosen,
and the course is judged with it. One flight to the missed approach point is shared by all courses
that begin with the approach.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from msgspec import Struct
from msgspec.structs import replace

from decision.attempt.arrival import Arrival, window_of_alternate, window_of_approach
from decision.attempt.attempt import Attempt, Role
from decision.course import Course, CourseKind
from decision.decide.attempts import Candidates, JudgedAttempt, JudgedAttempts
from decision.decide.judge import JudgedCourse, judge
from decision.flight.approach import ApproachFlight, Departure, assigned_hold_min
from decision.flight.ledger import Ledger
from decision.flight.miss import go_around, missed_track_nm, second_approach
from decision.flight.situation import Situation
from decision.flight.stretches import Flight
from decision.flight.tracks import from_present_nm, onward_by
from decision.flight.ways import (
    Ending,
    Landed,
    Origin,
    Parting,
    Way,
    distance_unknown,
    divert,
    land,
    leave_each,
)
from decision.performance import CannotFly, Leaving, NotKnown


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """The approach at the destination: its flight, and the attempt that is best there."""

    flight: ApproachFlight
    best: JudgedAttempt


def best_here(
    situation: Situation, flight: ApproachFlight | None, attempts: JudgedAttempts
) -> Here | None:
    """The best procedure at the minimum of an approach; None: distance not known."""
    if flight is None:
        return None
    minimum = flight.minimum.state
    candidates = attempts.at(
        situation,
        Arrival(
            leg=situation.case.destination,
            role=Role.MISSED,
            at=minimum.at,
            window=window_of_approach(minimum.at),
            mass_kg=minimum.mass_kg,
            approach_id=situation.case.plan.approach,
            runway_ident=situation.case.plan.runway,
        ),
    )
    return Here(flight=flight, best=candidates.best())


class CourseDraft(Struct, frozen=True, kw_only=True, gc=False):
    """A course that has been flown, before the attempt at its end is drawn.

    `missed`: the attempt before it. `stays`: it ends where that was, by the same procedure. `again`
    and `rests_on` are those of the course.
    """

    kind: CourseKind
    ending: Ending
    missed: JudgedAttempt | None = None
    role: Role = Role.ALTERNATE
    stays: JudgedAttempt | None = None
    again: Ledger | None = None
    rests_on: str = ""


def courses_of(
    situation: Situation,
    departure: Departure,
    here: Here | None,
    attempts: JudgedAttempts,
    *,
    beside: Sequence[Leaving] = (),
) -> tuple[JudgedCourse, ...]:
    """Every course of a case that does not wait for better weather.

    `beside`: from where else flights after a miss will be asked for, to be searched with these.
    """
    return composed(situation, list(_flown(situation, departure, here, beside)), attempts)


def _flown(
    situation: Situation, departure: Departure, here: Here | None, beside: Sequence[Leaving]
) -> Iterator[CourseDraft]:
    """All of them as flown."""
    now = _now(situation, departure.present)
    if here is None:
        yield from _diversions(leave_each(situation, (now,))[0])
        yield _landing_of_unknown_way(situation, departure.present)
        return
    hold_min = assigned_hold_min(situation)
    partings = [now]
    if not here.flight.passed:
        partings.append(_at_clean_point(situation, here.flight, hold_min=hold_min))
    at_once, *later = leave_each(situation, partings)
    yield from _diversions(at_once)
    yield from after_miss(
        situation, here, CourseKind.APPROACH_THEN_DIVERT, hold_min=hold_min, beside=beside
    )
    for endings in later:
        yield from _diversions(endings)
    again = staying_again(situation, here, CourseKind.SECOND_APPROACH, hold_min=hold_min)
    yield again
    yield _commit(situation, here, again, hold_min=hold_min)


def _diversions(endings: Iterable[Ending]) -> Iterator[CourseDraft]:
    """Those that leave without an approach."""
    return (CourseDraft(kind=CourseKind.DIVERT_NOW, ending=ending) for ending in endings)


def leaving(
    situation: Situation, endings: Iterable[Ending], attempts: JudgedAttempts
) -> tuple[JudgedCourse, ...]:
    """The courses of ways that leave without an approach."""
    return composed(situation, list(_diversions(endings)), attempts)


def _now(situation: Situation, present: Flight) -> Parting:
    case = situation.case
    onward = [(leg, from_present_nm(case, leg)) for leg in case.alternates]
    return Parting(flight=present, onward=onward, origin=Origin.PRESENT)


def _at_clean_point(situation: Situation, flight: ApproachFlight, *, hold_min: float) -> Parting:
    """The last point before the gear goes down, still clean."""
    return Parting(
        flight=flight.last_clean,
        onward=onward_by(situation.case, flight.extension_nm),
        origin=Origin.LAST_CLEAN_POINT,
        hold_min=hold_min,
    )


def _way_by_minimum(situation: Situation, here: Here, flight: Flight, *, hold_min: float) -> Way:
    """A way that has been at the minimum, and counts its fuel from there."""
    minimum = here.flight.minimum.state
    return Way(
        origin=Origin.MISSED_APPROACH,
        flight=flight,
        configuration=situation.configurations.after_miss,
        at_missed_approach_kg=minimum.usable_kg,
        missed_at=minimum.at,
        hold_min=hold_min,
    )


def after_miss(
    situation: Situation,
    here: Here,
    kind: CourseKind,
    *,
    hold_min: float,
    rests_on: str = "",
    beside: Sequence[Leaving] = (),
) -> Iterator[CourseDraft]:
    """After one go-around, to each alternate."""
    missed = here.best.attempt
    away = go_around(situation, here.flight.minimum, missed.leg, missed.approach)
    way = _way_by_minimum(situation, here, away, hold_min=hold_min)
    onward = onward_by(situation.case, missed_track_nm(missed.approach))
    for ending in divert(situation, way, onward, beside=beside):
        yield CourseDraft(kind=kind, ending=ending, missed=here.best, rests_on=rests_on)


def staying_again(
    situation: Situation, here: Here, kind: CourseKind, *, hold_min: float, rests_on: str = ""
) -> CourseDraft:
    """Miss, reposition, and land at the destination from the next approach."""
    missed = here.best.attempt
    landed = second_approach(situation, here.flight.minimum, missed.leg, missed.approach)
    way = _way_by_minimum(situation, here, landed, hold_min=hold_min)
    return CourseDraft(
        kind=kind,
        ending=land(situation, missed.leg, way),
        missed=here.best,
        role=Role.MISSED,
        stays=here.best,
        rests_on=rests_on,
    )


def _commit(
    situation: Situation, here: Here, again: CourseDraft, *, hold_min: float
) -> CourseDraft:
    """Land from this approach, with nowhere else to go but to a second approach here."""
    way = _way_by_minimum(situation, here, here.flight.minimum, hold_min=hold_min)
    second = again.ending.outcome
    return CourseDraft(
        kind=CourseKind.COMMIT_TO_LAND,
        ending=land(situation, here.best.attempt.leg, way),
        role=Role.COMMITTED,
        stays=here.best,
        again=second.ledger if isinstance(second, Landed) else None,
    )


def _landing_of_unknown_way(situation: Situation, present: Flight) -> CourseDraft:
    """A landing at the destination of which the distance to run is not known."""
    leg = situation.case.destination
    way = Way(
        origin=Origin.PRESENT,
        flight=present,
        configuration=situation.configurations.clean,
        hold_min=assigned_hold_min(situation),
    )
    ending = Ending(way=way, leg=leg, outcome=distance_unknown(leg))
    return CourseDraft(kind=CourseKind.COMMIT_TO_LAND, ending=ending)


def composed(
    situation: Situation, drafts: Sequence[CourseDraft], attempts: JudgedAttempts
) -> tuple[JudgedCourse, ...]:
    """The courses, each with the best attempt at its end, and what the rules find of it."""
    arrivals = [_arrival(situation, draft) for draft in drafts]
    found = iter(attempts.at_each(situation, [each for each in arrivals if each is not None]))
    return tuple(
        _judged(situation, draft, None if arrival is None else next(found))
        for draft, arrival in zip(drafts, arrivals, strict=True)
    )


def _arrival(situation: Situation, draft: CourseDraft) -> Arrival | None:
    """The approach at the end of a course; None where it does not get there."""
    ending, outcome = draft.ending, draft.ending.outcome
    if not isinstance(outcome, Landed):
        return None
    state, onward, stays = outcome.flight.state, outcome.onward, draft.stays
    approach = None if stays is None else stays.attempt.approach
    return Arrival(
        leg=ending.leg,
        role=draft.role,
        at=state.at,
        window=window_of_approach(state.at)
        if onward is None
        else window_of_alternate(situation, state.at, onward.spread),
        mass_kg=state.mass_kg,
        approach_id=None if approach is None else approach.id,
    )


def _judged(
    situation: Situation, draft: CourseDraft, candidates: Candidates | None
) -> JudgedCourse:
    """One course; where it stays, all that its procedure comes to."""
    last: Iterable[JudgedAttempt] = ()
    if candidates is not None:
        last = (candidates.best(),) if draft.stays is None else candidates
    attempts = (*(() if draft.missed is None else (draft.missed,)), *last)
    course = _course(situation, draft, tuple(each.attempt for each in attempts))
    return judge(course, attempts, situation)


def _course(situation: Situation, draft: CourseDraft, attempts: tuple[Attempt, ...]) -> Course:
    """A course as flown; one that does not get there has no time of arrival and no fuel."""
    ending, way, outcome = draft.ending, draft.ending.way, draft.ending.outcome
    course = Course(
        kind=draft.kind,
        origin=way.origin,
        leg=ending.leg,
        hold_min=way.hold_min,
        attempts=attempts,
        steps=way.flight.steps,
        configuration=way.configuration,
        ledger=None,
        start_at=situation.case.as_of,
        missed_at=way.missed_at,
        arrive_at=None,
        cruise_level_ft=None,
        cruise_cas_kt=None,
        limited_by=None,
        unknown=(),
        holding_flow_kg_per_h=0.0,
        again=draft.again,
        rests_on=draft.rests_on,
    )
    if isinstance(outcome, CannotFly):
        return replace(course, limited_by=outcome.limited_by)
    if isinstance(outcome, NotKnown):
        return replace(course, unknown=(outcome.what,))
    course = replace(
        course,
        steps=outcome.flight.steps,
        ledger=outcome.ledger,
        arrive_at=outcome.flight.state.at,
        unknown=outcome.unknown,
        holding_flow_kg_per_h=outcome.holding_flow_kg_per_h,
    )
    onward = outcome.onward
    if onward is None:
        return course
    return replace(
        course,
        cruise_level_ft=onward.flown.pressure_altitude_ft,
        cruise_cas_kt=onward.flown.cas_kt,
        diversion=onward.diversion,
        ordinary=onward.flown.ordinary,
        net_level_ft=outcome.net_level_ft,
    )
