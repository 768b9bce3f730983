"""One error root and few leaves, with attributes instead of prose.

Expected outcomes ("no legal course") are values, not errors. Only `service/` maps these to HTTP.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

MAX_FAULTS: Final = 100
"""More of one request are not told: the last one counts the rest."""
LONGEST_GUESSED: Final = 40  # characters: no name that one could have meant is longer


class DecisionError(Exception):
    """Root of every error that `decision` raises on purpose."""


class OutOfRange(DecisionError, ValueError):
    """A number outside the range for which a formula or table holds."""

    def __init__(
        self, name: str, value: float, *, low: float, high: float, source: str = ""
    ) -> None:
        self.name, self.value, self.low, self.high, self.source = name, value, low, high, source
        where = f" [{source}]" if source else ""
        super().__init__(f"{name} is {value:g}; valid from {low:g} to {high:g}{where}")


def require_range(name: str, value: float, *, low: float, high: float, source: str = "") -> None:
    """Raise OutOfRange unless low <= value <= high (NaN never passes)."""
    if not low <= value <= high:
        raise OutOfRange(name, value, low=low, high=high, source=source)


class DataError(DecisionError):
    """A data file of the product or of an operator is wrong: names file, key and problem."""

    def __init__(self, file: str, key: str, problem: str) -> None:
        self.file, self.key, self.problem = file, key, problem
        super().__init__(f"{file}: {key}: {problem}")


class UnreadableReport(DecisionError):
    """A weather report of which not even the kind, station and time can be read."""

    def __init__(self, raw: str, problem: str) -> None:
        self.raw, self.problem = raw, problem
        super().__init__(f"{problem}: {raw[:60]!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with a request: where (JSON Pointer), what, and what would be accepted."""

    pointer: str
    code: str
    message: str
    accepted: str = ""


def meant(word: str, known: Iterable[str]) -> str:
    """What the word may be misspelt for, as the end of a message; empty if nothing is near."""
    if len(word) > LONGEST_GUESSED:
        return ""
    near = difflib.get_close_matches(word, sorted(known), n=1)
    return f"; did you mean {near[0]!r}?" if near else ""


def told(faults: Sequence[Fault]) -> tuple[Fault, ...]:
    """The faults, MAX_FAULTS at most: of more the last one says how many others there are."""
    if len(faults) <= MAX_FAULTS:
        return tuple(faults)
    first = faults[: MAX_FAULTS - 1]
    counted = Fault(
        pointer="",
        code="more",
        message=f"{len(faults) - len(first)} more faults are not told",
        accepted=f"at most {MAX_FAULTS} are told at once",
    )
    return (*first, counted)


class InvalidCase(DecisionError):
    """A request that cannot become a case; carries every fault found, not just the first."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{f.pointer}: {f.message}" for f in told(faults)))
