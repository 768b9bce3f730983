"""`/v1/flights/{flight_id}/decisions`: what was decided, newest first, and what changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any, Final

from flask import Blueprint, Response, request

from decision.errors import Fault
from decision.recommend.changed import changed
from service.collaborators import Collaborators
from service.incoming import require_query
from service.jsontext import read_json
from service.problems import invalid
from service.representation import json_response
from service.store import Told

USUAL: Final = 20
MOST: Final = 100
SHOWN: Final = ("as_of", "verdict", "action", "basis", "headline", "fuel_state")


def flights(with_: Collaborators) -> Blueprint:
    """The routes of flights."""
    blueprint = Blueprint("flights", __name__)

    @blueprint.get("/v1/flights/<flight_id>/decisions")
    def history(flight_id: str) -> Response:
        require_query(("limit", "before"))
        limit, before = _limit(), request.args.get("before")
        told = with_.log.of_flight(flight_id, limit=limit + 1, before=before)
        shown = told[:limit]
        return json_response(
            {
                "flight_id": flight_id,
                "decisions": _entries(told)[:limit],
                "next_before": shown[-1].decision_id if len(told) > limit else None,
            }
        )

    return blueprint


def _limit() -> int:
    """How many are wanted. Raises: Problem on what is no number from 1 to the most."""
    text = request.args.get("limit", str(USUAL))
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= MOST):
        fault = Fault(
            pointer="?limit",
            code="range",
            message="is not a number of decisions",
            accepted=f"a whole number from 1 to {MOST}",
        )
        raise invalid((fault,))
    return int(text)


def _entries(told: Sequence[Told]) -> list[dict[str, Any]]:
    """Each decision with what changed since the one before it; of the oldest nothing is known."""
    read = [(each, _object(each.request), _object(each.response)) for each in told]
    entries = [_entry(each, answer) for each, _, answer in read]
    for entry, (newer, older) in zip(entries, pairwise(read), strict=False):
        entry["changed"] = changed(
            older[2], newer[2], request_before=older[1], request_after=newer[1]
        )
    return entries


def _object(content: bytes) -> Any:  # noqa: ANN401 - a body or an answer of ours, an object
    return read_json(content)


def _entry(told: Told, answer: Mapping[str, Any]) -> dict[str, Any]:
    shown = {name: answer[name] for name in SHOWN}
    return {"id": told.decision_id, "created_at": told.created_at, **shown, "changed": None}
