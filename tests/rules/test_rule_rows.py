"""What is known of a rule stands in its row: nobody else names one, and each member has words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from enum import Enum
from pathlib import Path
from typing import get_type_hints

import pytest
from msgspec import Meta

import decision
import service
from decision.answer.asks import ask_for
from decision.decide.completions import EVERYWHERE, cause_of
from decision.rules import RETIRED, RULES
from decision.rules.finding import Outcome
from decision.rules.registry import Rule
from decision.rules.row import Breach, Figure, Means, Mend, RuleRow, Topic
from tests.rules.test_rules import CLAIMS, Claim, judged

CODE = re.compile(rf"\b(?:{'|'.join(Topic)})-(?:[0-9]{{2}}\b|$)")
ROOTS = tuple(Path(str(each.__file__)).parent for each in (decision, service))
OWN = Path(decision.rules.__file__).parent
UNKNOWN = [each for each in CLAIMS if each.outcome is Outcome.UNKNOWN]


def codes_in(source: str) -> Iterator[str]:
    """Codes, and beginnings of codes, in the literals of a module and in its words."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield from CODE.findall(node.value)


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ('BAN = "AP-02"', ["AP-02"]),
        ('rule.startswith("WX-")', ["WX-"]),
        ('"""Oxygen decides (ER-05)."""', ["ER-05"]),
        ('say(f"{place} (LD-01)")', ["LD-01"]),
        ('key = "WMO-306"', []),
        ('row = "EU-AO-PLANNING"', []),
        ('words = "AD-hoc"', []),
    ],
)
def test_what_counts_as_naming_a_rule(source: str, found: list[str]) -> None:
    assert list(codes_in(source)) == found


def test_no_module_outside_the_rules_names_one() -> None:
    files = [path for root in ROOTS for path in root.rglob("*.py") if OWN not in path.parents]
    assert len(files) > 150
    named = {str(path): [*codes_in(path.read_text(encoding="utf-8"))] for path in files}
    assert {path: codes for path, codes in named.items() if codes} == {}


@pytest.mark.parametrize("member", Rule.__struct_fields__)
def test_every_member_of_a_row_says_what_it_means(member: str) -> None:
    told = get_type_hints(Rule, include_extras=True)[member].__metadata__
    (meta,) = [each for each in told if isinstance(each, Meta)]
    assert len(str(meta.description).split()) > 3
    assert str(meta.description).endswith(".")


@pytest.mark.parametrize("rule", [pytest.param(each, id=each.code) for each in RULES])
def test_every_rule_says_whom_its_unknown_asks_of_what(rule: RuleRow) -> None:
    assert rule.code.startswith(f"{rule.topic}-")
    for words in (rule.topic.heading, rule.asked.whom, rule.asked.lacks, rule.mend.value):
        assert words


@pytest.mark.parametrize("claim", [pytest.param(each, id=each.rule) for each in UNKNOWN])
def test_what_is_unknown_can_be_asked_for_in_words(claim: Claim) -> None:
    """No code and no letters of a topic stand where words should."""
    ask = ask_for(cause_of(judged(claim)), None)
    assert ask.whom
    assert len(ask.what.split()) > 1
    assert ask.what.split()[0] not in {*Topic}


def test_fuel_is_one_thing_for_all_places() -> None:
    fuel = [cause_of(judged(each)) for each in UNKNOWN if each.rule in ("FU-01", "FU-02", "CM-05")]
    assert len(fuel) > 2
    assert {place for place, *_ in fuel} == {EVERYWHERE}


def test_a_figure_has_one_rule_and_every_topic_mend_and_meaning_has_some() -> None:
    assert [sum(rule.figure is each for rule in RULES) for each in Figure] == [1] * len(Figure)
    assert {rule.topic for rule in RULES} == {*Topic}
    assert {rule.mend for rule in RULES} == {*Mend}
    assert {one for each in Breach for one in Means if one in each.means} == {*Means}


def test_a_rule_is_told_by_another_that_there_is() -> None:
    codes = {rule.code for rule in RULES}
    told_by = {rule.told_by for rule in RULES if rule.told_by}
    assert told_by
    assert told_by <= codes
    assert not codes & set(RETIRED)


@pytest.mark.parametrize("kind", [Breach, Topic, Mend, Means, Figure])
def test_every_kind_of_member_says_what_it_is(kind: type[Enum]) -> None:
    assert kind.__doc__
    assert len(kind) > 1
