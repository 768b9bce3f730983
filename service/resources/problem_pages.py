"""`/problems/<slug>`: the page behind the type of every error."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated

from flask import Response

from decision.fields import sized
from service.address import Address
from service.negotiation import HTML, JSON
from service.problems import BY_SLUG, NOT_FOUND, Problem, ProblemType, base
from service.representation import page
from service.scopes import Scope


@Address(
    "GET",
    "/problems/<slug>",
    tag="operation",
    scope=Scope.OPEN,
    summary="What an error means and what to do about it.",
    forms=(HTML, JSON),
    successes={HTTPStatus.OK: "The page."},
    raises=(NOT_FOUND,),
)
def about_problem(
    form: str, slug: Annotated[str, sized("Last part of the type.")]
) -> Response | ProblemType:
    """What a type of error means."""
    if slug not in BY_SLUG:
        raise Problem(NOT_FOUND, "No error has this type.")
    kind = BY_SLUG[slug]
    if form == JSON:
        return kind
    status = HTTPStatus(kind.status)
    return page("problem.html", kind=kind, address=base() + kind.path, status=status)
