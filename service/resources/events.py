"""`/v1/events`: what changes in decisions under watch, told as it happens."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated, Final

from flask import Response, request

from decision.fields import sized
from decision.quantities import IDENT
from service.address import Address, Parameter
from service.collaborators import Collaborators
from service.negotiation import EVENT_STREAM
from service.problems import UNAVAILABLE, Problem
from service.scopes import Scope
from service.streams.link import ENVIRON, TAKEN, NoRoom, Room, StreamAsked, StreamLink

HEADER: Final = "Last-Event-ID"
MOST_NAMED: Final = 200
LAST_EVENT_ID: Final = Parameter(
    name=HEADER,
    where="header",
    kind=Annotated[
        str,
        sized(
            "The id that was told last: what came after it is told first. When that is not kept any"
            " more, one event `reset` tells how the watches stand."
        ),
    ],
    required=False,
)
WATCH_ID = Annotated[
    str, sized("The id of a watch.", shortest=1, longest=36, pattern=r"[0-9A-Za-z-]+")
]
Flights = Annotated[tuple[IDENT, ...], sized("Only events of these flights.", longest=MOST_NAMED)]
Watches = Annotated[
    tuple[WATCH_ID, ...],
    sized("Only events of these watches; with `flight`, of either.", longest=MOST_NAMED),
]
COME_BACK_S: Final = "5"
NO_PROCESS: Final = (
    "There are no event streams: they need this product's own server, and a setting."
)
WHY: Final = {
    Room.FULL: "As many event streams are open as the service takes.",
    Room.BLIND: "The store does not answer, so there would be nothing to tell.",
    None: "The process of event streams does not answer; it may be about to begin.",
}


@Address(
    "GET",
    "/v1/events",
    tag="watches",
    scope=Scope.READ,
    summary="What changes in decisions under watch, told as it happens (server-sent events).",
    description="The answer does not end: events come over it one by one; `id` is a number that"
    " grows. Without `flight` and `watch` those of all watches. A comment comes each 15 s."
    " After a quarter of an hour at most the service ends a stream; come back with the id that was"
    " told last, as browsers do by themselves. An event may come twice: its `event_id` tells.",
    headers=(LAST_EVENT_ID,),
    forms=(EVENT_STREAM,),
    successes={HTTPStatus.OK: "The stream."},
    raises=(UNAVAILABLE,),
    of_the_moment=True,
)
def events(with_: Collaborators, flight: Flights = (), watch: Watches = ()) -> Response:
    """A place among the streams for the connection of this request; the worker hands it over."""
    del with_
    link: StreamLink | None = request.environ.get(ENVIRON)
    if link is None:
        raise Problem(UNAVAILABLE, NO_PROCESS)
    if request.method == "GET":  # what has no body needs no place
        asked = StreamAsked(
            flights=frozenset(flight),
            watches=frozenset(watch),
            last_event_id=request.headers.get(HEADER),
        )
        try:
            request.environ[TAKEN] = link.ask(asked)
        except NoRoom as refused:
            later = {"Retry-After": COME_BACK_S}
            raise Problem(UNAVAILABLE, WHY[refused.reason], headers=later) from None
    return Response(iter(()), mimetype=EVENT_STREAM)
