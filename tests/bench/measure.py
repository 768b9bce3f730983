"""Two ways to do the same work, timed alternately in one run, and a fixed piece of work with them.

Machines differ and are noisy; the ratio of two medians of one run travels. Time is that of the
processor, so that what else runs beside counts little; work that other processes do is not in that,
so a comparison with them names the clock on the wall and needs a quiet machine. Nothing here passes
or fails: figures are printed.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from tests.bench.yardstick import fixed_work

WARM_UP_ROUNDS = 2
ROUNDS = 15
SHORTEST_ROUND_S = 0.004


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to do the work; a call does `items` pieces of it.

    `before` is called untimed before each call that it is given for: what a process already knows.
    """

    label: str
    call: Callable[[], object]
    items: int = 1
    before: Callable[[], object] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The same work, ours first and another way beside it, both by the same clock.

    `rounds`: fewer where one takes seconds. `target`: what the design asks of it, in words.
    """

    title: str
    ours: Way
    yardstick: Way
    clock_s: Callable[[], float] = time.process_time
    rounds: int = ROUNDS
    target: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Medians per item."""

    comparison: Comparison
    ours_us: float
    yardstick_us: float
    fixed_us: float

    @property
    def yardsticks(self) -> float:
        """How many times as long as the fixed piece of work it takes: alike on all machines."""
        return self.ours_us / self.fixed_us

    @property
    def ratio(self) -> float:
        """How many times as long the other way takes."""
        return self.yardstick_us / self.ours_us


FIXED = Way(label="the fixed piece of work", call=fixed_work)


def measure(comparison: Comparison) -> Measured:
    """Time both ways and the fixed piece of work in alternating rounds."""
    ways = (comparison.ours, comparison.yardstick, FIXED)
    clock_s = comparison.clock_s
    repeats = [_repeats(way, clock_s) for way in ways]
    rounds: tuple[list[float], ...] = ([], [], [])
    for index in range(WARM_UP_ROUNDS + comparison.rounds):
        for way, count, times in zip(ways, repeats, rounds, strict=True):
            elapsed_s = _round_s(way, count, clock_s)
            if index >= WARM_UP_ROUNDS:
                times.append(elapsed_s / count / way.items * 1e6)
    ours, yardstick, fixed = (statistics.median(times) for times in rounds)
    return Measured(comparison=comparison, ours_us=ours, yardstick_us=yardstick, fixed_us=fixed)


def _repeats(way: Way, clock_s: Callable[[], float]) -> int:
    """Calls that make a round long enough for the clock; one where each must be prepared."""
    if way.before is not None:
        return 1
    way.call()
    return max(1, round(SHORTEST_ROUND_S / max(_round_s(way, 1, clock_s), 1e-7)))


def _round_s(way: Way, count: int, clock_s: Callable[[], float]) -> float:
    if way.before is not None:
        way.before()
    start_s = clock_s()
    for _ in range(count):
        way.call()
    return clock_s() - start_s


def table(measured: Iterable[Measured]) -> str:
    """Aligned text, one line per comparison."""
    lines = [
        f"{'work':<34} {'ours':<26} {'us':>11} {'yardsticks':>10}"
        f"  {'beside it':<26} {'us':>11} {'ratio':>7}  target"
    ]
    lines.extend(
        f"{row.comparison.title:<34} {row.comparison.ours.label:<26} {row.ours_us:>11.2f}"
        f" {row.yardsticks:>10.2f}  {row.comparison.yardstick.label:<26}"
        f" {row.yardstick_us:>11.2f} {row.ratio:>7.2f}  {row.comparison.target}".rstrip()
        for row in measured
    )
    return "\n".join(lines)
