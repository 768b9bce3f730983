"""`/problems/<slug>`: the page behind the type of every error."""

from __future__ import annotations

from flask import Blueprint, Response

from service.incoming import require_query
from service.problems import BY_SLUG, NOT_FOUND, Problem
from service.representation import page


def problem_pages() -> Blueprint:
    """The routes of the pages about errors."""
    blueprint = Blueprint("problems", __name__)

    @blueprint.get("/problems/<slug>")
    def about(slug: str) -> Response:
        require_query(())
        if slug not in BY_SLUG:
            raise Problem(NOT_FOUND, "No error has this type.")
        return page("problem.html", kind=BY_SLUG[slug])

    return blueprint
