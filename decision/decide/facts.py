"""What the truth table asks of the judged courses: yes or no, with nothing left unknown.

A completion has turned every UNKNOWN one way before these are read, so that each fact is a plain
truth about its courses; which course goes with which row stands in `Choices`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from decision.attempt.attempt import Attempt
from decision.attempt.site import weather_over
from decision.course import CourseKind
from decision.decide.judge import JudgedCourse, findings_here, first_of
from decision.decide.measures import (
    by_touchdown,
    is_suitable,
    leaks,
    leaves_now,
    margin_p95_kg,
    minutes_to_touchdown,
    policy_margin_kg,
    urgency_of,
)
from decision.decide.rank import least_bad
from decision.decide.wait import bar_to_holding
from decision.flight.situation import Situation
from decision.performance import normal_cruise_flow_kg_per_h
from decision.profile.operator_tables import OutOfTable
from decision.rules.against_minima import miss_likely
from decision.rules.approach import may_be_barred
from decision.rules.climb import gradient_short, gradient_within_error
from decision.rules.finding import FAIL, PASS, Judgement
from decision.rules.hazard import gravest_hazard
from decision.rules.landing import landing_within_error
from decision.rules.no_alternate import came_without, provision
from decision.rules.registry import Context
from decision.rules.row import Breach, Means, Mend
from decision.systems import Urgency
from decision.units import MIN_PER_H
from decision.weather.readings import HazardWeight, NotAtHand
from decision.windows import Window, around

ROBUST_ESCAPES: Final = 2  # fewer than two aerodromes after a miss is one way out
POOR_MIN: Final = 10.0  # a diversion that lands this near to its final reserve is a poor one


class Fitness(StrEnum):
    """What the destination is good for when the aircraft gets there."""

    USABLE = "usable"
    BARRED = "barred"  # by reported visibility or, further ahead, by the forecast
    UNFIT_FOR_NOW = "unfit_for_now"  # by wind or hazard, which may pass
    UNFIT = "unfit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """One combination of what the table looks at.

    `ways_out` counts aerodromes. `first_is_here`: of an urgent landing. `nearer`: a suitable place
    is earlier by more than the trade. `stay_near`: none is, and here the landing is good. `poor`:
    the legal diversion lands near its reserve, or is advised against. `only_stopping`: there are
    other places, and each of them fails by its runway alone.
    """

    urgency: Urgency
    first_is_here: bool
    fitness: Fitness
    ways_out: int
    capped: bool
    needs_no_alternate: bool
    nearer: bool
    stay_near: bool
    far_above: bool
    commit_permitted: bool
    divert_legal: bool
    poor: bool
    prefer_commit: bool | None
    only_stopping: bool
    wait_legal: bool
    weather_alone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """The course that each row would choose; None where its facts have none."""

    first: JudgedCourse
    way_out: JudgedCourse | None
    nearer: JudgedCourse | None
    divert: JudgedCourse | None
    commit: JudgedCourse | None
    wait: JudgedCourse | None
    least_bad: JudgedCourse


def look_at(
    courses: Sequence[JudgedCourse], situation: Situation, *, weighty_concern: bool
) -> tuple[Facts, Choices]:
    """Facts and choices of ranked courses in which nothing is unknown any more."""
    commit = first_of(courses, CourseKind.COMMIT_TO_LAND)
    ways = ways_out(courses, situation)
    diverts = [each for each in leaving_now(courses) if each.legal is True]
    nearer = _nearer(courses, commit, situation)
    wait = _wait(courses, situation, diverts)
    urgent = by_touchdown(courses, situation)
    here = here_of(commit)
    fitness = fitness_of(commit)
    far_above = fitness is Fitness.USABLE and is_far_above(commit, situation)
    lowest = least_bad(courses, situation)
    if lowest is None:
        raise ValueError("a case has at least one course")
    facts = Facts(
        urgency=urgency_of(situation),
        first_is_here=(urgent[0].judged if urgent else lowest) is commit,
        fitness=fitness,
        ways_out=min(len({each.course.icao for each in ways}), ROBUST_ESCAPES),
        capped=weighty_concern or _is_capped(here, ways, situation),
        needs_no_alternate=no_alternate(commit, situation) is not None,
        nearer=nearer is not None,
        stay_near=_stays_near(courses, commit, situation, far_above=far_above),
        far_above=far_above,
        commit_permitted=commit is not None and commit.legal is True,
        divert_legal=bool(diverts),
        poor=bool(diverts) and _is_poor(diverts[0]),
        prefer_commit=situation.case.policy.prefer_commit,
        only_stopping=_only_stopping(courses),
        wait_legal=wait is not None,
        weather_alone=_weather_alone(lowest, situation),
    )
    choices = Choices(
        first=urgent[0].judged if urgent else lowest,
        way_out=ways[0] if ways else None,
        nearer=nearer,
        divert=diverts[0] if diverts else None,
        commit=commit,
        wait=wait,
        least_bad=lowest,
    )
    return facts, choices


def leaving_now(courses: Iterable[JudgedCourse]) -> list[JudgedCourse]:
    """The diversions from the present position, best first."""
    return [each for each in courses if leaves_now(each.course)]


def here_of(commit: JudgedCourse | None) -> Attempt | None:
    """The best attempt at the destination."""
    return commit.course.attempts[0] if commit is not None and commit.course.attempts else None


def fitness_of(commit: JudgedCourse | None) -> Fitness:
    """Whether the destination can be used; where no flight there is known, it is unfit."""
    found = findings_here(commit)
    failed = [each for each in found if each.outcome is FAIL and each.binds]
    unfit = [each.by.mend for each in failed if each.by.mend is not Mend.REPORT]
    if not found or not all(mend.by_waiting for mend in unfit):
        return Fitness.UNFIT
    if unfit:
        return Fitness.UNFIT_FOR_NOW
    return Fitness.BARRED if failed else Fitness.USABLE


def ways_out(courses: Iterable[JudgedCourse], situation: Situation) -> list[JudgedCourse]:
    """Legal diversions after a miss, less those to hazardous weather and those without a climb."""
    return [
        each
        for each in courses
        if each.course.kind is CourseKind.APPROACH_THEN_DIVERT
        and each.legal is True
        and not _is_no_way_out(each, situation)
    ]


def _is_no_way_out(judged: JudgedCourse, situation: Situation) -> bool:
    missed, there = judged.course.attempts[0], judged.course.attempts[-1]
    return is_hazardous(there, situation) or gradient_short(missed, situation)


def no_alternate(commit: JudgedCourse | None, situation: Situation) -> Judgement | None:
    """The provision by which a sound aircraft comes without an alternate; None: it has none."""
    here = here_of(commit)
    if commit is None or here is None or not came_without(situation):
        return None
    half_min = situation.rulebook.number("no_alternate_window_min")
    window = around(here.at, before_min=half_min, after_min=half_min)
    ahead = Window(max(window.start_at, situation.case.as_of), window.end_at)
    judged = provision(
        here,
        weather_over(situation, here.leg, ahead),
        commit.course.ledger,
        situation,
        flow_kg_per_h=_cruise_flow_kg_per_h(here, situation),
    )
    return judged if judged.outcome is PASS else None


def _cruise_flow_kg_per_h(here: Attempt, situation: Situation) -> float | None:
    try:
        return normal_cruise_flow_kg_per_h(situation.case.aircraft.profile, mass_kg=here.mass_kg)
    except OutOfTable:
        return None


def is_hazardous(attempt: Attempt, context: Context) -> bool:
    """Whether hazardous weather bars a landing there, or advises against it."""
    gravest = gravest_hazard(attempt, context)
    return gravest is not None and gravest.weight is not HazardWeight.CAUTION


def is_far_above(commit: JudgedCourse | None, situation: Situation) -> bool:
    """Weather well above the minima, and nothing that a report or a forecast says against it."""
    here = here_of(commit)
    if commit is None or here is None:
        return False
    met = all(each.outcome is PASS for each in commit.found if each.by.far_above)
    weighty = is_hazardous(here, situation)
    return met and not weighty and not may_be_barred(here, situation)


def _is_capped(here: Attempt | None, ways: Sequence[JudgedCourse], situation: Situation) -> bool:
    """Whether anything forbids a plain GO."""
    if here is None:
        return True
    robust = {each.course.icao for each in ways if has_policy_margin(each, situation)}
    checks = (
        len(robust) < ROBUST_ESCAPES,
        gravest_hazard(here, situation) is not None,
        bool(may_be_barred(here, situation)),
        miss_likely(here, situation) is not False,
        gradient_within_error(here, situation),
        landing_within_error(here, situation),
        any(each.advised_against for each in ways),
        any(_has_no_forecast(each.course.attempts) for each in ways),
    )
    return any(checks)


def _has_no_forecast(attempts: Iterable[Attempt]) -> bool:
    return any(NotAtHand.NO_FORECAST in each.weather.not_at_hand for each in attempts)


def has_policy_margin(judged: JudgedCourse, situation: Situation) -> bool:
    """Whether the margin at the policy's percentile is what the policy wants."""
    margin_kg = margin_p95_kg(judged.course, situation)
    return margin_kg is not None and margin_kg >= policy_margin_kg(judged.course, situation)


