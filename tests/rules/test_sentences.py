"""Every sentence of every rule's cases, as approved: a finding is read by people.

`REWRITE_GOLDEN=1` writes them anew; read the difference as a crew would.
"""

from __future__ import annotations

import os
from pathlib import Path

from tests.rules.test_rules import CLAIMS, judged

APPROVED = Path(__file__).parent / "golden" / "sentences.txt"


def sentences() -> str:
    """A line for each case: rule, rulebook, outcome, what it says."""
    lines = []
    for claim in CLAIMS:
        finding = judged(claim)
        lines.append(f"{claim.rule} {claim.rulebook} {finding.outcome}: {finding.text}")
    return "\n".join(dict.fromkeys(lines)) + "\n"


def test_every_sentence_reads_as_approved() -> None:
    told = sentences()
    if os.environ.get("REWRITE_GOLDEN"):
        APPROVED.parent.mkdir(exist_ok=True)
        APPROVED.write_text(told, encoding="utf-8")
    assert told == APPROVED.read_text(encoding="utf-8")


def test_no_sentence_shows_what_only_a_program_would_say() -> None:
    lines = sentences().splitlines()
    assert lines
    for line in lines:
        said = line.partition(": ")[2].partition(": judged for")[0]
        assert said.strip()
        for word in ("None", "nan", "True", "False", "_", "  ", "<", "{", "; ;"):
            assert word not in said, line
