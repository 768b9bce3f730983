"""The truth table, row by row, on facts laid out by hand."""

from __future__ import annotations

import pytest

from decision.recommend import verdict
from decision.recommend.answer import Basis, Do, Verdict
from decision.recommend.verdict import TABLE, Question, by_table
from tests.recommend.builders import course, facts, question

A, B = course("XAAA"), course("XBBB")
LEAVING = course("XAAA", kind="divert_now")
STAYING = course("XKAL", kind="commit_to_land")
WAITING = course("XAAA", kind="hold_then_approach")

ROWS = [
    pytest.param(
        question(facts(usable=True, escapes=(A, B), robust=(A, B))),
        (Verdict.GO, Do.APPROACH, Basis.ESCAPE_KEPT),
        id="two ways out with margin",
    ),
    pytest.param(
        question(facts(usable=True, escapes=(A, B), robust=(A, B)), weighty_caution=True),
        (Verdict.GO_WITH_CAUTION, Do.APPROACH, Basis.ESCAPE_KEPT),
        id="two ways out and a caution of weight",
    ),
    pytest.param(
        question(facts(usable=True, escapes=(A,), robust=(A,))),
        (Verdict.GO_WITH_CAUTION, Do.APPROACH, Basis.ONE_WAY_OUT),
        id="one way out",
    ),
    pytest.param(
        question(facts(usable=True, escapes=(A, B), robust=(A,))),
        (Verdict.GO_WITH_CAUTION, Do.APPROACH, Basis.ESCAPE_THIN),
        id="thin margin",
    ),
    pytest.param(
        question(facts(usable=True, escapes=(A, B), robust=(A, B), miss_likely=True)),
        (Verdict.GO_WITH_CAUTION, Do.APPROACH, Basis.ESCAPE_THIN),
        id="miss likely",
    ),
    pytest.param(
        question(facts(usable=True, escapes=(A, B), robust=(A, B), gradient_within_error=True)),
        (Verdict.GO_WITH_CAUTION, Do.APPROACH, Basis.ESCAPE_THIN),
        id="gradient within the error of the model",
    ),
    pytest.param(
        question(facts(usable=True, diverts=(LEAVING,))),
        (Verdict.NO_GO, Do.DIVERT, Basis.LEAVE_WHILE_CLEAN),
        id="no way out after a miss, one now",
    ),
    pytest.param(
        question(facts(usable=True, diverts=(LEAVING,), commit=STAYING)),
        (Verdict.NO_GO, Do.DIVERT, Basis.CHOICE),
        id="leave or stay",
    ),
    pytest.param(
        question(facts(usable=True, diverts=(LEAVING,), commit=STAYING), prefer_commit=True),
        (Verdict.NO_GO, Do.COMMIT, Basis.CHOICE),
        id="leave or stay, staying preferred",
    ),
    pytest.param(
        question(facts(usable=True, commit=STAYING)),
        (Verdict.NO_GO, Do.COMMIT, Basis.COMMIT_PERMITTED),
        id="nowhere else, landing here keeps every rule",
    ),
    pytest.param(
        question(facts(usable=True, no_other_runway=True), STAYING),
        (Verdict.NO_GO, Do.COMMIT, Basis.COMMIT_ONLY_RUNWAY),
        id="no other runway long enough",
    ),
    pytest.param(
        question(facts(waits=(WAITING,), diverts=(LEAVING,))),
        (Verdict.NO_GO, Do.HOLD, Basis.WAIT),
        id="barred now, improves in time",
    ),
    pytest.param(
        question(facts(diverts=(LEAVING,))),
        (Verdict.NO_GO, Do.DIVERT, Basis.APPROACH_BARRED),
        id="barred now",
    ),
    pytest.param(
        question(facts(), LEAVING),
        (Verdict.NO_GO, Do.DIVERT, Basis.NO_LEGAL_COURSE),
        id="nothing legal: the least bad",
    ),
    pytest.param(
        question(facts(usable=True, time_critical=True, commit=STAYING, diverts=(LEAVING,))),
        (Verdict.NO_GO, Do.COMMIT, Basis.TIME_CRITICAL),
        id="time presses",
    ),
    pytest.param(
        question(facts(waits=(WAITING,), diverts=(LEAVING,), time_critical=True)),
        (Verdict.NO_GO, Do.DIVERT, Basis.APPROACH_BARRED),
        id="time presses: no hold",
    ),
]


@pytest.mark.parametrize(("asked", "expected"), ROWS)
def test_each_row_of_the_truth_table_decides_as_written(
    asked: Question, expected: tuple[Verdict, Do, Basis]
) -> None:
    decision = by_table(asked)
    assert (decision.verdict, decision.do, decision.basis) == expected


def test_the_last_row_always_speaks() -> None:
    assert TABLE[-1](question(facts(), LEAVING)) is not None


def test_a_table_in_which_no_row_speaks_is_a_fault_of_the_program(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(verdict, "TABLE", TABLE[:-1])
    with pytest.raises(ValueError, match="must always speak"):
        by_table(question(facts(), LEAVING))
