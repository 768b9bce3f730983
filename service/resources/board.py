"""`/board`: recent flights as a page that an operations desk leaves open."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated, Final

from flask import Response

from decision.fields import about
from service.address import Address
from service.collaborators import Collaborators
from service.negotiation import HTML
from service.page import Shown, board_page
from service.problems import UNAVAILABLE
from service.representation import page
from service.resources.flights import RECENT, recent_flights
from service.scopes import Scope

MOST: Final = 100  # [ASSUMED] flights of a day of one desk; the page says where it is reached


@Address(
    "GET",
    "/board",
    tag="decisions",
    scope=Scope.READ,
    summary="Recent flights as a page: emergencies, what ran out, then the soonest deadline.",
    forms=(HTML,),
    successes={HTTPStatus.OK: "The page; it keeps itself up to date."},
    raises=(UNAVAILABLE,),
    of_the_moment=True,
)
def show_board(
    with_: Collaborators,
    show: Annotated[Shown, about("Which flights; those in distress come always.")] = Shown.ALL,
) -> Response:
    """The board as it is now."""
    now = with_.clock()
    flights, damaged = recent_flights(with_, since=now - RECENT, limit=MOST)
    shown = board_page(
        flights, now=now, shown=show, damaged=len(damaged), is_full=len(flights) == MOST
    )
    return page("board.html", scripts=("board.js",), board=shown)
