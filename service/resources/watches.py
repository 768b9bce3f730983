"""`/v1/watches`: recorded decisions that are looked at anew until a time.

Who looks is `service/watching`; here watches are begun, seen and ended, and the state of the
aircraft is taken in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict
from datetime import timedelta
from http import HTTPStatus
from typing import Annotated, Any, Final, NoReturn

from flask import Response, request
from msgspec import Struct

from decision.again import FIXED_ANEW, case_anew, faults_in, fixed_faults
from decision.answer.old import of_now
from decision.case import case_from_mapping
from decision.case.derive import record_of
from decision.errors import Fault, InvalidCase
from decision.fields import Instant, about, sized
from service.address import Address
from service.collaborators import Collaborators
from service.door.door import caller_name
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import KEY
from service.jsontext import read_json, write_json
from service.observing import note
from service.problems import (
    GONE,
    KEY_REUSED,
    NOT_FOUND,
    UNAVAILABLE,
    Problem,
    invalid,
)
from service.representation import LINK, json_response, linked
from service.scopes import Scope
from service.shapes import StateGiven, WatchAsked, WebhookGiven
from service.store import StoredDecision
from service.store.events import Sending, Webhook
from service.store.port import FORMAT, digest
from service.store.watching import (
    Due,
    Ended,
    KeptWatch,
    NewWatch,
    TooManyStates,
    TooManyWatches,
)
from service.watching.standing import StandingTold, shown, standing_of
from service.webhooks.target import TargetRefused, target_of

LONGEST: Final = timedelta(hours=24)
PATCH: Final = "/patch"
NOT_SET_UP: Final = (
    "webhooks are not set up: APPROACH_WEBHOOK_HOSTS lists no host, or APPROACH_WEBHOOK_KEY is"
    " missing"
)
Body = dict[str, Any]

WatchId = Annotated[str, sized("The watch's id, a UUID.")]


class WebhookTold(Struct, frozen=True, kw_only=True, gc=False):
    """Where events of a watch are sent to."""

    url: Annotated[str, about("The address.")]
    secret_id: Annotated[str, about("Id of the secret that what is sent is signed with.")]


class DeliveryTold(Struct, frozen=True, kw_only=True, gc=False):
    """What has become of an event that is sent to the webhook."""

    event_id: Annotated[str, about("Id of the event.")]
    state: Annotated[Sending, about("Whether it was taken, or is given up.")]
    tries: Annotated[int, about("How often it was tried.", low=0)]
    first_at: Annotated[Instant, about("Since when it is to be sent.")]
    next_at: Annotated[Instant | None, about("When it is tried next; null: no more.")]
    last_at: Annotated[Instant | None, about("When it was tried last; null: not yet.")]
    last_status: Annotated[int | None, about("Status of the last answer; null: there was none.")]
    last_why: Annotated[str | None, about("What went wrong the last time; null: nothing.")]


class WatchTold(Struct, frozen=True, kw_only=True, gc=False):
    """A watch, and how its decision stands."""

    id: Annotated[str, about("Its id.")]
    flight_id: Annotated[str, about("As in the case.")]
    created_at: Annotated[Instant, about("When it was begun.")]
    until: Annotated[Instant, about("When it ends.")]
    places: Annotated[tuple[str, ...], about("Whose reports it hears.")]
    due_at: Annotated[Instant | None, about("When it is looked at next; null: it has ended.")]
    due_because: Annotated[Due, about("For what it is looked at next.")]
    looked: Annotated[int, about("How often it was looked at.", low=0)]
    last_looked_at: Annotated[Instant | None, about("When last; null: not yet.")]
    states_waiting: Annotated[
        int, about("How many states that were given are not decided yet.", low=0)
    ]
    failures: Annotated[
        int, about("How often in a row it could not be decided; 0: it stands as told.", low=0)
    ]
    last_failure: Annotated[str | None, about("Why it could not be decided the last time.")]
    ended_at: Annotated[Instant | None, about("When it ended; null: it is open.")]
    ended_because: Annotated[Ended | None, about("Why it ended; null: it is open.")]
    webhook: Annotated[WebhookTold | None, about("Where events are sent to; null: nowhere.")]
    standing: Annotated[StandingTold, about("How the latest recorded decision stands.")]


class WatchWithDeliveries(WatchTold, frozen=True, kw_only=True, gc=False):
    """A watch, and what was sent of it."""

    deliveries: Annotated[
        tuple[DeliveryTold, ...],
        about("The last twenty that were or are to be sent, newest first."),
    ]


class Watches(Struct, frozen=True, kw_only=True, gc=False):
    """Open watches, the first begun first."""

    watches: Annotated[tuple[WatchTold, ...], about("A page of them.")]
    next_after: Annotated[str | None, about("Later ones are asked for with it; null: none.")]


@Address(
    "POST",
    "/v1/watches",
    tag="watches",
    scope=Scope.DECIDE,
    summary="Keep a recorded decision under watch until a time.",
    description="It is decided anew, as `POST /v1/decisions/{id}/again` does, when a report of one"
    " of its places comes, when the decision says that it is to be looked at, and before it stops"
    " holding. What changes verdict, action, place or deadline is recorded and told as an event"
    " (`GET /v1/events`, and to the webhook). With an `Idempotency-Key` it is begun once.",
    body=record_of(WatchAsked),
    example={
        "decision_id": "019ceaf9-2f08-7000-8000-000000000000",
        "until": "2026-03-14T09:00:00Z",
    },
    headers=(KEY,),
    answers=(WatchTold,),
    successes={HTTPStatus.CREATED: "It is watched."},
    sends={HTTPStatus.CREATED: {"Location": "Address of the watch."}},
    raises=(GONE, KEY_REUSED, UNAVAILABLE),
)
def begin_watch(with_: Collaborators, key: str | None, asked: WatchAsked) -> Response:
    """Begin to watch; the first look follows at once."""
    now = with_.clock()
    if not now < asked.until <= now + LONGEST:
        _refuse("/until", "range", "is not within the next 24 hours", "an instant in that time")
    told = _watchable(with_, asked.decision_id)
    case: Body = read_json(told.request)
    new = NewWatch(
        watch_id=decision_id(at=now, random=with_.entropy(RANDOM_BYTES)),
        decision_id=told.decision_id,
        flight_id=case["flight_id"],
        caller=caller_name(),
        created_at=now,
        until=asked.until,
        places=_places(case),
        standing=write_json(standing_of(read_json(told.response))).decode(),
        request_digest=digest(request.get_data()),
        webhook=None if asked.webhook is None else _webhook(with_, asked.webhook),
        key=key,
    )
    try:
        watch = with_.watches.kept.begin(new, most=with_.watches.most)
    except TooManyWatches:
        raise Problem(UNAVAILABLE, f"{with_.watches.most} watches are open, no more.") from None
    note(watch=watch.watch_id, flight_id=watch.flight_id)
    response = json_response(_told(watch))
    response.status_code = HTTPStatus.CREATED
    response.headers["Location"] = f"/v1/watches/{watch.watch_id}"
    return response


@Address(
    "GET",
    "/v1/watches",
    tag="watches",
    scope=Scope.READ,
    of_the_moment=True,
    summary="Open watches, the first begun first.",
    answers=(Watches,),
    successes={HTTPStatus.OK: "The watches; none is an answer too."},
    sends={HTTPStatus.OK: LINK},
    raises=(UNAVAILABLE,),
)
def list_watches(
    with_: Collaborators,
    limit: Annotated[int, about("How many watches at most.", low=1, high=100)] = 50,
    after: Annotated[
        str, sized("Only watches behind this id: `next_after` of the page before.", longest=36)
    ]
    | None = None,
) -> Response:
    """A page of them."""
    found = with_.watches.kept.page(limit=limit + 1, after=after)
    next_after = found[limit - 1].watch_id if len(found) > limit else None
    return linked(
        json_response({"watches": [*map(_told, found[:limit])], "next_after": next_after}),
        None if next_after is None else {"limit": limit, "after": next_after},
    )


@Address(
    "GET",
    "/v1/watches/<id>",
    tag="watches",
    scope=Scope.READ,
    of_the_moment=True,
    summary="A watch, how its decision stands, and what was sent of it.",
    description="One that has ended is told for another 24 hours.",
    answers=(WatchWithDeliveries,),
    successes={HTTPStatus.OK: "The watch."},
    raises=(NOT_FOUND, UNAVAILABLE),
)
def read_watch(with_: Collaborators, id: WatchId) -> Response:
    """One watch."""
    found = _known(with_.watches.kept.find(id))
    sent = with_.watches.kept.deliveries(id)
    return json_response({**_told(found), "deliveries": [_delivery(asdict(each)) for each in sent]})


@Address(
    "POST",
    "/v1/watches/<id>/state",
    tag="watches",
    scope=Scope.DECIDE,
    summary="Give the state of the aircraft under watch, as it is now.",
    description="What is given counts from now, as in `POST /v1/decisions/{id}/again`; the rest is"
    " carried on. The decision on it is recorded, and told as an event if it changes anything.",
    body=record_of(StateGiven),
    example={"patch": {"fuel": {"on_board_kg": 3300}, "destination": {"track_nm": 32}}},
    answers=(WatchTold,),
    successes={HTTPStatus.ACCEPTED: "It is being decided on."},
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def give_state(with_: Collaborators, asked: StateGiven, id: WatchId) -> Response:
    """Take the state in, if it makes a case."""
    found = _known(with_.watches.kept.find(id))
    if found.ended_at is not None:
        raise _unknown()
    _require_case(with_, found, asked.patch)
    try:
        is_open = with_.watches.kept.give_state(id, asked.patch, at=with_.clock())
    except TooManyStates:
        raise Problem(UNAVAILABLE, "States that were given before are not decided yet.") from None
    if not is_open:
        raise _unknown()
    response = json_response(_told(_known(with_.watches.kept.find(id))))
    response.status_code = HTTPStatus.ACCEPTED
    return response


@Address(
    "DELETE",
    "/v1/watches/<id>",
    tag="watches",
    scope=Scope.DECIDE,
    summary="End a watch.",
    description="No event follows. What has been written before is still sent.",
    answers=(WatchTold,),
    successes={HTTPStatus.OK: "It has ended."},
    raises=(NOT_FOUND, UNAVAILABLE),
)
def end_watch(with_: Collaborators, id: WatchId) -> Response:
    """End it; one that has ended by itself is told as it is."""
    with_.watches.kept.end(id, Ended.DELETED, at=with_.clock())
    return json_response(_told(_known(with_.watches.kept.find(id))))


def _watchable(with_: Collaborators, identity: str) -> StoredDecision:
    """The decision that is to be watched. Raises: Problem if there is none to go on from."""
    told = with_.log.told(identity)
    if told is None:
        _refuse("/decision_id", "unknown", "no decision of this id is recorded", "id of a record")
    if told.format != FORMAT or told.whole is None:
        why = "is told in an older format, from which nothing can be carried on"
        _refuse("/decision_id", "format", why, "a decision of this version: decide the case anew")
    return told


def _webhook(with_: Collaborators, given: WebhookGiven) -> Webhook:
    """Where events are to be sent. Raises: Problem where nothing may be sent."""
    hosts = with_.watches.webhook_hosts
    if not hosts:
        _refuse("/webhook", "not_set_up", NOT_SET_UP, "a watch without one")
    try:
        target_of(given.url, hosts=hosts)
    except TargetRefused as refused:
        _refuse("/webhook/url", "not_allowed", str(refused), f"https:// and {' or '.join(hosts)}")
    if not with_.watches.kept.can_sign(given.secret_id, at=with_.clock()):
        how = "an id that `python -m service.webhooks create` has shown"
        _refuse("/webhook/secret_id", "unknown", "no secret of this id signs anything", how)
    return Webhook(url=given.url, secret_id=given.secret_id)


def _require_case(with_: Collaborators, watch: KeptWatch, patch: Mapping[str, Any]) -> None:
    """Raises: Problem if the case under watch is none with what is given."""
    told = with_.log.told(watch.decision_id)
    if told is None:
        raise _unknown()
    stored: Body = read_json(told.request)
    whole: Body = read_json(told.fullest)
    with _faults_of_the_patch():
        faults = fixed_faults(patch, FIXED_ANEW)
        if faults:
            raise InvalidCase(faults)
        together: Any = {}
        for each in (*(state.patch for state in watch.states), patch):
            together = merged_patches(together, each)
        body = case_anew(
            stored,
            of_now(whole),
            patch=together,
            reports=(),
            at=with_.clock(),
            library=with_.library,
        )
        case_from_mapping(body, library=with_.library)


def merged_patches(first: Any, second: Any) -> Any:  # noqa: ANN401 - JSON
    """One patch that does what two do after each other, as far as a case can tell.

    A null stays one, so that it still takes away what the case has.
    """
    if not (isinstance(first, Mapping) and isinstance(second, Mapping)):
        return second
    both = {
        name: merged_patches(first[name], second[name]) for name in first.keys() & second.keys()
    }
    return {**first, **second, **both}


@contextmanager
def _faults_of_the_patch() -> Iterator[None]:
    try:
        yield
    except InvalidCase as error:
        raise invalid(faults_in(error.faults, at=PATCH)) from None


def _places(case: Mapping[str, Any]) -> tuple[str, ...]:
    """Every aerodrome that a case names."""
    named = (case["destination"], *(case.get("alternates") or ()))
    icaos = (each if isinstance(each, str) else str(each["icao"]) for each in named)
    return tuple(dict.fromkeys(icaos))


def _told(watch: KeptWatch) -> Body:
    webhook = watch.webhook
    return {
        "id": watch.watch_id,
        "flight_id": watch.flight_id,
        "created_at": watch.created_at,
        "until": watch.until_at,
        "places": watch.places,
        "due_at": watch.due_at,
        "due_because": watch.due_because,
        "looked": watch.looked,
        "last_looked_at": watch.last_looked_at,
        "states_waiting": len(watch.states),
        "failures": watch.failures,
        "last_failure": watch.last_failure,
        "ended_at": watch.ended_at,
        "ended_because": watch.ended_because,
        "webhook": None if webhook is None else asdict(webhook),
        "standing": shown(watch.standing),
    }


def _delivery(kept: Body) -> Body:
    waiting = kept["state"] == Sending.WAITING
    return {**kept, "next_at": kept["next_at"] if waiting else None}


def _known(found: KeptWatch | None) -> KeptWatch:
    if found is None:
        raise _unknown()
    return found


def _unknown() -> Problem:
    return Problem(NOT_FOUND, "No watch of this id is open.")


def _refuse(pointer: str, code: str, message: str, accepted: str) -> NoReturn:
    raise invalid((Fault(pointer=pointer, code=code, message=message, accepted=accepted),))
