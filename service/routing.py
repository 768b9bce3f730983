"""From the declaration of an address to its route: what every request goes through, in one order.

Whether the caller is let in; the form of the answer, the query, the key, the body; then the view;
then its answer as bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from urllib.parse import quote

from flask import Flask, Response, request

from service.address import View, parameter_of
from service.collaborators import Collaborators
from service.incoming import form_body, idempotency_key, json_body, query_of
from service.negotiation import HTML, acceptable
from service.problems import NO_KEY, Problem
from service.questions import question_of
from service.representation import json_response, sign_in_page_of


def register(app: Flask, views: Sequence[View], with_: Collaborators) -> None:
    """Give the application a route for each view."""
    for view in views:
        app.add_url_rule(
            view.address.path, view.id, _handler(view, views, with_), methods=[view.address.method]
        )


def _handler(view: View, views: Sequence[View], with_: Collaborators) -> Callable[..., Response]:
    forms, body = view.address.forms, view.address.body

    def handle(**path: str) -> Response:
        turned_away = _turned_away(view, with_)
        if turned_away is not None:
            return turned_away
        given: dict[str, object] = {"with_": with_, "views": views, "form": acceptable(forms)}
        given |= {**path, **query_of(view.query)}
        if "key" in view.takes:
            given["key"] = idempotency_key()
        if body is not None:
            sent = given["body"] = json_body(body)
        if view.address.filled_in is not None:
            given["body"] = form_body(view.address.filled_in)
        if body is not None and "asked" in view.takes:
            given["asked"] = question_of(body.kind, sent, with_.library)
        answer = view.function(**{name: given[parameter_of(name)] for name in view.takes})
        response = answer if isinstance(answer, Response) else json_response(answer)
        if len(forms) > 1:
            response.vary.add("Accept")
        return response

    return handle


def _turned_away(view: View, with_: Collaborators) -> Response | None:
    """Where a browser can sign in, if it asked for a page by name without a session.

    Raises: Problem for whoever else is not let in.
    """
    forms = view.address.forms
    try:
        with_.door.admit(view.address.scope)
    except Problem as problem:
        by_name = HTML in forms and HTML in request.accept_mimetypes.values()
        reads = request.method in ("GET", "HEAD")
        if problem.kind is not NO_KEY or not reads or not by_name or acceptable(forms) != HTML:
            raise
        response = sign_in_page_of(_asked(), problem=problem)
        response.vary.add("Accept")
        return response
    return None


def _asked() -> str:
    """The path and query of the present request, as an address of this service has them."""
    query = request.query_string.decode("ascii", "replace")
    return quote(request.path) + (f"?{query}" if query else "")
