"""The page of figures says what the reports of a run say, and calls a bad run bad."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.counts import follow, in_proportion
from tests.long import ROOT, Case, cases, is_good, main, page

AT = datetime(2026, 11, 29, 23, 5, tzinfo=UTC)
REPORT = """<?xml version="1.0"?>
<testsuites><testsuite name="pytest" tests="4">
<testcase classname="tests.case.test_build" name="test_one" time="90.0"/>
<testcase classname="tests.case.test_build" name="test_two[a/b]" time="30.0">{failure}</testcase>
<testcase classname="tests.service.fetching.test_tls" name="test_three" time="6.0"/>
<testcase classname="tests.service.test_store" name="test_four" time="0.0"><skipped/></testcase>
</testsuite></testsuites>
"""
FAILURE = '<failure message="assert 1 == 2">where</failure>'


def mutant(fate: str, at: str = "decision/rules/fuel.py:7") -> dict[str, str]:
    return {
        "room": "decision/rules",
        "at": at,
        "what": "3 -> 4",
        "fate": fate,
        "by": "2 files pass",
    }


def told(killed: int, survived: int) -> dict[str, Any]:
    rows = [mutant("killed")] * killed + [mutant("survived", "decision/rules/x.py:9")] * survived
    return {"seed": 5, "mutants": rows}


def run(folder: Path, mutants: dict[str, Any] | None, *, failure: str = "") -> list[Case]:
    (folder / "tests.xml").write_text(REPORT.format(failure=failure))
    if mutants is not None:
        (folder / "mutants.json").write_text(json.dumps(mutants))
    return cases(folder / "tests.xml")


def test_the_page_has_date_commit_counts_by_room_and_the_survivors(tmp_path: Path) -> None:
    found = run(tmp_path, None, failure=FAILURE)
    written = page(found, told(9, 1), at=AT, commit="abc123 with changes", part=None)
    lines = written.splitlines()
    assert "2026-11-29 23:05Z, commit abc123 with changes, Python " in written
    assert "| tests/case | 2 | 1 | 1 | 0 | 2.0 |" in lines
    assert "| tests/service | 2 | 1 | 0 | 1 | 0.1 |" in lines
    assert "| all | 4 | 2 | 1 | 1 | 2.1 |" in lines
    assert "- `tests/case/test_build.py::test_two[a/b]`" in lines
    assert "- 90 s `tests/case/test_build.py::test_one`" in lines
    assert "10 mutants, seed 5; one that hangs a test is noticed:" in lines
    assert "| decision/rules | 10 | 9 | 1 | 0 | 90.0 % |" in lines
    assert "- `decision/rules/x.py:9` 3 -> 4 (2 files pass)" in lines
    assert "A part only" not in written


def test_a_part_says_that_it_is_one_and_what_was_not_run(tmp_path: Path) -> None:
    written = page(run(tmp_path, None), None, at=AT, commit="abc", part="tests/case")
    assert "**A part only: tests/case.**" in written.splitlines()
    assert "No mutants were run." in written.splitlines()
    assert "Failed:" not in written


@pytest.mark.parametrize(
    ("failure", "mutants", "good"),
    [
        ("", None, True),
        ("", told(9, 1), True),
        ("", told(89, 11), False),
        (FAILURE, told(9, 1), False),
        ("<error>in a fixture</error>", None, False),
    ],
)
def test_a_failed_test_or_too_many_survivors_make_a_bad_run(
    tmp_path: Path, failure: str, mutants: dict[str, Any] | None, good: bool
) -> None:
    found = run(tmp_path, mutants, failure=failure)
    assert is_good(found, mutants) is good
    out = tmp_path / "long.md"
    assert main([str(tmp_path), "--out", str(out)]) == (0 if good else 1)
    assert out.read_text().startswith("# Figures of the long tier\n")


def test_all_reports_of_a_run_count_and_one_without_any_is_none(tmp_path: Path) -> None:
    out = tmp_path / "long.md"
    with pytest.raises(SystemExit, match="no report of pytest"):
        main([str(tmp_path), "--out", str(out)])
    run(tmp_path, None)
    (tmp_path / "clock.xml").write_text(REPORT.format(failure=FAILURE))
    assert main([str(tmp_path), "--out", str(out)]) == 1
    assert "| all | 8 | 5 | 1 | 2 | 4.2 |" in out.read_text().splitlines()


def test_a_report_of_no_test_is_no_run(tmp_path: Path) -> None:
    (tmp_path / "tests.xml").write_text("<testsuites><testsuite/></testsuites>")
    with pytest.raises(ValueError, match="no test was run"):
        cases(tmp_path / "tests.xml")


def drawn_by(*, usual: int, stated: int) -> int:
    """How many examples a law with that count is really tried on in a tier."""
    drawn = 0

    @settings(database=None, max_examples=stated)
    @given(st.integers())
    def law(_number: int) -> None:
        nonlocal drawn
        drawn += 1

    follow(law, usual=usual)
    law()
    return drawn


def test_a_law_that_states_its_count_is_tried_in_proportion_to_the_tier() -> None:
    assert drawn_by(usual=100, stated=30) == 30
    assert drawn_by(usual=500, stated=30) == 150
    assert drawn_by(usual=10, stated=30) == 3
    assert in_proportion(3, usual=10) == 1


def test_a_law_without_a_count_of_its_own_has_that_of_the_profile() -> None:
    assert settings.default is not None
    usual = settings.default.max_examples
    assert drawn_by(usual=1500, stated=usual) == usual


LAW = """
import os
from hypothesis import given, settings, strategies as st

drawn = 0


@settings(max_examples=40, database=None)
@given(st.integers())
def test_law(number):
    global drawn
    drawn += 1


def test_drawn():
    assert drawn == int(os.environ["DRAWN"])
"""


@pytest.mark.parametrize(("profile", "drawn"), [("few", 4), ("nightly", 200)])
def test_the_tier_reaches_the_laws_that_are_collected(
    tmp_path: Path, profile: str, drawn: int
) -> None:
    (tmp_path / "test_law.py").write_text(LAW)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:randomly", "-p", "tests.conftest"]
    command += ["-p", "no:cacheprovider", "-c", str(ROOT / "pyproject.toml"), str(tmp_path)]
    tier = {"HYPOTHESIS_PROFILE": profile, "DRAWN": str(drawn)}
    done = subprocess.run(
        command, cwd=ROOT, env=os.environ | tier, capture_output=True, text=True, check=False
    )
    assert "2 passed" in done.stdout, done.stdout
