"""Comparisons that become judgements: most rules are one of these with the right two figures."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from msgspec.structs import replace

from decision.rules.finding import (
    AT_LEAST,
    AT_MOST,
    FAIL,
    NOT_APPLICABLE,
    PASS,
    UNKNOWN,
    Judgement,
    Sense,
)

# A worse outcome decides for the whole: FAIL and UNKNOWN is FAIL.
WORST_FIRST: Final = (FAIL, UNKNOWN, PASS, NOT_APPLICABLE)


def at_least(
    what: str,
    value: float | None,
    limit: float | None,
    *,
    unit: str,
    missing: str = "",
    given: str = "",
) -> Judgement:
    """PASS when the value reaches the limit, UNKNOWN when either is missing."""
    judged = _compare(what, value, limit, unit=unit, sense=AT_LEAST, missing=missing)
    return replace(judged, given=given) if given else judged


def at_most(
    what: str, value: float | None, limit: float | None, *, unit: str, missing: str = ""
) -> Judgement:
    """PASS when the value does not exceed the limit, UNKNOWN when either is missing."""
    return _compare(what, value, limit, unit=unit, sense=AT_MOST, missing=missing)


def _compare(
    what: str, value: float | None, limit: float | None, *, unit: str, sense: Sense, missing: str
) -> Judgement:
    outcome = UNKNOWN
    if value is None or limit is None:
        what = f"{what} is not known{': ' + missing if missing else ''}"
    else:
        good = value >= limit if sense is AT_LEAST else value <= limit
        outcome = PASS if good else FAIL
    return Judgement(outcome=outcome, what=what, value=value, limit=limit, sense=sense, unit=unit)


def holds(condition: bool | None, *, yes: str, no: str, unknown: str) -> Judgement:
    """A yes-or-no question with a sentence for each answer; None is UNKNOWN."""
    if condition is None:
        return Judgement(outcome=UNKNOWN, what=unknown)
    return Judgement(outcome=PASS if condition else FAIL, what=yes if condition else no)


def doubtful(judgement: Judgement, doubt: str | None, *, lacks: tuple[str, ...] = ()) -> Judgement:
    """A PASS that rests on an incomplete reading is UNKNOWN; a FAIL stays one."""
    if doubt is None or judgement.outcome is not PASS:
        return judgement
    return replace(judgement, outcome=UNKNOWN, lacks=lacks).adding(f"but {doubt}")


def by_reading(
    what: str,
    value: float | None,
    limit: float | None,
    reached: bool | None,
    *,
    unit: str,
    why: str,
) -> Judgement:
    """A reading with bounds and gaps against a minimum; the reading says whether it is reached."""
    judged = at_least(what, value, limit, unit=unit, missing=why)
    if judged.outcome is UNKNOWN or reached is (judged.outcome is PASS):
        return judged
    outcome = UNKNOWN if reached is None else FAIL
    return replace(judged, outcome=outcome).adding(f"but {why}")


def not_applicable(why: str) -> Judgement:
    """The rule says nothing here, and why."""
    return Judgement(outcome=NOT_APPLICABLE, what=why)


def unknown(why: str, *, lacks: tuple[str, ...] = ()) -> Judgement:
    """The rule cannot be judged, and why; `lacks`: the names of what would have to be known."""
    return Judgement(outcome=UNKNOWN, what=why, lacks=lacks)


def worst_of(judgements: Iterable[Judgement]) -> Judgement:
    """The judgement that decides: the worst outcome, the first of that kind in order."""
    ordered = tuple(judgements)
    return min(ordered, key=lambda judgement: WORST_FIRST.index(judgement.outcome))