def _touchdown_min(judged: JudgedCourse | None) -> float | None:
    return None if judged is None else minutes_to_touchdown(judged.course)


def _nearer(
    courses: Sequence[JudgedCourse], commit: JudgedCourse | None, situation: Situation
) -> JudgedCourse | None:
    """The earliest suitable place that beats the destination by more than the trade."""
    here_min = _touchdown_min(commit)
    trade_min = situation.case.policy.nearest_trade_min
    earlier = [
        (minutes, judged)
        for judged in leaving_now(courses)
        if is_suitable(judged)
        and all(each.breach is Breach.LANDING_MASS for each in judged.breaches)
        and (minutes := _touchdown_min(judged)) is not None
        and (here_min is None or minutes < here_min - trade_min)
    ]
    return min(earlier, key=lambda pair: (pair[0], pair[1].course.label), default=(0.0, None))[1]


def _stays_near(
    courses: Sequence[JudgedCourse],
    commit: JudgedCourse | None,
    situation: Situation,
    *,
    far_above: bool,
) -> bool:
    """Nearest suitable: whether to stay, for want of another place or since it is much later."""
    here, here_min = here_of(commit), _touchdown_min(commit)
    if here is None or here_min is None or miss_likely(here, situation) is not False:
        return False
    others = [
        minutes
        for judged in leaving_now(courses)
        if is_suitable(judged) and (minutes := _touchdown_min(judged)) is not None
    ]
    if not others:
        return True
    policy, later_min = situation.case.policy, min(others) - here_min
    much_later = later_min > policy.nearest_far_min
    return much_later or (far_above and later_min > policy.nearest_trade_min)


