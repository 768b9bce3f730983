"""`/`: where everything is."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Annotated

from flask import Response
from msgspec import Struct

from decision.fields import sized
from service.address import Address, View
from service.negotiation import JSON, TEXT
from service.scopes import Scope
from service.version import VERSION


class Link(Struct, frozen=True, kw_only=True, gc=False):
    """One address."""

    method: Annotated[str, sized("The method of HTTP.")]
    path: Annotated[str, sized("The path; what is in braces is to be filled in.")]
    summary: Annotated[str, sized("What it does.")]


class Home(Struct, frozen=True, kw_only=True, gc=False):
    """What this is, and every address of it."""

    title: Annotated[str, sized("What the service is.")]
    version: Annotated[str, sized("Version of the service.")]
    advice: Annotated[str, sized("Who decides.")]
    links: Annotated[tuple[Link, ...], sized("Every address.")]


@Address(
    "GET",
    "/",
    tag="operation",
    scope=Scope.READ,
    summary="Every address of the service, as JSON or as text.",
    answers=(Home,),
    forms=(JSON, TEXT),
    successes={HTTPStatus.OK: "The addresses."},
)
def home(views: Sequence[View], form: str) -> Home | Response:
    """What there is."""
    told = Home(
        title="Approach decisions",
        version=VERSION,
        advice="Advice only: approved manuals, local rules and the licensed crew decide.",
        links=tuple(_link(view) for view in views),
    )
    return told if form == JSON else Response(_text(told), mimetype=TEXT)


def _link(view: View) -> Link:
    address = view.address
    return Link(method=address.method, path=address.template, summary=address.summary)


def _text(told: Home) -> str:
    """A line for each address, with its path at one column."""
    widest = max(len(link.path) for link in told.links)
    lines = (f"{link.method:4} {link.path:{widest}}  {link.summary}" for link in told.links)
    return "\n".join([f"{told.title} {told.version}", told.advice, "", *lines, ""])
