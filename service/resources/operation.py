"""`/healthz`, `/readyz`, `/metrics`, `/openapi.json`: for whoever runs the service."""

from __future__ import annotations

from typing import Final

from flask import Blueprint, Response, jsonify

from service.collaborators import Collaborators
from service.incoming import require_query
from service.metrics import CONTENT_TYPE
from service.negotiation import JSON
from service.settings import ROOT

API_DOCUMENT: Final = ROOT / "openapi" / "openapi.json"


def operation(with_: Collaborators) -> Blueprint:
    """The routes of operation."""
    blueprint = Blueprint("operation", __name__)
    api_document = API_DOCUMENT.read_bytes()

    @blueprint.get("/healthz")
    def healthz() -> Response:
        require_query(())
        return jsonify(status="alive")

    @blueprint.get("/readyz")
    def readyz() -> Response:
        require_query(())
        with_.log.check()
        # A source that fails makes decisions poorer, not this process unfit: it stays ready.
        source = "none" if with_.fetcher is None else with_.fetcher.breaker_state.value
        return jsonify(
            status="ready",
            store="ok",
            profiles=list(with_.library.profile_ids),
            weather_source=source,
        )

    @blueprint.get("/metrics")
    def metrics() -> Response:
        require_query(())
        return Response(with_.metrics.text(), content_type=CONTENT_TYPE)

    @blueprint.get("/openapi.json")
    def openapi() -> Response:
        require_query(())
        return Response(api_document, mimetype=JSON)

    return blueprint