def _is_poor(judged: JudgedCourse) -> bool:
    """Whether a legal diversion lands within minutes of its reserve, or is advised against."""
    ledger, flow = judged.course.ledger, judged.course.holding_flow_kg_per_h
    if judged.advised_against or ledger is None:
        return True
    return ledger.margin_kg < flow * POOR_MIN / MIN_PER_H


def _only_stopping(courses: Sequence[JudgedCourse]) -> bool:
    """Whether there is another place, and each fails because the aircraft does not stop there."""
    onward = leaving_now(courses)
    return bool(onward) and all(
        each.breaches and all(finding.by.stops for finding in each.breaches) for each in onward
    )


def _wait(
    courses: Sequence[JudgedCourse], situation: Situation, diverts: Sequence[JudgedCourse]
) -> JudgedCourse | None:
    """The best legal wait; none where another legal course lands earlier and time presses."""
    urgency = urgency_of(situation)
    if urgency is Urgency.AS_SOON_AS_POSSIBLE or situation.capability.leak_rate_unknown:
        return None
    waits = [
        each
        for each in courses
        if each.course.kind is CourseKind.HOLD_THEN_APPROACH and each.legal is True
    ]
    if urgency is Urgency.NONE:
        return waits[0] if waits else None
    others = [each.course.arrive_at for each in diverts if each.course.arrive_at is not None]
    first_at = min(others, default=None)
    in_time = (
        each for each in waits if first_at is None or (each.course.missed_at or first_at) < first_at
    )
    return next(in_time, None)


def _weather_alone(lowest: JudgedCourse, situation: Situation) -> bool:
    """Whether weather is all that endangers a landing here, and there is fuel to wait for better.

    Fuel for the approach, a miss, a second approach and the final reserve has to last.
    """
    if lowest.course.kind is not CourseKind.COMMIT_TO_LAND:
        return False
    dangers = [each.breach.means for each in lowest.breaches if each.breach.endangers]
    passes = bool(dangers) and all(Means.WEATHER in means for means in dangers)
    return passes and may_wait_here(lowest, situation)


def may_wait_here(here: JudgedCourse, situation: Situation) -> bool:
    """Whether nothing presses, fuel outlasts a second approach, and nothing bars a hold."""
    if urgency_of(situation) is not Urgency.NONE or leaks(situation):
        return False
    again = here.course.again
    if again is None or again.margin_kg <= 0.0 or here.course.unknown:
        return False
    return bar_to_holding(situation, situation.case.policy.delay_min) is None
