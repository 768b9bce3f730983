"""The fourteen rows of the table, written a second time from their text, over every combination.

The copy below was written from the wording of the table alone; it takes the facts of the engine and
gives verdict, action and basis. A combination that contradicts itself by the meaning of its words
(far above and not usable) is asked for a row, not compared.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator

from decision.decide.facts import Facts, Fitness
from decision.decide.table import ruling_of
from decision.systems import Urgency

Ruled = tuple[int, str, str | None, str]

FLAGS = (
    "first_is_here",
    "capped",
    "needs_no_alternate",
    "nearer",
    "stay_near",
    "far_above",
    "commit_permitted",
    "divert_legal",
    "poor",
    "only_stopping",
    "wait_legal",
    "weather_alone",
)


def combinations() -> Iterator[Facts]:
    """Every combination of the facts, contradictory ones included."""
    flags = list(itertools.product((False, True), repeat=len(FLAGS)))
    for urgency, fitness in itertools.product(Urgency, Fitness):
        for ways_out, prefer in itertools.product((0, 1, 2), (None, False, True)):
            for values in flags:
                yield Facts(
                    urgency=urgency,
                    fitness=fitness,
                    ways_out=ways_out,
                    prefer_commit=prefer,
                    **dict(zip(FLAGS, values, strict=True)),
                )


def contradictory(facts: Facts) -> bool:
    """What the words of the table exclude: far above is usable; a hold first has no urgency."""
    return (facts.far_above and facts.fitness is not Fitness.USABLE) or (
        facts.weather_alone and facts.urgency is not Urgency.NONE
    )


def _usable(f: Facts) -> bool:
    return f.fitness is Fitness.USABLE


def _soon(f: Facts) -> bool:
    return f.urgency is Urgency.AS_SOON_AS_POSSIBLE


def _nearest(f: Facts) -> bool:
    return f.urgency is Urgency.NEAREST_SUITABLE


def _closed_for_now(f: Facts) -> bool:
    """Barred, or unfit by wind or hazard."""
    return f.fitness in (Fitness.BARRED, Fitness.UNFIT_FOR_NOW)


def _all_open(f: Facts) -> bool:
    return f.far_above and f.commit_permitted and f.divert_legal


def _prefers_commit(f: Facts) -> bool:
    """Forced by the policy, else by how little the diversion leaves."""
    return f.poor if f.prefer_commit is None else f.prefer_commit


Line = tuple[int, Callable[[Facts], bool], str, str | None, str]

# Row, facts, verdict, do, basis, in the words of the table; row 2 compares completions.
LINES: tuple[Line, ...] = (
    (1, lambda f: _soon(f) and not f.first_is_here, "NO_GO", "DIVERT", "TIME_CRITICAL"),
    (1, lambda f: _soon(f) and f.ways_out > 0, "GO_WITH_CAUTION", "APPROACH", "TIME_CRITICAL"),
    (1, _soon, "NO_GO", "COMMIT", "TIME_CRITICAL"),
    (3, lambda f: _nearest(f) and f.nearer, "NO_GO", "DIVERT", "NEAREST_SUITABLE"),
    (
        4,
        lambda f: _usable(f) and f.ways_out >= 2 and not f.capped,
        "GO",
        "APPROACH",
        "ESCAPE_KEPT",
    ),
    (5, lambda f: _usable(f) and f.ways_out == 1, "GO_WITH_CAUTION", "APPROACH", "ONE_WAY_OUT"),
    (5, lambda f: _usable(f) and f.ways_out >= 2, "GO_WITH_CAUTION", "APPROACH", "ESCAPE_THIN"),
    (
        6,
        lambda f: _usable(f) and f.needs_no_alternate,
        "GO_WITH_CAUTION",
        "APPROACH",
        "NO_ALTERNATE",
    ),
    (
        7,
        lambda f: _usable(f) and _nearest(f) and f.stay_near,
        "NO_GO",
        "COMMIT",
        "NEAREST_SUITABLE",
    ),
    (8, lambda f: _all_open(f) and _prefers_commit(f), "NO_GO", "COMMIT", "CHOICE"),
    (8, _all_open, "NO_GO", "DIVERT", "CHOICE"),
    (9, lambda f: _usable(f) and f.divert_legal, "NO_GO", "DIVERT", "LEAVE_WHILE_CLEAN"),
    (10, lambda f: _usable(f) and f.commit_permitted, "NO_GO", "COMMIT", "COMMIT_PERMITTED"),
    (11, lambda f: _usable(f) and f.only_stopping, "NO_GO", "COMMIT", "COMMIT_ONLY_RUNWAY"),
    (12, lambda f: _closed_for_now(f) and f.wait_legal, "NO_GO", "HOLD", "WAIT"),
    (
        13,
        lambda f: f.fitness is Fitness.BARRED and f.divert_legal,
        "NO_GO",
        "DIVERT",
        "APPROACH_BARRED",
    ),
    (13, lambda f: not _usable(f) and f.divert_legal, "NO_GO", "DIVERT", "NOT_FIT_HERE"),
    (14, lambda f: f.weather_alone, "NO_GO", "HOLD", "NO_LEGAL_COURSE"),
    (14, lambda _: True, "NO_GO", None, "NO_LEGAL_COURSE"),
)


def second_reading(facts: Facts) -> Ruled:
    """The first line that fits speaks."""
    return next((row, verdict, do, basis) for row, fits, verdict, do, basis in LINES if fits(facts))


def test_every_combination_has_the_row_that_a_second_reading_of_the_table_gives() -> None:
    compared = contrary = 0
    for facts in combinations():
        ruling = ruling_of(facts)
        assert ruling.basis, facts
        if contradictory(facts):
            contrary += 1
            continue
        compared += 1
        seen = (ruling.row, ruling.verdict, ruling.do, ruling.basis)
        assert seen == second_reading(facts), facts
    assert compared > 50_000
    assert contrary > 50_000


def test_every_row_but_the_one_on_completions_speaks_for_some_combination() -> None:
    rows = {second_reading(facts)[0] for facts in combinations() if not contradictory(facts)}
    assert rows == {1, *range(3, 15)}
