"""The event of a watch, as a stream and a webhook tell it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from enum import StrEnum
from typing import Annotated, Any, Final

from msgspec import Struct

from decision.answer.changed import action_in_words
from decision.answer.differences import FromTo
from decision.fields import Instant, about, sized
from decision.windows import instant_text
from service.jsontext import write_json
from service.store.watching import Due, KeptWatch
from service.watching.standing import TOLD_DEADLINE, StandingTold, deadline_at, shown

Data = Mapping[str, Any]

LONGEST_WHY: Final = 2_000  # [ASSUMED] characters; the record has all of it
CUT: Final = " ..."


class WatchEventKind(StrEnum):
    """What has happened to a watch."""

    CHANGED = "changed"
    """Verdict, action, place or deadline are others."""
    FAILING = "failing"
    """It cannot be decided: what was told last may hold no longer."""
    RECOVERED = "recovered"
    """It could be decided again, and nothing has changed."""
    ENDED = "ended"
    """It is not watched any more, though nobody asked for that."""


class ChangedOfWatch(Struct, frozen=True, kw_only=True, gc=False):
    """What differs from what was told last; the rest is in the recorded decision."""

    verdict: Annotated[FromTo, about("Go or no go.")]
    action: Annotated[FromTo, about("What to do, where and on which runway, in words.")]
    deadline: Annotated[FromTo, about("By when; null: there was or is none.")]
    why: Annotated[str, sized("Why, in a few sentences.", longest=LONGEST_WHY)]


class EventOfWatch(Struct, frozen=True, kw_only=True, gc=False):
    """Something that a caller who watches a decision must be told."""

    event_id: Annotated[str, about("The same at every try, and in every stream.")]
    kind: Annotated[WatchEventKind, about("What has happened.")]
    at: Annotated[Instant, about("When it was written.")]
    watch_id: Annotated[str, about("Id of the watch.")]
    flight_id: Annotated[str, about("As in the case.")]
    because: Annotated[Due, about("What it was looked at for.")]
    worse: Annotated[bool, about("A worse verdict, or less time for the same action.")]
    what: Annotated[
        tuple[str, ...], about("Which of verdict, action, place and deadline are others.")
    ]
    changed: Annotated[ChangedOfWatch | None, about("What differs; null where nothing does.")]
    problem: Annotated[str | None, about("Why it cannot be decided, or is not watched any more.")]
    standing: Annotated[StandingTold, about("How the latest recorded decision stands.")]


def event_text(
    watch: KeptWatch,
    kind: WatchEventKind,
    *,
    event_id: str,
    at: datetime,
    standing: Data,
    worse: bool = False,
    what: Sequence[str] = (),
    changed: Data | None = None,
    problem: str | None = None,
) -> str:
    """The event as JSON text."""
    told = {
        "event_id": event_id,
        "kind": kind.value,
        "at": instant_text(at),
        "watch_id": watch.watch_id,
        "flight_id": watch.flight_id,
        "because": watch.due_because,
        "worse": worse,
        "what": list(what),
        "changed": changed,
        "problem": problem,
        "standing": shown(standing),
    }
    return write_json(told).decode().rstrip("\n")


def changed_of_watch(told: Data, answer: Data, *, why: str) -> dict[str, Any]:
    """What differs between what was told and an answer."""
    return {
        "verdict": {"from": told["verdict"], "to": answer["verdict"]},
        "action": {"from": action_in_words(told), "to": action_in_words(answer)},
        "deadline": {"from": told[TOLD_DEADLINE], "to": deadline_at(answer)},
        "why": why if len(why) <= LONGEST_WHY else why[: LONGEST_WHY - len(CUT)] + CUT,
    }
