"""The truth table, row by row: each on facts that just fit it, and on siblings that just do not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from itertools import product
from typing import Any

import pytest

from decision.decide.decision import Basis, Do, Verdict
from decision.decide.facts import Facts, Fitness
from decision.decide.table import Ruling, ruling_of
from decision.systems import Urgency
from tests.changing import replace
from tests.decide.by_hand import facts

SOON, NEAREST, NONE = Urgency.AS_SOON_AS_POSSIBLE, Urgency.NEAREST_SUITABLE, Urgency.NONE
USABLE, BARRED, FOR_NOW, UNFIT = (
    Fitness.USABLE,
    Fitness.BARRED,
    Fitness.UNFIT_FOR_NOW,
    Fitness.UNFIT,
)
GO, CAUTION, NO_GO = Verdict.GO, Verdict.GO_WITH_CAUTION, Verdict.NO_GO
APPROACH, DIVERT, COMMIT, HOLD = Do.APPROACH, Do.DIVERT, Do.COMMIT, Do.HOLD

# Facts that speak for every row at once: only what a row itself asks keeps another from speaking.
FULL = facts(
    first_is_here=True,
    fitness=USABLE,
    ways_out=2,
    needs_no_alternate=True,
    nearer=True,
    stay_near=True,
    far_above=True,
    commit_permitted=True,
    divert_legal=True,
    only_stopping=True,
    wait_legal=True,
    weather_alone=True,
)


def ruled(asked: Facts) -> tuple[int, Verdict, Do | None, Basis]:
    ruling = ruling_of(asked)
    return ruling.row, ruling.verdict, ruling.do, ruling.basis


HERE: dict[str, Any] = {"urgency": SOON, "first_is_here": True}
USABLE_ONLY: dict[str, Any] = {"fitness": USABLE}
LEAVE_OR_STAY: dict[str, Any] = {
    "fitness": USABLE,
    "far_above": True,
    "commit_permitted": True,
    "divert_legal": True,
}
STAY_NEAR: dict[str, Any] = {"urgency": NEAREST, "fitness": USABLE, "stay_near": True}
NOTHING_LEGAL = (14, NO_GO, None, Basis.NO_LEGAL_COURSE)
TIME = Basis.TIME_CRITICAL
SUITABLE = Basis.NEAREST_SUITABLE

ROWS: dict[str, tuple[dict[str, Any], tuple[int, Verdict, Do | None, Basis]]] = {
    "1 soon, here, a way out remains": (HERE | {"ways_out": 1}, (1, CAUTION, APPROACH, TIME)),
    "1 soon, here, no way out": (HERE, (1, NO_GO, COMMIT, TIME)),
    "1 soon, another place is first": ({"urgency": SOON}, (1, NO_GO, DIVERT, TIME)),
    "1 soon, another place, ways out here or not": (
        {"urgency": SOON, "ways_out": 2, "fitness": USABLE},
        (1, NO_GO, DIVERT, TIME),
    ),
    "3 a nearer suitable place": (
        {"urgency": NEAREST, "nearer": True},
        (3, NO_GO, DIVERT, SUITABLE),
    ),
    "3 not where nothing presses": ({"urgency": NONE, "nearer": True}, NOTHING_LEGAL),
    "4 two ways out": (
        {"fitness": USABLE, "ways_out": 2},
        (4, GO, APPROACH, Basis.ESCAPE_KEPT),
    ),
    "5 two ways out, capped": (
        {"fitness": USABLE, "ways_out": 2, "capped": True},
        (5, CAUTION, APPROACH, Basis.ESCAPE_THIN),
    ),
    "5 one way out": (
        {"fitness": USABLE, "ways_out": 1},
        (5, CAUTION, APPROACH, Basis.ONE_WAY_OUT),
    ),
    "5 one way out, capped": (
        {"fitness": USABLE, "ways_out": 1, "capped": True},
        (5, CAUTION, APPROACH, Basis.ONE_WAY_OUT),
    ),
    "6 no alternate, and none is needed": (
        {"fitness": USABLE, "needs_no_alternate": True},
        (6, CAUTION, APPROACH, Basis.NO_ALTERNATE),
    ),
    "6 not where the place is barred": (
        {"fitness": BARRED, "needs_no_alternate": True},
        NOTHING_LEGAL,
    ),
    "7 nearest suitable, and that is here": (STAY_NEAR, (7, NO_GO, COMMIT, SUITABLE)),
    "7 before a diversion that is legal": (
        STAY_NEAR | LEAVE_OR_STAY,
        (7, NO_GO, COMMIT, SUITABLE),
    ),
    "7 not where nothing presses": (STAY_NEAR | {"urgency": NONE}, NOTHING_LEGAL),
    "7 not where the place is unfit": (STAY_NEAR | {"fitness": UNFIT}, NOTHING_LEGAL),
    "8 leave or stay": (LEAVE_OR_STAY, (8, NO_GO, DIVERT, Basis.CHOICE)),
    "8 a poor diversion": (LEAVE_OR_STAY | {"poor": True}, (8, NO_GO, COMMIT, Basis.CHOICE)),
    "8 the policy prefers to commit": (
        LEAVE_OR_STAY | {"prefer_commit": True},
        (8, NO_GO, COMMIT, Basis.CHOICE),
    ),
    "8 the policy prefers to leave, however poorly": (
        LEAVE_OR_STAY | {"prefer_commit": False, "poor": True},
        (8, NO_GO, DIVERT, Basis.CHOICE),
    ),
    "9 usable, and only a diversion is legal": (
        {"fitness": USABLE, "divert_legal": True},
        (9, NO_GO, DIVERT, Basis.LEAVE_WHILE_CLEAN),
    ),
    "9 both are legal, but the weather is not far above": (
        LEAVE_OR_STAY | {"far_above": False},
        (9, NO_GO, DIVERT, Basis.LEAVE_WHILE_CLEAN),
    ),
    "9 whatever the policy prefers": (
        LEAVE_OR_STAY | {"far_above": False, "prefer_commit": True},
        (9, NO_GO, DIVERT, Basis.LEAVE_WHILE_CLEAN),
    ),
    "10 nowhere else, a landing here is permitted": (
        {"fitness": USABLE, "commit_permitted": True},
        (10, NO_GO, COMMIT, Basis.COMMIT_PERMITTED),
    ),
    "10 not where the place is barred": (
        {"fitness": BARRED, "commit_permitted": True},
        NOTHING_LEGAL,
    ),
    "11 every other runway is too short": (
        {"fitness": USABLE, "only_stopping": True},
        (11, NO_GO, COMMIT, Basis.COMMIT_ONLY_RUNWAY),
    ),
    "11 not where this one is unfit": ({"fitness": UNFIT, "only_stopping": True}, NOTHING_LEGAL),
    "12 barred, and it improves in time": (
        {"fitness": BARRED, "wait_legal": True},
        (12, NO_GO, HOLD, Basis.WAIT),
    ),
    "12 unfit by wind or hazard, and it improves in time": (
        {"fitness": FOR_NOW, "wait_legal": True},
        (12, NO_GO, HOLD, Basis.WAIT),
    ),
    "12 with a legal diversion, too": (
        {"fitness": BARRED, "wait_legal": True, "divert_legal": True},
        (12, NO_GO, HOLD, Basis.WAIT),
    ),
    "12 not where waiting mends nothing": (
        {"fitness": UNFIT, "wait_legal": True, "divert_legal": True},
        (13, NO_GO, DIVERT, Basis.NOT_FIT_HERE),
    ),
    "13 barred": (
        {"fitness": BARRED, "divert_legal": True},
        (13, NO_GO, DIVERT, Basis.APPROACH_BARRED),
    ),
    "13 unfit for now": (
        {"fitness": FOR_NOW, "divert_legal": True},
        (13, NO_GO, DIVERT, Basis.NOT_FIT_HERE),
    ),
    "13 unfit": ({"fitness": UNFIT, "divert_legal": True}, (13, NO_GO, DIVERT, Basis.NOT_FIT_HERE)),
    "14 nothing legal": ({}, NOTHING_LEGAL),
    "14 usable, and nothing legal": (USABLE_ONLY, NOTHING_LEGAL),
    "14 weather alone endangers": (
        {"weather_alone": True},
        (14, NO_GO, HOLD, Basis.NO_LEGAL_COURSE),
    ),
}


@pytest.mark.parametrize("row", ROWS)
def test_each_row_of_the_table_decides_as_written(row: str) -> None:
    asked, expected = ROWS[row]
    assert ruled(facts(**asked)) == expected


# What takes one row after another away from facts that fit them all.
FALLING: tuple[tuple[dict[str, Any], tuple[int, Do | None]], ...] = (
    ({"urgency": SOON}, (1, APPROACH)),
    ({"urgency": NEAREST}, (3, DIVERT)),
    ({"nearer": False}, (4, APPROACH)),
    ({"capped": True}, (5, APPROACH)),
    ({"ways_out": 0}, (6, APPROACH)),
    ({"needs_no_alternate": False}, (7, COMMIT)),
    ({"stay_near": False}, (8, DIVERT)),
    ({"far_above": False}, (9, DIVERT)),
    ({"divert_legal": False}, (10, COMMIT)),
    ({"commit_permitted": False}, (11, COMMIT)),
    ({"fitness": BARRED}, (12, HOLD)),
    ({"divert_legal": True, "wait_legal": False}, (13, DIVERT)),
    ({"divert_legal": False}, (14, HOLD)),
    ({"weather_alone": False}, (14, None)),
)


def test_the_first_row_that_fits_speaks_though_all_later_ones_would() -> None:
    asked, rows = FULL, []
    for changes, expected in FALLING:
        asked = replace(asked, **changes)
        ruling = ruling_of(asked)
        assert (ruling.row, ruling.do) == expected
        rows.append(ruling.row)
    assert rows == sorted(rows)
    assert set(rows) == {1, *range(3, 15)}


def combinations() -> Iterator[Facts]:
    """Every combination there is of what the table looks at."""
    values: dict[str, tuple[Any, ...]] = {
        "urgency": tuple(Urgency),
        "fitness": tuple(Fitness),
        "ways_out": (0, 1, 2),
        "prefer_commit": (None, False, True),
    }
    names = [field.name for field in fields(Facts)]
    for combination in product(*(values.get(name, (False, True)) for name in names)):
        yield Facts(**dict(zip(names, combination, strict=True)))


def contradicts_itself(asked: Facts) -> bool:
    """Far above says usable already: no case has the one without the other."""
    return asked.far_above and asked.fitness is not USABLE


def is_lawful(asked: Facts, ruling: Ruling) -> bool:
    """What must be true of an answer whatever row gives it."""
    usable, none_legal = asked.fitness is USABLE, ruling.row == 14
    pressing = asked.urgency is SOON
    laws = (
        (ruling.row == 1) is pressing,
        ruling.verdict is not GO or (usable and asked.ways_out == 2 and not asked.capped),
        (ruling.verdict in (GO, CAUTION)) is (ruling.do is APPROACH),
        ruling.do is not APPROACH or asked.ways_out > 0 or asked.needs_no_alternate,
        ruling.do is not APPROACH or usable or pressing,
        ruling.do is not HOLD or (not pressing and (asked.wait_legal or asked.weather_alone)),
        ruling.do is not COMMIT or usable or pressing,
        ruling.do is not DIVERT or pressing or asked.divert_legal or asked.nearer,
        (ruling.do is None) is (none_legal and not asked.weather_alone),
        (ruling.basis is Basis.NO_LEGAL_COURSE) is none_legal,
        not none_legal or not asked.divert_legal,
        not none_legal or not (usable and (asked.ways_out or asked.commit_permitted)),
    )
    return all(laws)


def test_every_combination_of_facts_has_a_row_and_each_answer_is_lawful() -> None:
    seen: set[tuple[int, Do | None, Basis]] = set()
    for asked in combinations():
        ruling = ruling_of(asked)
        assert contradicts_itself(asked) or is_lawful(asked, ruling), (asked, ruling)
        seen.add((ruling.row, ruling.do, ruling.basis))
    assert {row for row, _, _ in seen} == {1, *range(3, 15)}
    assert {basis for _, _, basis in seen} == set(Basis) - {Basis.MISSING}
    assert len(seen) == 19  # three, one, one, two, one, one, two, one, one, one, one, two, two
