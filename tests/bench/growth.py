"""How the work of one decision grows with its case: `python -m tests.bench.growth` draws it.

One part of a case grows from its least to its most while the rest stays as it is. Operations are
counted, and so are alike on every machine; time is that of the processor, beside the fixed piece of
work in the same run, and is of the machine that drew it.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final

from decision.case import case_from_mapping
from decision.case.types import MAX_ALTERNATES, MAX_APPROACHES, MAX_REPORTS
from decision.decide.work import Work
from decision.recommend import recommend_mapping
from decision.units import PERCENT
from service.charts import ChartAxis, Dot, Series, line_chart
from service.documents import FIGURES
from tests.bench.decisions import another
from tests.bench.measure import FIXED
from tests.case.flights import each_failure, large

ROUNDS: Final = 5
MOST_FAILURES: Final = 10  # that no state of the aircraft contradicts; more are no flight
MOST_WINDS: Final = 40
USUAL: Final[Mapping[str, int]] = {"alternates": 2, "approaches": 2, "number": 6, "winds": 5}
Flight = Callable[[int], dict[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a case that grows: how many of it, and the flight with so many."""

    name: str
    sizes: tuple[int, ...]
    flight: Flight


def usual(**changed: int) -> dict[str, Any]:
    """A flight of an ordinary size but for what is changed."""
    return large(**{**USUAL, **changed})


def with_failures(number: int) -> dict[str, Any]:
    """The flight with so many failures at once."""
    one_by_one = islice(each_failure(usual()), 0, None, 7)  # of different systems
    return {**usual(), "failures": [each["failures"][0] for each in islice(one_by_one, number)]}


PARTS: Final = (
    Part(
        name="alternates",
        sizes=(1, 2, 5, 10, 15, MAX_ALTERNATES),
        flight=lambda n: usual(alternates=n, number=2 * (n + 1)),
    ),
    Part(
        name="approaches of a place",
        sizes=(1, 2, 5, 10, 20, MAX_APPROACHES),
        flight=lambda n: usual(approaches=n),
    ),
    Part(name="failures", sizes=(1, 2, 4, 7, MOST_FAILURES), flight=with_failures),
    Part(
        name="reports",
        sizes=(6, 50, 100, 250, 500, MAX_REPORTS),
        flight=lambda n: usual(number=n),
    ),
    Part(
        name="winds aloft",
        sizes=(1, 5, 10, 20, MOST_WINDS),
        flight=lambda n: usual(winds=n),
    ),
)


def operations(body: dict[str, Any]) -> int:
    """The count of one decision, by which optional parts are left out."""
    work = Work()
    recommend_mapping(case_from_mapping(body), work=work)
    return work.done


def yardsticks(body: dict[str, Any]) -> float:
    """Processor time of a decision that nobody made before, beside the fixed piece of work."""
    case = case_from_mapping(body)
    ours, fixed = [], []
    for _ in range(1 + ROUNDS):
        begun_s = time.process_time()
        recommend_mapping(another(case))
        between_s = time.process_time()
        FIXED.call()
        ours.append(between_s - begun_s)
        fixed.append(time.process_time() - between_s)
    return statistics.median(ours[1:]) / statistics.median(fixed[1:])


def curves(figure: Callable[[dict[str, Any]], float]) -> Iterator[Series]:
    """A line for each part: the figure over the share of the most that a case may have."""
    markers = (
        Dot.CIRCLE,
        Dot.SQUARE,
        Dot.DIAMOND,
        Dot.TRIANGLE,
        Dot.CROSS,
    )
    for part, marker in zip(PARTS, markers, strict=True):
        most = part.sizes[-1]
        points = tuple((n / most * PERCENT, figure(part.flight(n))) for n in part.sizes)
        yield Series(label=f"{part.name}, to {most}", points=points, marker=marker)


def chart(title: str, axis: ChartAxis, series: Sequence[Series]) -> str:
    """The lines of one figure."""
    most = ChartAxis(name="of the most that a case may have", unit="%", low=0.0, high=100.0)
    return line_chart(title=title, x=most, y=axis, series=series)


def counted_chart() -> str:
    """The operations, alike on every machine."""
    axis = ChartAxis(name="operations", unit="", low=0.0)
    return chart("Operations of a decision", axis, list(curves(operations)))


def timed_chart() -> str:
    """The time, of the machine that draws."""
    axis = ChartAxis(name="processor time in fixed pieces of work", unit="", low=0.0)
    return chart("Time of a decision", axis, list(curves(yardsticks)))


def draw() -> None:
    """Write both among the figures of the documentation."""
    drawn = {"growth-operations.svg": counted_chart(), "growth-time.svg": timed_chart()}
    for name, svg in drawn.items():
        (FIGURES / name).write_text(svg, encoding="utf-8")
        sys.stdout.write(f"{name} written\n")


if __name__ == "__main__":
    draw()
