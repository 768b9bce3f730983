"""How a decision under watch stands, and whether that differs from what was told last.

Told is a change of the verdict, of what to do, of the place, and of the deadline. A deadline is
worked out to the second and read to the minute, and it shifts by seconds each time: earlier is told
when the minute is another one, later when it is a minute or more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Annotated, Any, Final

from msgspec import Struct

from decision.answer.types import Action, DeadlineTold, Look
from decision.decide.decision import FuelState, Verdict
from decision.fields import Instant, about

Data = Mapping[str, Any]

MINUTE: Final = timedelta(minutes=1)
ORDER: Final = tuple(Verdict)  # the best first
SHOWN: Final = (
    "as_of",
    "verdict",
    "action",
    "deadline",
    "headline",
    "fuel_state",
    "next_look",
    "valid_until",
)
TOLD_DEADLINE: Final = "told_deadline_at"
"""Beside what is shown: the deadline that callers know of, which may be off by seconds."""


class StandingTold(Struct, frozen=True, kw_only=True, gc=False):
    """How a decision under watch stands, as it was recorded last."""

    decision: Annotated[str, about("Id of the record.")]
    as_of: Annotated[Instant, about("The moment of deciding.")]
    verdict: Annotated[Verdict, about("Go or no go.")]
    action: Annotated[Action, about("What to do.")]
    deadline: Annotated[
        DeadlineTold | None, about("By when the action is to be begun; null: none.")
    ]
    headline: Annotated[str, about("The decision in words.")]
    fuel_state: Annotated[FuelState, about("State of the fuel.")]
    next_look: Annotated[Look, about("When to look again, and for what.")]
    valid_until: Annotated[Look, about("When the first thing in it stops holding.")]


def standing_of(answer: Data, *, told: Data | None = None) -> dict[str, Any]:
    """How an answer stands; `told`: with the deadline of what was told, if it is not told anew."""
    return {
        "decision": answer["id"],
        **{name: answer.get(name) for name in SHOWN},
        TOLD_DEADLINE: deadline_at(answer) if told is None else told[TOLD_DEADLINE],
    }


def shown(standing: Data) -> dict[str, Any]:
    """What of it is published."""
    return {name: value for name, value in standing.items() if name != TOLD_DEADLINE}


def deadline_at(answer: Data) -> str | None:
    """The moment of a deadline as text; None without one."""
    deadline = answer.get("deadline")
    return None if deadline is None else str(deadline["at"])


def moved(told: Data, answer: Data) -> tuple[str, ...]:
    """What an answer has other than what was told: of verdict, action, place and deadline."""
    was, now = told["action"], answer["action"]
    place = ("aerodrome", "runway")
    differs = {
        "verdict": told["verdict"] != answer["verdict"],
        "action": was["do"] != now["do"],
        "place": [was[each] for each in place] != [now[each] for each in place],
        "deadline": _other_deadline(told[TOLD_DEADLINE], deadline_at(answer)),
    }
    return tuple(name for name, other in differs.items() if other)


def is_worse(told: Data, answer: Data, *, what: Sequence[str]) -> bool:
    """Whether what has changed leaves less: a worse verdict, or less time for the same action."""
    before, after = ORDER.index(told["verdict"]), ORDER.index(answer["verdict"])
    if before != after:
        return after > before or answer["verdict"] == Verdict.INSUFFICIENT_DATA
    was, now = told[TOLD_DEADLINE], deadline_at(answer)
    return "deadline" in what and now is not None and (was is None or _at(now) < _at(was))


def _other_deadline(told: str | None, now: str | None) -> bool:
    if told is None or now is None:
        return told is not now
    was_at, now_at = _at(told), _at(now)
    if now_at < was_at:
        return _minute(now_at) < _minute(was_at)
    return now_at - was_at >= MINUTE


def _at(text: str) -> datetime:
    return datetime.fromisoformat(text)


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)
