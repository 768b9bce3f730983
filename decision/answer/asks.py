"""What to ask, of whom, and by when: the unknowns that would turn the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Final

from decision.answer.figures import instant
from decision.answer.types import Ask
from decision.course import CourseKind
from decision.decide.carried import STATE
from decision.decide.completions import AIR, EVERYWHERE, OXYGEN
from decision.decide.concerns.notices import open_notices
from decision.decide.decision import CLOSED_HERE, Decision, Do
from decision.decide.facts import Fitness, fitness_of
from decision.decide.judge import JudgedCourse, first_of
from decision.flight.situation import Situation
from decision.rules.finding import Cause
from decision.rules.row import REPORTS, ROUTE, SURFACE
from decision.windows import MINUTE

CONTROL_OR_DISPATCH: Final = "air traffic control or dispatch"
DISPATCH: Final = "dispatch"
CREW: Final = "the crew"
_WHOM: Final[Mapping[str, str]] = MappingProxyType(
    dict.fromkeys((REPORTS, SURFACE, *AIR), CONTROL_OR_DISPATCH)
    | dict.fromkeys(
        (
            OXYGEN,
            "rate of the fuel leak",
            "quantity of fuel that cannot be used",
            "quantity of fuel on board",
            STATE,
        ),
        CREW,
    )
)
_WORDS: Final = MappingProxyType({OXYGEN: "minutes of oxygen left for crew and passengers"})


def asks_of(
    decision: Decision,
    courses: Sequence[JudgedCourse],
    situation: Situation,
    *,
    by_at: datetime | None,
) -> tuple[Ask, ...]:
    """Each thing to ask once: of a place first its report, also where one is awaited."""
    at_once = by_at is None or by_at - situation.case.as_of < MINUTE
    by_at = None if at_once else by_at
    causes = dict.fromkeys(_as_reports(cause, decision, situation) for cause in decision.asks)
    places = list(dict.fromkeys(place for place, *_ in causes))
    in_order = sorted(causes, key=lambda cause: (places.index(cause[0]), REPORTS not in cause))
    asked = [ask_for(cause, by_at) for cause in in_order]
    closed = fitness_of(first_of(courses, CourseKind.COMMIT_TO_LAND)) in AWAITING
    may_open = closed and decision.basis in CLOSED_HERE
    if may_open or (decision.do is Do.HOLD and not asked):
        here = situation.case.destination.aerodrome.icao
        asked.append(ask_for((here, REPORTS), by_at))
    asked += [
        Ask(
            what=f"notice {each.notice.id} of {each.icao} in full",
            whom=DISPATCH,
            by_at=instant(by_at),
        )
        for each in open_notices(situation, courses)
    ]
    return tuple(dict.fromkeys(asked))


def _as_reports(cause: Cause, decision: Decision, situation: Situation) -> Cause:
    """Something of the air comes with a report: where that is missing, it is the report to ask."""
    place, *lacks = cause
    if place == EVERYWHERE or not set(lacks) <= AIR:
        return cause
    wanted = (place, REPORTS) in decision.asks or situation.station(place).observation is None
    return (place, REPORTS) if wanted else cause


def asks_for_places(courses: Sequence[JudgedCourse], situation: Situation) -> tuple[Ask, ...]:
    """Where no course is legal and no places were proposed: other places, at once."""
    if situation.case.propose_alternates is not None or any(each.legal for each in courses):
        return ()
    return (Ask(what=OTHER_PLACES, whom=DISPATCH, by_at=None),)


OTHER_PLACES: Final = "other places to land"
AWAITING: Final = frozenset({Fitness.BARRED, Fitness.UNFIT_FOR_NOW})


def ask_for(cause: Cause, by_at: datetime | None) -> Ask:
    """One thing to ask, in words."""
    place, *lacks = cause
    words = " and ".join(dict.fromkeys(_WORDS.get(each, each) for each in lacks))
    whom = next((_WHOM[each] for each in lacks if each in _WHOM), DISPATCH)
    bound = "to" if ROUTE in lacks else "of"
    what = words if place == EVERYWHERE else f"{words} {bound} {place}"
    return Ask(what=what, whom=whom, by_at=instant(by_at))
