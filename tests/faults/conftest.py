"""The table of faults: what is promised, and what a run has seen.

`WRITE_FAULTS=1 python -m pytest tests/faults -p no:xdist` writes it into DEVELOPERS.md; with
`WRITE_FAULTS=some` and some of the tests, the rows of the others stay as they are.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import Protocol

import pytest

from service.settings import ROOT

PAGE = ROOT / "DEVELOPERS.md"
SOME = "some"
THOUSAND = 1_000
BEGIN, END = "<!-- faults: written by tests -->", "<!-- end of faults -->"
SEEN: dict[str, dict[tuple[str, str], list[float]]] = {}
ROWS: dict[str, tuple[str, str]] = {}
FAILED: set[str] = set()


class Seen(Protocol):
    """Takes down what was seen; the same words of several runs become one with a range."""

    def __call__(self, words: str, figure: float, unit: str) -> None: ...


@pytest.fixture
def seen(request: pytest.FixtureRequest) -> Seen:
    """What the test has seen, for the table."""
    of_test = SEEN.setdefault(_test(request.node), {})

    def take_down(words: str, figure: float, unit: str) -> None:
        of_test.setdefault((words, unit), []).append(figure)

    return take_down


def _test(item: pytest.Item) -> str:
    return f"{item.path.name}::{getattr(item, 'originalname', item.name)}"


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Note what the test promises."""
    mark = item.get_closest_marker("fault")
    if mark is not None:
        fault, promise = mark.args
        ROWS[_test(item)] = (fault, promise)


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note what did not hold."""
    if report.failed:
        FAILED.add(report.nodeid.split("[")[0].rsplit("/", 1)[-1])


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write the table where that is asked for."""
    if os.environ.get("WRITE_FAULTS") and not hasattr(session.config, "workerinput"):
        text = PAGE.read_text(encoding="utf-8")
        before, _, rest = text.partition(BEGIN)
        _, _, after = rest.partition(END)
        kept = rows_of(rest) if os.environ["WRITE_FAULTS"] == SOME else {}
        PAGE.write_text(f"{before}{BEGIN}\n\n{table(kept)}\n{END}{after}", encoding="utf-8")


def rows_of(text: str) -> dict[str, str]:
    """The rows of a table by their faults."""
    lines = [line for line in text.partition(END)[0].splitlines() if line.startswith("| ")]
    return {line.split(" | ")[0].removeprefix("| "): line for line in lines[2:]}


def table(kept: Mapping[str, str]) -> str:
    """A row for each promise; those kept stand first, what was tried again in its old place."""
    at = datetime.now(UTC)
    lines = [
        f"Seen on {at:%Y-%m-%d}, on {os.cpu_count()} cores.",
        "",
        "| fault | promise | seen |",
        "| --- | --- | --- |",
    ]
    rows = dict(kept)
    for test, (fault, promise) in ROWS.items():
        fate = "not held" if test in FAILED else "held"
        held = "; ".join([fate, *map(_words, _seen_of(test))])
        rows[fault] = f"| {fault} | {promise} | {held} |"
    return "\n".join([*lines, *rows.values()]) + "\n"


def _seen_of(test: str) -> Iterable[tuple[tuple[str, str], list[float]]]:
    return SEEN.get(test, {}).items()


def _words(row: tuple[tuple[str, str], list[float]]) -> str:
    (words, unit), figures = row
    low, high = (_plain(each) for each in (min(figures), max(figures)))
    return f"{words} {low if low == high else f'{low} to {high}'}{unit and ' ' + unit}"


def _plain(figure: float) -> str:
    """Three figures, and of thousands all."""
    return f"{figure:,.0f}" if figure >= THOUSAND else f"{figure:.3g}"
