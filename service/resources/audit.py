"""`/v1/audit`: who did what, and when."""

from __future__ import annotations

from dataclasses import asdict
from http import HTTPStatus
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import Instant, about, sized
from service.address import Address
from service.collaborators import Collaborators
from service.problems import UNAVAILABLE
from service.scopes import Scope
from service.store.audit import Deed

LAST_ID: Final = 2**31 - 1  # of the type that the store counts them with


class EventTold(Struct, frozen=True, kw_only=True, gc=False):
    """Something that was done."""

    id: Annotated[int, about("Later events have greater ones.", low=1)]
    at: Annotated[Instant, about("When.")]
    caller: Annotated[
        str,
        sized(
            "Who: `key:` and the identifier of a key, `user:` and whom a proxy named, `command`, or"
            " `settings`; empty: nobody knows."
        ),
    ]
    what: Annotated[Deed, about("What.")]
    subject: Annotated[
        str,
        sized(
            "Of what: the id of a decision, the identifier of a key, or status, method and route of"
            " what was refused."
        ),
    ]


class Audit(Struct, frozen=True, kw_only=True, gc=False):
    """What was done, newest first."""

    events: Annotated[tuple[EventTold, ...], about("A page of it.")]
    next_before: Annotated[
        int | None, about("What is older is asked for with it; null: nothing is.")
    ]


@Address(
    "GET",
    "/v1/audit",
    tag="door",
    scope=Scope.ADMIN,
    summary="Who recorded decisions, who made and took back keys, and who was turned away.",
    description="Of callers that are turned away each server process writes down sixty a minute at"
    " most; the log has them all.",
    answers=(Audit,),
    successes={HTTPStatus.OK: "The events; none is an answer too."},
    raises=(UNAVAILABLE,),
    of_the_moment=True,
)
def audit(
    with_: Collaborators,
    limit: Annotated[int, about("How many events at most.", low=1, high=1000)] = 100,
    before: Annotated[
        int,
        about("Only events before this id: `next_before` of the page before.", low=1, high=LAST_ID),
    ]
    | None = None,
) -> dict[str, object]:
    """A page of them."""
    found = with_.door.access.events(limit=limit + 1, before=before)
    shown = found[:limit]
    return {
        "events": [asdict(each) for each in shown],
        "next_before": shown[-1].id if len(found) > limit else None,
    }
