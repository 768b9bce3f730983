"""The page of rules against the rules and rulebooks that it is written from."""

from __future__ import annotations

import re

import pytest

from decision.rulebooks.rulebook import load_rulebook, rulebook_ids
from decision.rules import RULES
from decision.rules.row import RuleRow
from decision.workbench.rules_page import page
from service.documents import FOLDER

TEXT = (FOLDER / "rules.md").read_text(encoding="utf-8")


def part(title: str) -> str:
    return TEXT.partition(f"{title}\n")[2].partition("\n##")[0]


def test_the_page_is_what_rules_and_rulebooks_say() -> None:
    assert page() == TEXT


@pytest.mark.parametrize("rule", [pytest.param(each, id=each.code) for each in RULES])
def test_every_rule_tells_what_it_judges_where_and_by_which_clause(rule: RuleRow) -> None:
    told = part(f"### {rule.code} {rule.title}")
    assert "Judged for " in told
    assert rule.asked.whom in told
    assert len(told.partition("Judged for")[0].split()) > 5
    for book in rulebook_ids():
        cited = load_rulebook(book).row(rule.row)
        (line,) = [each for each in told.splitlines() if each.startswith(f"| {book} |")]
        assert f"[{cited.cite}] {cited.clause}" in line
        assert f"| {cited.confidence} | {cited.force} |" in line


def test_every_row_of_every_rulebook_is_on_the_page() -> None:
    named = re.findall(r"^\| `(\w+)` \| ", part("## Every row of the rulebooks"), re.MULTILINE)
    assert named == list(load_rulebook("icao").rows)


def test_no_cell_breaks_its_table() -> None:
    rows = [line for line in TEXT.splitlines() if line.startswith("| ")]
    assert {line.count(" | ") for line in rows} == {3, 6}, rows
