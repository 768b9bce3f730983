"""Write the figures of a long run to `tests/long.md`: what ran, when, on which commit.

`python -m tests.long FOLDER [--out FILE] [--part TEXT]`: FOLDER holds reports of pytest in JUnit's
form (`*.xml`) and `mutants.json` of `tests.bench.mutants`; `sh tests/run.sh --long` makes them. A
run of a part of the tests says so with `--part`. Ends with 1 if a test failed or less than nine
mutants of ten were noticed.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final
from xml.etree import ElementTree as ET

from tests.bench.mutants import counted
from tests.bench.reach import SURVIVED

ROOT: Final = Path(__file__).parents[1]
OUT: Final = ROOT / "tests" / "long.md"
WANTED_PERCENT: Final = 90.0
SLOWEST: Final = 10
S_PER_MIN: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One test as the report has it."""

    file: str
    name: str
    fate: str
    took_s: float

    @property
    def room(self) -> str:
        """The folder that it lies in."""
        return "/".join(self.file.split("/")[:2])


def cases(report: Path) -> list[Case]:
    """All tests of a report. Raises ValueError when there are none: then nothing was run."""
    root = ET.parse(report).getroot()  # noqa: S314 - our own file
    found = [
        Case(
            file=f"{each.get('classname', '').replace('.', '/')}.py",
            name=each.get("name", ""),
            fate=_fate(each),
            took_s=float(each.get("time", "0")),
        )
        for each in root.iter("testcase")
    ]
    if not found:
        raise ValueError(f"{report}: no test was run")
    return found


def _fate(case: ET.Element) -> str:
    tags = {child.tag for child in case}
    if tags & {"failure", "error"}:
        return "failed"
    return "skipped" if "skipped" in tags else "passed"


def page(
    tests: Sequence[Case],
    mutants: dict[str, Any] | None,
    *,
    at: datetime,
    commit: str,
    part: str | None,
) -> str:
    """The page, from the figures of a run."""
    lines = [
        "# Figures of the long tier",
        "",
        "Written by `sh tests/run.sh --long`; not by hand.",
        "",
        f"{at:%Y-%m-%d %H:%M}Z, commit {commit}, Python {platform.python_version()}"
        f" on {os.cpu_count()} cores;"
        f" hypothesis profile `{os.environ.get('HYPOTHESIS_PROFILE', 'dev')}`,"
        f" {os.environ.get('PROPERTY_CASES', '100')} cases for each property from outside.",
        "",
    ]
    if part:
        lines += [f"**A part only: {part}.**", ""]
    lines += [*_tests(tests), *_mutants(mutants)]
    return "\n".join(lines).rstrip("\n") + "\n"


def _tests(tests: Sequence[Case]) -> Iterator[str]:
    yield "| tests of | run | passed | failed | skipped | minutes |"
    yield "| --- | --: | --: | --: | --: | --: |"
    for room in [*sorted({each.room for each in tests}), "all"]:
        own = [each for each in tests if room in (each.room, "all")]
        fates = [each.fate for each in own]
        took_min = sum(each.took_s for each in own) / S_PER_MIN
        yield (
            f"| {room} | {len(own)} | {fates.count('passed')} | {fates.count('failed')}"
            f" | {fates.count('skipped')} | {took_min:.1f} |"
        )
    failed = [each for each in tests if each.fate == "failed"]
    yield from ["", "Failed:", ""] if failed else []
    yield from (f"- `{each.file}::{each.name}`" for each in failed)
    yield from ["", "The slowest:", ""]
    for each in sorted(tests, key=lambda case: -case.took_s)[:SLOWEST]:
        yield f"- {each.took_s:.0f} s `{each.file}::{each.name}`"
    yield ""


def _mutants(told: dict[str, Any] | None) -> Iterator[str]:
    if told is None:
        yield "No mutants were run."
        return
    rows = told["mutants"]
    yield f"{len(rows)} mutants, seed {told['seed']}; one that hangs a test is noticed:"
    yield from ["", "| room | drawn | killed | survived | timed out | noticed |"]
    yield "| --- | --: | --: | --: | --: | --: |"
    for row in counted((row["room"], row["fate"]) for row in rows):
        yield f"| {' | '.join(row)} |"
    survivors = [row for row in rows if row["fate"] == SURVIVED]
    yield from ["", "Survived:", ""] if survivors else []
    yield from (f"- `{row['at']}` {row['what']} ({row['by']})" for row in survivors)


def is_good(tests: Sequence[Case], mutants: dict[str, Any] | None) -> bool:
    """Whether no test failed and enough mutants, if any were drawn, were noticed."""
    fates = [row["fate"] for row in mutants["mutants"]] if mutants else []
    enough = 100.0 * (len(fates) - fates.count(SURVIVED)) >= WANTED_PERCENT * len(fates)
    return enough and all(each.fate != "failed" for each in tests)


def commit_of(root: Path) -> str:
    """The commit, and whether the tree has changes that are not in it."""

    def git(*words: str) -> str:
        return subprocess.run(
            ["git", *words], cwd=root, check=True, capture_output=True, text=True
        ).stdout.strip()

    changed = git("status", "--porcelain", "--untracked-files=no")
    return git("rev-parse", "--short=12", "HEAD") + (" with changes" if changed else "")


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, default=OUT)
    parser.add_argument("--part", help="what was run, when it was not all")
    asked = parser.parse_args(arguments)
    tests = [each for report in sorted(asked.folder.glob("*.xml")) for each in cases(report)]
    if not tests:
        raise SystemExit(f"{asked.folder}: no report of pytest")
    fates = asked.folder / "mutants.json"
    mutants = json.loads(fates.read_text(encoding="utf-8")) if fates.exists() else None
    written = page(tests, mutants, at=datetime.now(UTC), commit=commit_of(ROOT), part=asked.part)
    asked.out.write_text(written, encoding="utf-8")
    return 0 if is_good(tests, mutants) else 1


if __name__ == "__main__":
    sys.exit(main())
