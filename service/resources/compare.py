"""`/compare`: two recorded decisions side by side, as a page."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated

from flask import Response

from decision.answer.old import of_now
from decision.fields import sized
from service.address import Address
from service.collaborators import Collaborators
from service.jsontext import read_json
from service.negotiation import HTML
from service.page import DecisionBeside, comparison_page
from service.problems import GONE, NOT_FOUND, UNAVAILABLE
from service.representation import page
from service.resources.decisions import known
from service.resources.flights import RECENT, recent_flights
from service.scopes import Scope

MOST_OFFERED = 50


@Address(
    "GET",
    "/compare",
    tag="decisions",
    of_the_moment=True,
    scope=Scope.READ,
    summary="Two recorded decisions side by side, as a page.",
    forms=(HTML,),
    successes={HTTPStatus.OK: "The page; without two ids it asks for them."},
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def compare(
    with_: Collaborators,
    first: Annotated[str, sized("Id of a decision, a UUID.")] | None = None,
    second: Annotated[str, sized("Id of another.")] | None = None,
) -> Response:
    """What to do in each, what differs, what was asked otherwise."""
    given = {"first": first, "second": second}
    if not first or not second:
        flights, _ = recent_flights(with_, since=with_.clock() - RECENT, limit=MOST_OFFERED)
        return page("compare.html", here="compare", given=given, compared=None, offered=flights)
    compared = comparison_page(_found(with_, first), _found(with_, second), now=with_.clock())
    return page("compare.html", here="compare", given=given, compared=compared, offered=())


def _found(with_: Collaborators, identity: str) -> DecisionBeside:
    """A recorded decision, read as answers are now. Raises: Problem if there is none."""
    told = known(with_.log.told(identity))
    answer = read_json(told.fullest)
    request = read_json(told.request)
    return DecisionBeside(id=identity, request=request, answer=of_now(answer))
