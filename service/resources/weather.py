"""`/v1/weather/decode`: raw reports in, decoded ones out, in the same order."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import Blueprint, Response

from decision.errors import UnreadableReport
from decision.weather import decode, report_to_mapping
from service.incoming import json_body, require_query
from service.representation import json_response
from service.shapes import DECODING


def weather() -> Blueprint:
    """The routes of weather."""
    blueprint = Blueprint("weather", __name__)

    @blueprint.post("/v1/weather/decode")
    def decode_reports() -> Response:
        require_query(())
        body: dict[str, Any] = json_body(DECODING)
        received_at = datetime.fromisoformat(body["received_at"])
        return json_response({"reports": [_decoded(raw, received_at) for raw in body["reports"]]})

    return blueprint


def _decoded(raw: str, received_at: datetime) -> dict[str, Any]:
    """A decoded report; of one that cannot be read nothing is known, and it says why."""
    try:
        return report_to_mapping(decode(raw, received_at=received_at))
    except UnreadableReport as error:
        unknown = dict.fromkeys(("kind", "station", "issued_at"))
        return {"raw": raw, **unknown, "unread": [raw], "problems": [error.problem]}
