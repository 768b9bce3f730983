"""The truth table: fourteen rows over plain facts, asked in order; the first that fits speaks.

Row 2, on what is not known, stands outside: it compares what the other rows say of each completion.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from decision.decide.decision import Basis, Do, Verdict
from decision.decide.facts import Facts, Fitness
from decision.systems import Urgency


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruling:
    """What a row says. `do` None: as the least-bad course has it."""

    row: int
    verdict: Verdict
    do: Do | None
    basis: Basis


Row = Callable[[Facts], Ruling | None]


def ruling_of(facts: Facts) -> Ruling:
    """The first row that fits."""
    for row in ROWS:
        ruling = row(facts)
        if ruling is not None:
            return ruling
    return _nothing(facts)


def _time_critical(facts: Facts) -> Ruling | None:
    """As soon as possible: the earliest touchdown, whatever else could be done."""
    if facts.urgency is not Urgency.AS_SOON_AS_POSSIBLE:
        return None
    if not facts.first_is_here:
        return _no_go(1, Do.DIVERT, Basis.TIME_CRITICAL)
    if facts.ways_out == 0:
        return _no_go(1, Do.COMMIT, Basis.TIME_CRITICAL)
    return Ruling(row=1, verdict=Verdict.GO_WITH_CAUTION, do=Do.APPROACH, basis=Basis.TIME_CRITICAL)


def _nearer_place(facts: Facts) -> Ruling | None:
    """A suitable place is nearer in time by more than the trade."""
    if facts.urgency is not Urgency.NEAREST_SUITABLE or not facts.nearer:
        return None
    return _no_go(3, Do.DIVERT, Basis.NEAREST_SUITABLE)


def _go(facts: Facts) -> Ruling | None:
    """Usable here, and a legal way on after a miss."""
    if facts.fitness is not Fitness.USABLE or facts.ways_out == 0:
        return None
    if facts.ways_out > 1 and not facts.capped:
        return Ruling(row=4, verdict=Verdict.GO, do=Do.APPROACH, basis=Basis.ESCAPE_KEPT)
    basis = Basis.ONE_WAY_OUT if facts.ways_out == 1 else Basis.ESCAPE_THIN
    return Ruling(row=5, verdict=Verdict.GO_WITH_CAUTION, do=Do.APPROACH, basis=basis)


def _no_alternate(facts: Facts) -> Ruling | None:
    """A sound aircraft that was allowed to come without an alternate."""
    if facts.fitness is not Fitness.USABLE or not facts.needs_no_alternate:
        return None
    return Ruling(row=6, verdict=Verdict.GO_WITH_CAUTION, do=Do.APPROACH, basis=Basis.NO_ALTERNATE)


def _stay_near(facts: Facts) -> Ruling | None:
    """Nearest suitable, and that is here: a landing is not given up for a later one."""
    urgent = facts.urgency is Urgency.NEAREST_SUITABLE
    if facts.fitness is not Fitness.USABLE or not (urgent and facts.stay_near):
        return None
    return _no_go(7, Do.COMMIT, Basis.NEAREST_SUITABLE)


def _choice(facts: Facts) -> Ruling | None:
    """Both are open: to leave while there is fuel, or to land here in weather far above minima."""
    if not (facts.far_above and facts.commit_permitted and facts.divert_legal):
        return None
    commits = facts.poor if facts.prefer_commit is None else facts.prefer_commit
    return _no_go(8, Do.COMMIT if commits else Do.DIVERT, Basis.CHOICE)


def _leave(facts: Facts) -> Ruling | None:
    """Usable, but no way on after a miss; a diversion is legal now."""
    if facts.fitness is not Fitness.USABLE or not facts.divert_legal:
        return None
    return _no_go(9, Do.DIVERT, Basis.LEAVE_WHILE_CLEAN)


def _commit(facts: Facts) -> Ruling | None:
    """Nowhere else to go, and landing here keeps every rule."""
    if facts.fitness is not Fitness.USABLE or not facts.commit_permitted:
        return None
    return _no_go(10, Do.COMMIT, Basis.COMMIT_PERMITTED)


def _only_runway(facts: Facts) -> Ruling | None:
    """The runways elsewhere are too short for the failure: this one is the one that is left."""
    if facts.fitness is not Fitness.USABLE or not facts.only_stopping:
        return None
    return _no_go(11, Do.COMMIT, Basis.COMMIT_ONLY_RUNWAY)


def _wait(facts: Facts) -> Ruling | None:
    """Closed by weather that is said to improve in time."""
    if facts.fitness not in (Fitness.BARRED, Fitness.UNFIT_FOR_NOW) or not facts.wait_legal:
        return None
    return _no_go(12, Do.HOLD, Basis.WAIT)


def _elsewhere(facts: Facts) -> Ruling | None:
    """Closed, and there is a legal way elsewhere."""
    if facts.fitness is Fitness.USABLE or not facts.divert_legal:
        return None
    barred = facts.fitness is Fitness.BARRED
    return _no_go(13, Do.DIVERT, Basis.APPROACH_BARRED if barred else Basis.NOT_FIT_HERE)


def _nothing(facts: Facts) -> Ruling:
    """No legal course: the least bad is still named, since a crew must land somewhere."""
    return _no_go(14, Do.HOLD if facts.weather_alone else None, Basis.NO_LEGAL_COURSE)


def _no_go(row: int, do: Do | None, basis: Basis) -> Ruling:
    return Ruling(row=row, verdict=Verdict.NO_GO, do=do, basis=basis)


ROWS: Final[tuple[Row, ...]] = (
    _time_critical,
    _nearer_place,
    _go,
    _no_alternate,
    _stay_near,
    _choice,
    _leave,
    _commit,
    _only_runway,
    _wait,
    _elsewhere,
)
