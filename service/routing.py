"""From the declaration of an address to its route: what every request goes through, in one order.

Whether the caller is let in; the form of the answer, the query, the key, the body; then the view;
then its answer as bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from flask import Flask, Response

from service.address import View, parameter_of
from service.collaborators import Collaborators
from service.incoming import form_body, idempotency_key, json_body, query_of
from service.negotiation import acceptable
from service.questions import question_of
from service.representation import json_response


def register(app: Flask, views: Sequence[View], with_: Collaborators) -> None:
    """Give the application a route for each view."""
    for view in views:
        app.add_url_rule(
            view.address.path, view.id, _handler(view, views, with_), methods=[view.address.method]
        )


def _handler(view: View, views: Sequence[View], with_: Collaborators) -> Callable[..., Response]:
    forms, body = view.address.forms, view.address.body

    def handle(**path: str) -> Response:
        with_.door.admit(view.address.scope)
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
