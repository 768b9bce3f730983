"""The truth table: each row one small function, asked in order; the first that speaks decides."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from decision.course import CourseKind
from decision.courses.judge import JudgedCourse
from decision.courses.situation import Situation
from decision.recommend.answer import Basis, Decision, Do, Verdict
from decision.recommend.facts import Facts, facts_of
from decision.systems import SystemCaution, Weight

GO_VERDICTS: Final = frozenset({Verdict.GO, Verdict.GO_WITH_CAUTION})
DO_OF_KIND: Final = {
    CourseKind.APPROACH_THEN_DIVERT: Do.APPROACH,
    CourseKind.HOLD_THEN_APPROACH: Do.HOLD,
    CourseKind.DIVERT_NOW: Do.DIVERT,
    CourseKind.COMMIT_TO_LAND: Do.COMMIT,
    CourseKind.SECOND_APPROACH: Do.APPROACH,
}
ROBUST_ESCAPES: Final = 2  # fewer than two aerodromes after a miss is one way out


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a row looks at; `courses` are ranked, the best first."""

    facts: Facts
    courses: tuple[JudgedCourse, ...]
    prefer_commit: bool
    weighty_caution: bool


Row = Callable[[Question], Decision | None]


def decide(
    courses: Sequence[JudgedCourse],
    situation: Situation,
    cautions: Sequence[SystemCaution],
) -> Decision:
    """The verdict. Unknowns count only if the answer would change with how they turn out."""
    weighty = any(caution.weight is not Weight.INFO for caution in cautions)
    bad, good = (
        by_table(
            Question(
                facts=facts_of(courses, situation, unknown=unknown),
                courses=tuple(courses),
                prefer_commit=situation.case.policy.prefer_commit is True,
                weighty_caution=weighty,
            )
        )
        for unknown in (False, True)
    )
    if _alike(bad, good):
        return bad
    best = _best_known(courses, usable=facts_of(courses, situation, unknown=False).usable)
    return Decision(
        verdict=Verdict.INSUFFICIENT_DATA,
        do=DO_OF_KIND[best.course.kind],
        basis=Basis.MISSING,
        chosen=best,
    )


def _alike(bad: Decision, good: Decision) -> bool:
    """Same side of go, and a legal way in both or in neither."""
    same_side = (bad.verdict in GO_VERDICTS) == (good.verdict in GO_VERDICTS)
    dead_end = Basis.NO_LEGAL_COURSE
    return same_side and (bad.basis is dead_end) == (good.basis is dead_end)


def _best_known(courses: Sequence[JudgedCourse], *, usable: bool) -> JudgedCourse:
    """The safest course that is known to be legal; where none is, landing here if that is usable.

    A second approach is no way out by itself, and a way into unknown weather is not the safer one.
    """
    ends = [each for each in courses if each.course.kind is not CourseKind.SECOND_APPROACH]
    known = [each for each in ends if each.legal is True]
    here = [each for each in ends if each.course.kind is CourseKind.COMMIT_TO_LAND and usable]
    return (known or here or ends or list(courses))[0]


def by_table(question: Question) -> Decision:
    """The decision of the first row that speaks."""
    for row in TABLE:
        decision = row(question)
        if decision is not None:
            return decision
    raise ValueError("the last row of the table must always speak")


def _go(question: Question) -> Decision | None:
    """Usable here, and legal after a miss: GO, or with caution when it is thin."""
    facts = question.facts
    if not (facts.usable and facts.escapes):
        return None
    basis = Basis.ESCAPE_KEPT
    if len(facts.escapes) < ROBUST_ESCAPES:
        basis = Basis.ONE_WAY_OUT
    elif len(facts.robust) < ROBUST_ESCAPES or facts.miss_likely or facts.gradient_within_error:
        basis = Basis.ESCAPE_THIN
    plain = basis is Basis.ESCAPE_KEPT and not question.weighty_caution
    return Decision(
        verdict=Verdict.GO if plain else Verdict.GO_WITH_CAUTION,
        do=Do.APPROACH,
        basis=basis,
        chosen=facts.escapes[0],
    )


def _time_critical(question: Question) -> Decision | None:
    """An urgent failure and a good runway ahead: staying is not worse than a longer way out."""
    facts = question.facts
    if not (facts.usable and facts.time_critical and facts.commit):
        return None
    return _no_go(Do.COMMIT, Basis.TIME_CRITICAL, facts.commit)


def _leave_or_stay(question: Question) -> Decision | None:
    """A diversion is legal now and not after a miss."""
    facts = question.facts
    if not (facts.usable and facts.diverts):
        return None
    if facts.commit is None:
        return _no_go(Do.DIVERT, Basis.LEAVE_WHILE_CLEAN, facts.diverts[0])
    if question.prefer_commit:
        return _no_go(Do.COMMIT, Basis.CHOICE, facts.commit)
    return _no_go(Do.DIVERT, Basis.CHOICE, facts.diverts[0])


def _stay(question: Question) -> Decision | None:
    """Nowhere else to go, and landing here keeps every rule."""
    facts = question.facts
    if not (facts.usable and facts.commit):
        return None
    return _no_go(Do.COMMIT, Basis.COMMIT_PERMITTED, facts.commit)


def _only_runway(question: Question) -> Decision | None:
    """The runways elsewhere are too short for the failure: this one is the one that is left."""
    staying = [each for each in question.courses if each.course.kind is CourseKind.COMMIT_TO_LAND]
    if not (question.facts.usable and question.facts.no_other_runway and staying):
        return None
    return _no_go(Do.COMMIT, Basis.COMMIT_ONLY_RUNWAY, staying[0])


def _wait(question: Question) -> Decision | None:
    """Barred now, usable inside both deadlines."""
    facts = question.facts
    if facts.usable or not facts.waits or facts.time_critical:
        return None
    return _no_go(Do.HOLD, Basis.WAIT, facts.waits[0])


def _barred(question: Question) -> Decision | None:
    """The approach is not usable, and there is a legal way elsewhere."""
    facts = question.facts
    if facts.usable or not facts.diverts:
        return None
    return _no_go(Do.DIVERT, Basis.APPROACH_BARRED, facts.diverts[0])


def _nothing(question: Question) -> Decision:
    """No legal course: the least bad is still named, since a crew must land somewhere."""
    least_bad = question.courses[0]
    return _no_go(DO_OF_KIND[least_bad.course.kind], Basis.NO_LEGAL_COURSE, least_bad)


def _no_go(do: Do, basis: Basis, chosen: JudgedCourse) -> Decision:
    return Decision(verdict=Verdict.NO_GO, do=do, basis=basis, chosen=chosen)


TABLE: Final[tuple[Row, ...]] = (
    _go,
    _time_critical,
    _leave_or_stay,
    _only_runway,
    _stay,
    _wait,
    _barred,
    _nothing,
)
