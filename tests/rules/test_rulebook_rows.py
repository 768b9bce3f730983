"""Every row of a rulebook is read, or says that it is for people; a rule reads the row it cites."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import decision
from decision.attempt.attempt import Attempt
from decision.rulebooks.rulebook import Rulebook, load_rulebook, rulebook_ids
from decision.rules import RULES
from decision.rules.finding import Judgement
from decision.rules.policy import deviations
from decision.rules.registry import Beside, Rule
from tests.attempt.minima_builders import rulebook_with
from tests.changing import replace
from tests.rules.builders import PROCEDURE, attempt, context
from tests.rules.test_rules import CLAIMS, Claim, judge

ROOMS = (
    "flight",
    "attempt",
    "rules",
    "decide",
    "what_if",
    "answer",
)  # those that may know a rulebook
ROOT = Path(decision.__file__).parent
RULE_TABLES = frozenset({"Rule", "CourseRule", "RuleAmong"})
CITED = Rule.__struct_fields__.index("row")
QUESTIONS = frozenset({"row", "number", "number_or_none", "word", "flag", "gradient_percent"})
BOOKS = tuple(load_rulebook(each) for each in rulebook_ids())
NAMES = tuple(BOOKS[0].rows)

# --- read or for reference ---


def cited_only(node: ast.AST) -> Iterator[ast.AST]:
    """What names a row without asking for its value: a rule's citation, or nothing but one."""
    if isinstance(node, ast.Call) and getattr(node.func, "id", None) in RULE_TABLES:
        yield from node.args[CITED : CITED + 1]
    if isinstance(node, ast.Attribute) and node.attr == "citation":
        yield from ast.walk(node.value)


def names_in(node: ast.AST) -> Iterator[str]:
    """Regular expressions of the row that a string may name; one put together, in a question."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield re.escape(node.value)
    if isinstance(node, ast.Call) and getattr(node.func, "attr", None) in QUESTIONS:
        for asked in node.args:
            if isinstance(asked, ast.JoinedStr):
                yield "".join(
                    re.escape(str(each.value)) if isinstance(each, ast.Constant) else r"\w+"
                    for each in asked.values
                )


def patterns(tree: ast.AST) -> Iterator[str]:
    """Regular expressions of the rows whose value a module may ask for."""
    skipped = {id(each) for node in ast.walk(tree) for each in cited_only(node)}
    for node in ast.walk(tree):
        if id(node) not in skipped:
            yield from names_in(node)


def read_by(source: str) -> set[str]:
    asked = set(patterns(ast.parse(source)))
    return {name for name in NAMES if any(re.fullmatch(each, name) for each in asked)}


def read_anywhere() -> set[str]:
    files = [path for room in ROOMS for path in (ROOT / room).rglob("*.py")]
    assert len(files) > 30
    return {name for path in files for name in read_by(path.read_text(encoding="utf-8"))}


READ = read_anywhere()


def with_value(name: str) -> bool:
    return any(book.row(name).value is not None for book in BOOKS)


def test_a_row_with_a_value_is_read_or_says_that_it_is_for_reference() -> None:
    unread = {name for name in NAMES if with_value(name) and name not in READ}
    reference = {name for name in NAMES if BOOKS[0].row(name).reference}
    assert unread == reference


def test_a_row_is_for_reference_in_every_rulebook_or_in_none() -> None:
    assert NAMES
    for name in NAMES:
        assert len({book.row(name).reference for book in BOOKS}) == 1, name


@pytest.mark.parametrize(
    ("source", "read"),
    [
        ('book.number("final_reserve_min")', {"final_reserve_min"}),
        (
            'book.number("level_segment_slow_m" if a else "level_segment_fast_m")',
            {"level_segment_slow_m", "level_segment_fast_m"},
        ),
        (
            'book.number(f"alternate_{bar}_before_min")',
            {"alternate_in_flight_before_min", "alternate_planning_before_min"},
        ),
        ('Rule("AD-01", "Title", "final_reserve_min", Breach.GUIDANCE, judge)', set()),
        ('Bounded(field="a", row="landing_arrival_factor")', {"landing_arrival_factor"}),
        ('say(book.row("ban_on_ceiling").citation)', set()),
        ('row = book.row("ban_on_ceiling")', {"ban_on_ceiling"}),
        ('"the final_reserve_min of the book"', set()),
        ('say(f"{name}")', set()),
    ],
)
def test_what_counts_as_reading_a_row(source: str, read: set[str]) -> None:
    assert read_by(source) == read


# --- limits through the row that is cited ---


MORE = 1.07
# What the table of cases has no case of, because a chart or the operator speaks there.
UNCHARTED = attempt(approach=replace(PROCEDURE, missed_gradient_percent=None))
MORE_SUBJECTS = {"MA-01": UNCHARTED}
# Rules whose limit reaches them through something that reads the row, tried where it is read.
ELSEWHERE = {
    "FU-02": "the reserve in the ledger: test_landing_error",
}


def figured() -> list[tuple[str, str]]:
    """Code and rulebook of every rule whose row has a figure there, or a yes or no."""
    return [
        (rule.code, book.id)
        for rule in RULES
        for book in BOOKS
        if isinstance(book.row(rule.row).value, float | bool)
    ]


def told(claim: Claim, book: Rulebook) -> Judgement:
    return judge(claim, replace(context(book.id, **(claim.changes or {})), rulebook=book)).judgement


def cases_of(code: str) -> list[Claim]:
    cases = [each for each in CLAIMS if each.rule == code and not isinstance(each.subject, Beside)]
    subject = MORE_SUBJECTS.get(code)
    if subject is not None:
        assert isinstance(subject, Attempt)
        cases.append(cases[0]._replace(subject=subject, changes=None))
    return cases


@pytest.mark.parametrize(("code", "rulebook"), figured())
def test_the_figure_of_the_row_that_a_rule_cites_is_its_limit(code: str, rulebook: str) -> None:
    """A greater or a smaller figure, or the other answer, changes what the rule says."""
    if code in ELSEWHERE:
        return
    book = load_rulebook(rulebook)
    row = book.row(next(rule.row for rule in RULES if rule.code == code))
    assert isinstance(row.value, float | bool)
    values: tuple[float, ...] = (not row.value,)
    if isinstance(row.value, float):
        values = (row.value * MORE or 1.0, row.value / MORE or 1.0)
    others = [rulebook_with(rulebook, **{row.name: value}) for value in values]
    cases = cases_of(code)
    assert cases
    assert any(told(each, book) != told(each, other) for each in cases for other in others)


def test_only_rules_with_a_figure_are_tried_elsewhere() -> None:
    assert set(ELSEWHERE) <= {code for code, _ in figured()}
    assert len(figured()) > 15


@pytest.mark.parametrize("rulebook", rulebook_ids())
def test_the_operators_landing_factor_is_bounded_by_the_row(rulebook: str) -> None:
    unsaid = context().case.policy
    assert unsaid.landing_factor is None
    assert deviations(unsaid, rulebook_with(rulebook, landing_arrival_factor=1.2)) == ()
    policy = replace(unsaid, landing_factor=1.15)
    assert deviations(policy, load_rulebook(rulebook)) == ()
    (found,) = deviations(policy, rulebook_with(rulebook, landing_arrival_factor=1.2))
    assert (found.field, found.limit) == ("landing_factor", 1.2)
