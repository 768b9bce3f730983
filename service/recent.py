"""A flight in short: its latest decision, what that moved from, and whether it is under watch.

Made from what was recorded, by any version: a member that an old answer did not have is null.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import chain, pairwise
from typing import Annotated, Any, Final

from msgspec import Struct

from decision.answer.changed import action_in_words, causes_told, changed
from decision.answer.reading import joined
from decision.answer.types import Action, Ask, DeadlineTold, DeclaredEmergency, Look
from decision.brief.first import questions_answered
from decision.brief.reading import chosen_of, is_at_most
from decision.decide.decision import Basis, FuelState, Verdict
from decision.fields import Instant, about
from decision.quantities import ICAO
from service.jsontext import read_json
from service.store import StoredDecision
from service.store.watching import KeptWatch

Data = Mapping[str, Any]

LOOKED_BACK: Final = 4  # [ASSUMED] decisions of a flight among which its last move is looked for
SHOWN: Final = ("as_of", "verdict", "action", "basis", "headline", "fuel_state")
SINCE_THEN: Final = ("deadline", "valid_until", "emergency")  # the first answers had none of them
BECAUSE: Final = "BECAUSE"


class DecisionInShort(Struct, frozen=True, kw_only=True, gc=False):
    """A recorded decision in short."""

    id: Annotated[str, about("Id of the record.")]
    created_at: Annotated[Instant, about("When it was recorded.")]
    as_of: Annotated[Instant, about("The moment of deciding.")]
    verdict: Annotated[Verdict, about("Go or no go.")]
    action: Annotated[Action, about("What to do.")]
    basis: Annotated[Basis, about("The row of the table of decisions that spoke.")]
    headline: Annotated[str, about("The decision in words.")]
    fuel_state: Annotated[FuelState, about("State of the fuel.")]


class FuelAtTheEnd(Struct, frozen=True, kw_only=True, gc=False):
    """Fuel on landing by the course of the action."""

    landing_kg: Annotated[float, about("Usable fuel on landing.", unit="kg")]
    final_reserve_kg: Annotated[float, about("Final reserve of that landing.", unit="kg")]
    margin_kg: Annotated[float, about("Above it; negative: under it.", unit="kg")]
    at_most: Annotated[bool, about("Something is not known that would leave less.")]


class LastMove(Struct, frozen=True, kw_only=True, gc=False):
    """The last time that verdict, action or place of a flight became another."""

    at: Annotated[Instant, about("`as_of` of the decision that was the first of its kind.")]
    verdict: Annotated[Verdict, about("What the verdict was before.")]
    action: Annotated[str, about("What was to be done before, in words.")]
    why: Annotated[str, about("Why, in a few sentences.")]
    causes: Annotated[
        tuple[str, ...], about("What was different in the request, in words; none: only the time.")
    ]


class WatchInShort(Struct, frozen=True, kw_only=True, gc=False):
    """The watch that a flight is under."""

    id: Annotated[str, about("Its id.")]
    decision: Annotated[str, about("Id of the decision that it stands at.")]
    until: Annotated[Instant, about("When it ends.")]
    last_looked_at: Annotated[Instant | None, about("When it was looked at last; null: not yet.")]
    due_at: Annotated[Instant | None, about("When it is looked at next.")]
    failures: Annotated[int, about("How often in a row it could not be decided.", low=0)]
    last_failure: Annotated[str | None, about("Why it could not be decided the last time.")]


class FlightInShort(DecisionInShort, frozen=True, kw_only=True, gc=False):
    """A flight with its latest decision."""

    flight_id: Annotated[str, about("As in the requests.")]
    destination: Annotated[ICAO, about("Location indicator of the destination.")]
    deadline: Annotated[
        DeadlineTold | None, about("By when the action is to be begun; null: none.")
    ]
    valid_until: Annotated[
        Look | None, about("When the first thing in it stops holding; null: an answer of old.")
    ]
    emergency: Annotated[
        DeclaredEmergency | None, about("Declaration advised; null: an answer of old.")
    ]
    because: Annotated[str, about("The one thing that decides; empty where nothing does alone.")]
    until_then: Annotated[
        tuple[str, ...], about("What must not be done before leaving, since it cannot be undone.")
    ]
    ask: Annotated[tuple[Ask, ...], about("What to ask, of whom and by when.")]
    fuel: Annotated[FuelAtTheEnd | None, about("Fuel on landing by that action; null: not known.")]
    decisions: Annotated[
        int,
        about(
            f"Decisions of it among which its last move was looked for, at most {LOOKED_BACK}.",
            low=1,
        ),
    ]
    moved: Annotated[
        LastMove | None, about("Its last move among these; null: it stands as it did.")
    ]
    watch: Annotated[
        WatchInShort | None,
        about("Its open watch, the one begun last where there are several; null: none."),
    ]


def in_short(told: StoredDecision, answer: Data) -> dict[str, Any]:
    """A recorded decision in short, as `DecisionInShort` has it."""
    shown = {name: answer[name] for name in SHOWN}
    return {"id": told.decision_id, "created_at": told.created_at, **shown}


def flight_in_short(history: Sequence[StoredDecision], watch: KeptWatch | None) -> dict[str, Any]:
    """A flight from its newest decisions, the newest first, as `FlightInShort` has it."""
    latest, newest = history[0], read_json(history[0].response)
    told = joined(newest)
    return {
        **in_short(latest, newest),
        "flight_id": newest["flight_id"],
        "destination": _destination(read_json(latest.request)),
        **{name: newest.get(name) for name in SINCE_THEN},
        "because": " ".join(
            each.whole for each in questions_answered(told) if each.label == BECAUSE
        ),
        "until_then": newest.get("until_then", ()),
        "ask": newest.get("ask", ()),
        "fuel": _fuel(told),
        "decisions": len(history),
        "moved": _last_move(history, newest),
        "watch": None if watch is None else watch_in_short(watch),
    }


def _destination(request: Data) -> str:
    given = request["destination"]
    return str(given if isinstance(given, str) else given["icao"])


def _fuel(answer: Data) -> dict[str, Any] | None:
    course = chosen_of(answer)
    if course is None or course["fuel"] is None:
        return None
    shown = {name: course["fuel"][name] for name in ("landing_kg", "final_reserve_kg", "margin_kg")}
    return {**shown, "at_most": is_at_most(course)}


def _last_move(history: Sequence[StoredDecision], newest: Data) -> dict[str, Any] | None:
    """The newest two decisions in a row that differ in verdict, action or place."""
    older_ones = (read_json(each.response) for each in history[1:])  # no more than are needed
    answers = chain([newest], older_ones)
    for (newer, now), (older, was) in pairwise(zip(history, answers, strict=True)):
        if _stands(now) != _stands(was):
            differs = changed(
                was,
                now,
                request_before=read_json(older.request),
                request_after=read_json(newer.request),
            )
            return {
                "at": now["as_of"],
                "verdict": was["verdict"],
                "action": action_in_words(was),
                "why": differs["why"],
                "causes": causes_told(differs["inputs"], differs["weather"]),
            }
    return None


def _stands(answer: Data) -> tuple[str, str]:
    return str(answer["verdict"]), action_in_words(answer)


def watch_in_short(kept: KeptWatch) -> dict[str, Any]:
    """An open watch, as `WatchInShort` has it."""
    return {
        "id": kept.watch_id,
        "decision": kept.decision_id,
        "until": kept.until_at,
        "last_looked_at": kept.last_looked_at,
        "due_at": kept.due_at,
        "failures": kept.failures,
        "last_failure": kept.last_failure,
    }
