"""The verdict: the table asked of every completion of what is not known.

Unknowns count only if the answer would change with how they turn out. Where it would not, the
answer stands; where only the action would, the action is one that is right however they turn.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from decision.course import CourseKind
from decision.decide.completions import Completion, Turning, causes_of, completions_of
from decision.decide.concerns import Concern
from decision.decide.decision import Basis, Decision, Do, Verdict
from decision.decide.facts import Choices, look_at, may_wait_here
from decision.decide.judge import JudgedCourse, compared, first_of
from decision.decide.measures import is_suitable, lands_straight, urgency_of
from decision.decide.rank import Keys, ranked
from decision.decide.table import Ruling, ruling_of
from decision.flight.situation import Situation
from decision.rules.engine_out import engine_out
from decision.rules.finding import UNKNOWN, Cause
from decision.rules.row import ROUTE, Topic
from decision.systems import Urgency, Weight

GO_VERDICTS: Final = frozenset({Verdict.GO, Verdict.GO_WITH_CAUTION})
LOWER_FIRST: Final = (Verdict.NO_GO, Verdict.INSUFFICIENT_DATA, Verdict.GO_WITH_CAUTION, Verdict.GO)
DO_OF_KIND: Final = MappingProxyType(
    {
        CourseKind.APPROACH_THEN_DIVERT: Do.APPROACH,
        CourseKind.HOLD_THEN_APPROACH: Do.HOLD,
        CourseKind.DIVERT_NOW: Do.DIVERT,
        CourseKind.COMMIT_TO_LAND: Do.COMMIT,
    }
)

Pick = Callable[[Choices], JudgedCourse | None]

_BY_DO: Final[Mapping[Do, Pick]] = MappingProxyType(
    {
        Do.APPROACH: lambda choices: choices.way_out or choices.commit,
        Do.COMMIT: lambda choices: choices.commit,
        Do.DIVERT: lambda choices: choices.divert,
        Do.HOLD: lambda choices: choices.wait or choices.commit,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlined:
    """What one completion comes to: the ruling, its action, and the course that it chooses."""

    completion: Completion
    ruling: Ruling
    do: Do
    course: str
    place: str

    @property
    def is_go(self) -> bool:
        """Whether the verdict is of the class of GO."""
        return self.ruling.verdict in GO_VERDICTS


def decide(
    judged: Sequence[JudgedCourse],
    courses: Sequence[JudgedCourse],
    situation: Situation,
    concerns: Sequence[Concern],
) -> Decision:
    """The verdict on courses: `judged` each on its own, `courses` compared and ranked."""
    weighty = any(concern.weight is not Weight.INFO for concern in concerns)
    if urgency_of(situation) is Urgency.AS_SOON_AS_POSSIBLE:
        return _as_they_are(courses, situation, weighty_concern=weighty)
    unknown = causes_of(judged)
    turned = _Turned(judged, situation)
    outlines = [
        _outlined(
            turned.courses(completion) if unknown else courses,
            completion,
            situation,
            weighty_concern=weighty,
        )
        for completion in completions_of(unknown)
    ]
    first = outlines[0]
    causes = _asks(outlines, unknown)
    if _is_way_here_unknown(courses):
        here = situation.case.destination.aerodrome.icao, ROUTE
        asks = tuple(dict.fromkeys((here, *causes)))
        return _missing(outlines, courses, situation, asks=asks)
    if any(each.is_go is not first.is_go for each in outlines):
        return _missing(outlines, courses, situation, asks=causes)
    told = min(outlines, key=_telling)
    if all((each.do, each.place) == (first.do, first.place) for each in outlines):
        asks = causes if len({each.ruling.basis for each in outlines}) > 1 else ()
        return _decision(told, _best_of(outlines, told, courses), asks=asks)
    return _settled(outlines, told, courses, situation, asks=causes)


def _is_way_here_unknown(courses: Sequence[JudgedCourse]) -> bool:
    """Without a distance to run there is no time of arrival that an approach is judged at."""
    here = first_of(courses, CourseKind.COMMIT_TO_LAND)
    return here is not None and not here.course.attempts and bool(here.course.unknown)


def _telling(outlined: Outlined) -> tuple[int, bool, bool]:
    """The lower verdict is told; of the same ones, that which has a legal course.

    Of what bars going, rather what is so if the unknown turns out well: what it is told by has been
    found. Of going, what is so if it turns out badly: what is not known is no way that remains.
    """
    dead_end = outlined.ruling.basis is Basis.NO_LEGAL_COURSE
    lower = LOWER_FIRST.index(outlined.ruling.verdict)
    return lower, dead_end, outlined.completion.good is outlined.is_go


def _best_of(
    outlines: Sequence[Outlined], told: Outlined, courses: Sequence[JudgedCourse]
) -> JudgedCourse:
    """The course of the answer; of those that completions choose, one that is legal as it is."""
    chosen = {each.course for each in outlines}
    known = (each for each in courses if each.course.label in chosen and each.legal is True)
    return next(known, None) or _by_label(courses, told.course)


def _as_they_are(
    courses: Sequence[JudgedCourse], situation: Situation, *, weighty_concern: bool
) -> Decision:
    """Row 1 is read once: what is not known has been weighed as a danger already."""
    facts, choices = look_at(courses, situation, weighty_concern=weighty_concern)
    ruling = ruling_of(facts)
    chosen = choices.first
    if ruling.do is Do.APPROACH and choices.way_out is not None:
        chosen = choices.way_out
    return Decision(
        verdict=ruling.verdict,
        do=ruling.do or do_of(chosen),
        basis=ruling.basis,
        row=ruling.row,
        chosen=chosen,
        asks=(),
    )


class _Turned:
    """The courses with what is not known turned one way or the other.

    A course is turned, compared and weighed once for all completions that turn it alike: those that
    differ in a cause that it does not have. Where an engine is out a rule weighs it against the
    others, which each completion turns anew.
    """

    def __init__(self, judged: Sequence[JudgedCourse], situation: Situation) -> None:
        self._judged = [(each, frozenset(causes_of((each,)))) for each in judged]
        self._turning = Turning()
        self._situation = situation
        self._among = any(engine_out(each.course, situation) for each in judged)
        self._made: dict[tuple[int, bool, Cause | None], JudgedCourse] = {}
        self._keys: Keys = {}

    def courses(self, completion: Completion) -> tuple[JudgedCourse, ...]:
        """Those of a completion, compared and ranked."""
        turned = [self._turned(*each, completion) for each in self._judged]
        if self._among:
            return ranked(compared(turned, self._situation), self._situation)
        return ranked(turned, self._situation, known=self._keys)

    def _turned(
        self, judged: JudgedCourse, causes: frozenset[Cause], completion: Completion
    ) -> JudgedCourse:
        apart = completion.apart if completion.apart in causes else None
        alike = id(judged), not causes or completion.good, apart
        if alike not in self._made:
            turned = self._turning.completed(judged, completion)
            self._made[alike] = turned if self._among else compared((turned,), self._situation)[0]
        return self._made[alike]


def _outlined(
    courses: Sequence[JudgedCourse],
    completion: Completion,
    situation: Situation,
    *,
    weighty_concern: bool,
) -> Outlined:
    facts, choices = look_at(courses, situation, weighty_concern=weighty_concern)
    ruling = ruling_of(facts)
    chosen = _chosen(ruling, choices)
    return Outlined(
        completion=completion,
        ruling=ruling,
        do=ruling.do or do_of(chosen),
        course=chosen.course.label,
        place=place_of(ruling.do or do_of(chosen), chosen, situation),
    )


def _chosen(ruling: Ruling, choices: Choices) -> JudgedCourse:
    if ruling.basis is Basis.NEAREST_SUITABLE and ruling.do is Do.DIVERT:
        return choices.nearer or choices.least_bad
    if ruling.do is None or ruling.basis is Basis.NO_LEGAL_COURSE:
        return choices.least_bad
    return _BY_DO[ruling.do](choices) or choices.least_bad


def place_of(do: Do, chosen: JudgedCourse, situation: Situation) -> str:
    """Where a deed leads: an approach and a hold are for the destination."""
    if do in (Do.APPROACH, Do.HOLD):
        return situation.case.destination.aerodrome.icao
    return chosen.course.icao


def do_of(judged: JudgedCourse) -> Do:
    """What flying a course is called; a second approach is a figure and never chosen."""
    return DO_OF_KIND.get(judged.course.kind, Do.COMMIT)


def _decision(
    outlined: Outlined, chosen: JudgedCourse, *, asks: tuple[Cause, ...], do: Do | None = None
) -> Decision:
    return Decision(
        verdict=outlined.ruling.verdict,
        do=outlined.do if do is None else do,
        basis=outlined.ruling.basis,
        row=outlined.ruling.row,
        chosen=chosen,
        asks=asks,
    )


def _settled(
    outlines: Sequence[Outlined],
    lowest: Outlined,
    courses: Sequence[JudgedCourse],
    situation: Situation,
    *,
    asks: tuple[Cause, ...],
) -> Decision:
    """The verdict is known, the action is not: one that is right however the unknowns turn."""
    known = _known(courses, go=lowest.is_go)
    if known is not None:
        same = [each for each in outlines if each.course == known.course.label]
        return _decision((same or [lowest])[0], known, asks=asks, do=do_of(known))
    holding = hold_for_data(courses, situation)
    if holding is not None:
        told = _by_label(courses, lowest.course)
        waits = told.course.kind is CourseKind.HOLD_THEN_APPROACH  # what a report names is told
        return _decision(lowest, told if waits else holding, asks=asks, do=Do.HOLD)
    safest = earliest_suitable(courses) or _by_label(courses, lowest.course)
    return _decision(lowest, safest, asks=asks, do=do_of(safest))


def _missing(
    outlines: Sequence[Outlined],
    courses: Sequence[JudgedCourse],
    situation: Situation,
    *,
    asks: tuple[Cause, ...],
) -> Decision:
    """Too little is known for a verdict: the safest course, and what to ask."""
    known = _known(courses, go=None)
    holding = None if known is not None else hold_for_data(courses, situation)
    bad = next(each for each in outlines if not each.is_go)
    chosen = known or holding or earliest_suitable(courses) or _by_label(courses, bad.course)
    return Decision(
        verdict=Verdict.INSUFFICIENT_DATA,
        do=Do.HOLD if chosen is holding else do_of(chosen),
        basis=Basis.MISSING,
        row=2,
        chosen=chosen,
        asks=asks,
    )


def _known(courses: Sequence[JudgedCourse], *, go: bool | None) -> JudgedCourse | None:
    """The best course that is legal in every completion, and that the verdict allows."""
    here = first_of(courses, CourseKind.COMMIT_TO_LAND)
    for judged in courses:
        if judged.legal is not True or judged.course.kind is CourseKind.SECOND_APPROACH:
            continue
        approaches = judged.course.kind is CourseKind.APPROACH_THEN_DIVERT
        if approaches and (go is False or here is None):
            continue
        if judged.course.kind is CourseKind.DIVERT_NOW and not lands_straight(judged.course):
            continue
        return judged
    return None


def hold_for_data(courses: Sequence[JudgedCourse], situation: Situation) -> JudgedCourse | None:
    """Landing here after a hold for what is missing; not with a leak, nor on unknown fuel."""
    here = first_of(courses, CourseKind.COMMIT_TO_LAND)
    if here is None or here.course.ledger is None or not may_wait_here(here, situation):
        return None
    unknown_fuel = any(
        each.outcome is UNKNOWN for each in here.found if each.by.topic is Topic.FUEL
    )
    return None if unknown_fuel else here


def earliest_suitable(courses: Sequence[JudgedCourse]) -> JudgedCourse | None:
    """The suitable landing without an approach before it that touches down first."""
    flown = [
        (each.course.arrive_at, each.course.label, each)
        for each in courses
        if lands_straight(each.course) and each.course.arrive_at is not None and is_suitable(each)
    ]
    return min(flown, key=lambda entry: entry[:2])[2] if flown else None


def _by_label(courses: Sequence[JudgedCourse], label: str) -> JudgedCourse:
    return next(each for each in courses if each.course.label == label)


def _asks(outlines: Sequence[Outlined], unknown: Sequence[Cause]) -> tuple[Cause, ...]:
    """Causes that alone turn the answer; all of them where none does alone."""
    base = {each.completion.good: each for each in outlines if each.completion.apart is None}
    turning = [
        each.completion.apart
        for each in outlines
        if each.completion.apart is not None and _differs(each, base[each.completion.good])
    ]
    return tuple(sorted(dict.fromkeys(turning))) or tuple(sorted(unknown))


def _differs(one: Outlined, other: Outlined) -> bool:
    return (one.is_go, one.do, one.place) != (other.is_go, other.do, other.place)
