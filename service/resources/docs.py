"""`/docs`: the product's own pages and their figures."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response

from service.documents import INDEX, figures, pages
from service.incoming import require_query
from service.negotiation import SVG
from service.problems import NOT_FOUND, Problem
from service.representation import page

FIGURE_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"  # a figure styles itself


def docs() -> Blueprint:
    """The routes of the pages."""
    blueprint = Blueprint("docs", __name__)
    known, drawn = pages(), figures()

    @blueprint.get("/docs")
    def index() -> Response:
        return shown(INDEX)

    @blueprint.get("/docs/<name>")
    def one(name: str) -> Response:
        return shown(name)

    @blueprint.get("/docs/figures/<name>")
    def figure(name: str) -> Response:
        require_query(())
        if name not in drawn:
            raise Problem(NOT_FOUND, "No figure has this name.")
        response = Response(drawn[name], mimetype=SVG)
        response.headers["Content-Security-Policy"] = FIGURE_POLICY
        return response

    def shown(name: str) -> Response:
        require_query(())
        if name not in known:
            raise Problem(NOT_FOUND, "No page has this name.")
        return page("document.html", document=known[name], index=name == INDEX)

    return blueprint
