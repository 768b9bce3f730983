"""`/docs`: the product's own pages and their figures."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated, Final

from flask import Response

from decision.fields import sized
from service.address import Address
from service.documents import INDEX, figures, pages
from service.negotiation import HTML, SVG
from service.problems import NOT_FOUND, Problem
from service.representation import page
from service.scopes import Scope

FIGURE_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"  # a figure styles itself


@Address(
    "GET",
    "/docs",
    tag="operation",
    scope=Scope.READ,
    summary="The product's own pages: how to call it, what it knows, how it was checked.",
    forms=(HTML,),
    successes={HTTPStatus.OK: "The first page."},
)
def docs() -> Response:
    """The first page."""
    return _shown(INDEX)


@Address(
    "GET",
    "/docs/<name>",
    tag="operation",
    scope=Scope.READ,
    summary="One of the product's own pages.",
    forms=(HTML,),
    successes={HTTPStatus.OK: "The page."},
    raises=(NOT_FOUND,),
)
def docs_page(
    name: Annotated[str, sized("Name of the page, as the first one lists it.")],
) -> Response:
    """A page by its name."""
    return _shown(name)


@Address(
    "GET",
    "/docs/figures/<name>",
    tag="operation",
    scope=Scope.READ,
    summary="A figure of one of the pages.",
    forms=(SVG,),
    successes={HTTPStatus.OK: "The figure."},
    raises=(NOT_FOUND,),
)
def docs_figure(name: Annotated[str, sized("File name of the figure.")]) -> Response:
    """A figure by its name."""
    if name not in figures():
        raise Problem(NOT_FOUND, "No figure has this name.")
    response = Response(figures()[name], mimetype=SVG)
    response.headers["Content-Security-Policy"] = FIGURE_POLICY
    return response


def _shown(name: str) -> Response:
    if name not in pages():
        raise Problem(NOT_FOUND, "No page has this name.")
    return page("document.html", document=pages()[name], index=name == INDEX)
