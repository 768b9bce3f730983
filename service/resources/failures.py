"""`/v1/failures/expand`: what broke, what that takes away, and what is left."""

from __future__ import annotations

from flask import Blueprint, Response

from decision.systems import explain
from service.collaborators import Collaborators
from service.incoming import json_body, require_query
from service.plain import plain
from service.questions import capability_of, profile_of, with_defaults
from service.representation import json_response
from service.shapes import EXPANSION


def failures(with_: Collaborators) -> Blueprint:
    """The routes of failures."""
    blueprint = Blueprint("failures", __name__)

    @blueprint.post("/v1/failures/expand")
    def expand() -> Response:
        require_query(())
        body = with_defaults(json_body(EXPANSION), EXPANSION)
        left = capability_of(body, profile_of(body, with_.library))
        return json_response({"capability": plain(left), "sentences": plain(explain(left))})

    return blueprint
