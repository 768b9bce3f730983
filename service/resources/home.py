"""`/`: where everything is."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Annotated

from flask import Response
from msgspec import Struct

from decision.fields import sized
from service.address import Address, View
from service.collaborators import Collaborators
from service.negotiation import HTML, JSON, TEXT
from service.page.form import case_form
from service.representation import page
from service.scopes import Scope
from service.version import VERSION

From = Annotated[str, sized("Id of a decision: the form starts from its case.")]
DemoName = Annotated[str, sized("Name of a demo: the form starts from it.")]


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
    summary="Every address, as JSON or text; for a browser, the form of a case made by hand.",
    answers=(Home,),
    forms=(JSON, TEXT, HTML),
    successes={HTTPStatus.OK: "The addresses, or the form."},
)
def home(
    with_: Collaborators,
    views: Sequence[View],
    form: str,
    *,
    from_: From | None = None,
    demo: DemoName | None = None,
) -> Home | Response:
    """What there is; for a browser, what a person does with it."""
    if form == HTML:
        made = case_form(with_.library)
        return page("form.html", form=made, from_=from_, demo=demo, scripts=("form.js",))
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
