"""`/assets` and `/icon.svg`: the scripts of the service's own pages, and the sign of their tabs."""

from __future__ import annotations

from http import HTTPStatus
from typing import Annotated

from flask import Response

from decision.fields import sized
from service.address import Address
from service.negotiation import SCRIPT, SVG
from service.page import ICON, scripts
from service.problems import NOT_FOUND, Problem
from service.scopes import Scope


@Address(
    "GET",
    "/assets/<name>",
    tag="operation",
    scope=Scope.OPEN,
    summary="A script of the service's own pages.",
    forms=(SCRIPT,),
    successes={HTTPStatus.OK: "The script, a module (ECMAScript)."},
    raises=(NOT_FOUND,),
)
def asset(name: Annotated[str, sized("File name of the script.")]) -> Response:
    """A script by its name."""
    if name not in scripts():
        raise Problem(NOT_FOUND, "No script has this name.")
    return Response(scripts()[name], mimetype=SCRIPT)


@Address(
    "GET",
    "/icon.svg",
    tag="operation",
    scope=Scope.OPEN,
    summary="The sign of the service's pages in a browser's tabs.",
    forms=(SVG,),
    successes={HTTPStatus.OK: "The drawing."},
)
def icon() -> Response:
    """The sign."""
    return Response(ICON, mimetype=SVG)
