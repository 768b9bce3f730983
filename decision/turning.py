"""Where something turns: the one search between a value at which it holds and one at which not.

Nothing is known of it but that: of several places where it turns, one is found. The value told is
one that was tried, never one in between.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

Seen = TypeVar("Seen")


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe(Generic[Seen]):
    """A value that was tried, and what was seen there."""

    value: float
    seen: Seen


Between = Callable[[Probe[Seen], Probe[Seen]], float]
"""The value to try next between two probes."""


def halfway(good: Probe[Seen], bad: Probe[Seen]) -> float:
    """The value in the middle."""
    return (good.value + bad.value) / 2.0


def middle(good: Probe[Seen], bad: Probe[Seen]) -> float:
    """The whole number in the middle of two whole numbers, or below it."""
    return halfway(good, bad) // 1.0


def turn(
    at: Callable[[float], Seen],
    holds: Callable[[Seen], bool],
    good: Probe[Seen],
    bad: Probe[Seen],
    *,
    step: float,
    between: Between[Seen] = halfway,
) -> tuple[Probe[Seen], Probe[Seen]]:
    """The last value at which it holds and the first at which it does not, to one step."""
    while abs(bad.value - good.value) > step:
        value = between(good, bad)
        probe = Probe(value=value, seen=at(value))
        if holds(probe.seen):
            good = probe
        else:
            bad = probe
    return good, bad


def last_good(
    holds: Callable[[float], bool],
    *,
    good: float,
    bad: float,
    step: float,
    between: Between[bool] = halfway,
) -> float:
    """The last value at which it holds, to one step; `good` is known to, `bad` not to."""
    ends = Probe(value=good, seen=True), Probe(value=bad, seen=False)
    return turn(holds, bool, *ends, step=step, between=between)[0].value
