"""`/v1/flights`: which need a look, and what was decided for one, with what changed each time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from http import HTTPStatus
from itertools import pairwise
from typing import Annotated, Any, Final

from flask import Response
from msgspec import Struct

from decision.answer.changed import changed
from decision.answer.differences import Changed
from decision.decide.decision import Verdict
from decision.errors import Fault
from decision.fields import Instant, about, sized
from decision.quantities import IDENT
from decision.windows import instant_text
from service.address import Address
from service.collaborators import Collaborators
from service.identifiers import earliest_id
from service.jsontext import read_json
from service.negotiation import HTML, JSON
from service.page import history_page
from service.problems import NOT_FOUND, UNAVAILABLE, invalid
from service.recent import (
    LOOKED_BACK,
    DecisionInShort,
    FlightInShort,
    flight_in_short,
    in_short,
    watch_in_short,
)
from service.representation import LINK, json_response, linked, page
from service.scopes import Scope
from service.store import DamagedDecision, Kept, StoredDecision

RECENT: Final = timedelta(days=1)
LONGEST: Final = timedelta(days=1)  # from a decision's id to its record: a batch takes no longer
EARLIEST: Final = datetime(2000, 1, 1, tzinfo=UTC)
LATEST: Final = datetime(2199, 12, 31, tzinfo=UTC)
OUT_OF_TIME: Final = Fault(
    pointer="?since",
    code="range",
    message="is before or after any decision",
    accepted="an instant from 2000 to 2199",
)


class PastDecision(DecisionInShort, frozen=True, kw_only=True, gc=False):
    """A recorded decision in short, beside the one before it."""

    changed: Annotated[Changed | None, about("What differs; null: nothing came before it.")]


class DamagedTold(Struct, frozen=True, kw_only=True, gc=False):
    """A recorded decision that cannot be handed out: what the store has is not what was put there.

    `python -m service.store verify` tells more.
    """

    id: Annotated[str, about("Id of the record.")]
    created_at: Annotated[Instant, about("When it was recorded.")]
    why: Annotated[str, about("What is wrong with it.")]


Damaged = Annotated[
    tuple[DamagedTold, ...],
    about("Records that are damaged and so left out; usually none."),
]


class History(Struct, frozen=True, kw_only=True, gc=False):
    """What was decided for a flight, newest first."""

    flight_id: Annotated[str, about("As in the requests.")]
    decisions: Annotated[tuple[PastDecision, ...], about("A page of them.")]
    damaged: Damaged
    next_before: Annotated[str | None, about("Older ones are asked for with it; null: none.")]


class Flights(Struct, frozen=True, kw_only=True, gc=False):
    """Flights by what is to be looked at first."""

    since: Annotated[Instant, about("From when on decisions are looked at.")]
    flights: Annotated[
        tuple[FlightInShort, ...],
        about("Soonest deadline first; then those without, newest first."),
    ]
    damaged: Damaged


@Address(
    "GET",
    "/v1/flights",
    tag="decisions",
    of_the_moment=True,
    scope=Scope.READ,
    summary="Recent flights with their latest decision, soonest deadline first.",
    answers=(Flights,),
    successes={HTTPStatus.OK: "The flights; none is an answer too."},
    raises=(UNAVAILABLE,),
)
def flights(
    with_: Collaborators,
    since: Annotated[
        Instant, about("Only decisions recorded from then on; absent: of the last day.")
    ]
    | None = None,
    verdict: Annotated[Verdict, about("Only flights whose latest verdict it is.")] | None = None,
    limit: Annotated[int, about("How many flights at most, the newest.", low=1, high=100)] = 50,
) -> dict[str, object]:
    """The latest decision of each flight, as it was answered."""
    from_at = with_.clock() - RECENT if since is None else since
    if not EARLIEST <= from_at <= LATEST:
        raise invalid((OUT_OF_TIME,))
    shown, damaged = recent_flights(with_, since=from_at, verdict=verdict, limit=limit)
    return {
        "since": instant_text(from_at),
        "flights": sorted(shown, key=_urgency),
        "damaged": damaged,
    }


def recent_flights(
    with_: Collaborators, *, since: datetime, verdict: Verdict | None = None, limit: int
) -> tuple[list[dict[str, Any]], list[dict[str, str]]]:
    """The newest flights since an instant, the newest first, and what of them is damaged."""
    first = earliest_id(since - LONGEST)
    found = with_.log.latest(first, since=since, verdict=verdict, limit=limit, most=LOOKED_BACK)
    _, damaged = _parted([newest for newest, *_ in found.values()])
    told = {
        flight: _parted(each)[0]
        for flight, each in found.items()
        if isinstance(each[0], StoredDecision)
    }
    watches = {each.flight_id: each for each in with_.watches.kept.of_flights([*told])}
    return [flight_in_short(each, watches.get(flight)) for flight, each in told.items()], damaged


def _urgency(flight: Mapping[str, Any]) -> str:
    """Instants of one form sort as text; what has no deadline comes after all that have."""
    return "~" if flight["deadline"] is None else str(flight["deadline"]["at"])


@Address(
    "GET",
    "/v1/flights/<path:flight_id>/decisions",
    tag="decisions",
    scope=Scope.READ,
    summary="What was decided for a flight, newest first, and what changed each time.",
    answers=(History,),
    forms=(JSON, HTML),
    successes={HTTPStatus.OK: "The decisions; none is an answer too."},
    sends={HTTPStatus.OK: LINK},
    raises=(NOT_FOUND, UNAVAILABLE),
)
def flight_history(
    with_: Collaborators,
    form: str,
    flight_id: Annotated[
        IDENT,
        about("The flight, as the requests named it."),
    ],
    limit: Annotated[int, about("How many decisions at most.", low=1, high=100)] = 20,
    before: Annotated[
        str, sized("Only decisions older than this id: `next_before` of the page before.")
    ]
    | None = None,
) -> Response:
    """A page of them; one more is read, since the last shown must know what it changed."""
    found = with_.log.of_flight(flight_id, limit=limit + 1, before=before)
    told, _ = _parted(found)
    shown, damaged = _parted(found[:limit])
    next_before = found[limit - 1].decision_id if len(found) > limit else None
    told_of_it = {
        "flight_id": flight_id,
        "decisions": _entries(told)[: len(shown)],
        "damaged": damaged,
        "next_before": next_before,
    }
    response = json_response(told_of_it) if form == JSON else _page_of(with_, told_of_it, told)
    following = None if next_before is None else {"limit": limit, "before": next_before}
    return linked(response, following)


def _page_of(
    with_: Collaborators, history: Mapping[str, Any], compared: Sequence[StoredDecision]
) -> Response:
    watches = with_.watches.kept.of_flights([str(history["flight_id"])])
    told = [watch_in_short(each) for each in watches]
    ids = [each.decision_id for each in compared]
    return page("history.html", page=history_page(history, ids, told, now=with_.clock()))


def _parted(found: Sequence[Kept]) -> tuple[list[StoredDecision], list[dict[str, str]]]:
    """What can be handed out, and what is damaged."""
    damaged = [
        {"id": each.decision_id, "created_at": each.created_at, "why": each.why}
        for each in found
        if isinstance(each, DamagedDecision)
    ]
    return [each for each in found if isinstance(each, StoredDecision)], damaged


def _entries(told: Sequence[StoredDecision]) -> list[dict[str, Any]]:
    """Each decision with what changed since the one before it that can be read; of the oldest
    nothing is known.
    """
    read = [(each, read_json(each.request), read_json(each.response)) for each in told]
    entries = [in_short(each, answer) | {"changed": None} for each, _, answer in read]
    for entry, (newer, older) in zip(entries, pairwise(read), strict=False):
        entry["changed"] = changed(
            older[2], newer[2], request_before=older[1], request_after=newer[1]
        )
    return entries
