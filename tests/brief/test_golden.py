"""Golden briefs: the demo cases as a crew reads them.

Rewritten only on purpose: REWRITE_GOLDEN=1 pytest tests/brief. Figures are asserted elsewhere.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from decision.brief import RULER, SCREEN_LINES, WIDTH, brief
from decision.case import case_from_mapping
from tests.answer.told import told_of
from tests.case.builders import NAMES, demo

GOLDEN = Path(__file__).parent / "golden"


@pytest.mark.parametrize("name", NAMES)
def test_the_brief_of_a_demo_case_reads_as_approved(name: str) -> None:
    text = brief(told_of(case_from_mapping(demo(name))))
    file = GOLDEN / f"{name}.txt"
    if os.environ.get("REWRITE_GOLDEN") == "1":
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_the_decision_fits_a_screen_and_the_rest_a_second(name: str) -> None:
    """The first screen of a small terminal; the rest a long page, read when there is time."""
    text = brief(told_of(case_from_mapping(demo(name))))
    decision, _, rest = text.partition(RULER)
    assert all(len(line) <= WIDTH for line in text.splitlines())
    assert decision.count("\n") < SCREEN_LINES
    assert rest.count("\n") <= MOST_LINES


MOST_LINES = 140
