"""The fourteen rows of the table, written a second time from their text, over every combination.

The copy below was written from the wording of the table alone; it takes the facts of the engine and
gives verdict, action and basis. A combination that contradicts itself by the meaning of its words
(far above and not usable) is asked for a row, not compared.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from decision.recommend.facts import Facts, Fitness
from decision.recommend.table import ruling_of
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


def second_reading(f: Facts) -> Ruled:
    """The table again: rows from 1 to 14, row 2 apart, which compares completions."""
    nearest = f.urgency is Urgency.NEAREST_SUITABLE
    usable = f.fitness is Fitness.USABLE
    barred = f.fitness is Fitness.BARRED
    by_wind_or_hazard = f.fitness is Fitness.UNFIT_FOR_NOW
    if f.urgency is Urgency.AS_SOON_AS_POSSIBLE:
        if not f.first_is_here:
            return 1, "NO_GO", "DIVERT", "TIME_CRITICAL"
        if f.ways_out >= 1:
            return 1, "GO_WITH_CAUTION", "APPROACH", "TIME_CRITICAL"
        return 1, "NO_GO", "COMMIT", "TIME_CRITICAL"
    if nearest and f.nearer:
        return 3, "NO_GO", "DIVERT", "NEAREST_SUITABLE"
    if usable and f.ways_out >= 2 and not f.capped:
        return 4, "GO", "APPROACH", "ESCAPE_KEPT"
    if usable and f.ways_out == 1:
        return 5, "GO_WITH_CAUTION", "APPROACH", "ONE_WAY_OUT"
    if usable and f.ways_out >= 2:
        return 5, "GO_WITH_CAUTION", "APPROACH", "ESCAPE_THIN"
    if usable and f.needs_no_alternate:
        return 6, "GO_WITH_CAUTION", "APPROACH", "NO_ALTERNATE"
    if usable and nearest and f.stay_near:
        return 7, "NO_GO", "COMMIT", "NEAREST_SUITABLE"
    if f.far_above and f.commit_permitted and f.divert_legal:
        commits = f.prefer_commit if f.prefer_commit is not None else f.poor
        return 8, "NO_GO", "COMMIT" if commits else "DIVERT", "CHOICE"
    if usable and f.divert_legal:
        return 9, "NO_GO", "DIVERT", "LEAVE_WHILE_CLEAN"
    if usable and f.commit_permitted:
        return 10, "NO_GO", "COMMIT", "COMMIT_PERMITTED"
    if usable and f.only_stopping:
        return 11, "NO_GO", "COMMIT", "COMMIT_ONLY_RUNWAY"
    if (barred or by_wind_or_hazard) and f.wait_legal:
        return 12, "NO_GO", "HOLD", "WAIT"
    if not usable and f.divert_legal:
        return 13, "NO_GO", "DIVERT", "APPROACH_BARRED" if barred else "NOT_FIT_HERE"
    return 14, "NO_GO", "HOLD" if f.weather_alone else None, "NO_LEGAL_COURSE"


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
