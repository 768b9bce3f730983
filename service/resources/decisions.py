"""`/v1/decisions`: decide, record, hand back exactly what was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from http import HTTPStatus
from time import perf_counter

from flask import Blueprint, Response, request

from decision.case.shape import CASE
from service.collaborators import Collaborators
from service.engine import Answer
from service.fetching.filling import filled
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import idempotency_key, json_body, query_flag, require_query
from service.jsontext import write_json
from service.metrics import tally_of
from service.negotiation import FORMS_OF_A_BRIEF, acceptable
from service.observing import note
from service.problems import NOT_FOUND, Problem
from service.representation import represented
from service.store import Draft, Record, Replay, StoreUnavailable

Body = Mapping[str, object]


def decisions(with_: Collaborators) -> Blueprint:
    """The routes of decisions."""
    blueprint = Blueprint("decisions", __name__)

    @blueprint.post("/v1/decisions")
    def decide() -> Response:
        form = acceptable(FORMS_OF_A_BRIEF)
        wanted, key, body = query_flag("record", default=True), idempotency_key(), json_body(CASE)
        if not wanted:
            answer = _answer(with_, _with_weather(with_, body), None)
            return represented(write_json(answer), form, with_.engine)
        return _created(_recorded(with_, body, key), form, with_)

    @blueprint.get("/v1/decisions/<identity>")
    def read(identity: str) -> Response:
        form = acceptable(FORMS_OF_A_BRIEF)
        require_query(())
        record = with_.log.find(identity)
        if record is None:
            raise Problem(NOT_FOUND, "No decision of this id is recorded.")
        response = represented(record.response, form, with_.engine)
        response.make_conditional(request)
        return response

    return blueprint


def _created(record: Record, form: str, with_: Collaborators) -> Response:
    response = represented(record.response, form, with_.engine)
    response.status_code = HTTPStatus.CREATED
    response.headers["Location"] = f"/v1/decisions/{record.decision_id}"
    return response


def _recorded(with_: Collaborators, body: Body, key: str | None) -> Record:
    """Decide and record, or hand back what was recorded under the key before."""
    at = with_.clock()
    identity = decision_id(at=at, random=with_.entropy(RANDOM_BYTES))
    if key is None:
        return with_.log.record(_draft(with_, body, identity))
    claim = with_.log.reserve(key=key, request=request.get_data(), decision_id=identity, at=at)
    if isinstance(claim, Replay):
        note(decision_id=claim.record.decision_id, replayed=True)
        return claim.record
    try:
        return with_.log.record(_draft(with_, body, identity), claim)
    except Exception:
        with suppress(StoreUnavailable):  # what went wrong first is what the caller must hear
            with_.log.release(claim)  # a request that came to nothing may be sent again
        raise


def _draft(with_: Collaborators, posted: Body, identity: str) -> Draft:
    body = _with_weather(with_, posted)
    answer = _answer(with_, body, identity)
    return Draft(
        decision_id=identity,
        flight_id=str(body["flight_id"]),
        as_of=str(body["as_of"]),
        verdict=str(answer["verdict"]),
        created_at=with_.clock(),
        request=request.get_data() if body is posted else write_json(body),
        response=write_json(answer),
    )


def _with_weather(with_: Collaborators, body: Body) -> Body:
    """The body itself, or one with what it asks to be fetched: that is the case, and is kept."""
    if with_.fetcher is None:
        return body
    lacks = with_.engine.lacking(body)
    if lacks is None:
        return body
    note(fetched_for=len(lacks))
    return filled(body, lacks, with_.fetcher)


def _answer(with_: Collaborators, body: Body, identity: str | None) -> Answer:
    started_s = perf_counter()
    answer = {**with_.engine.decide(body), "id": identity}
    with_.metrics.decided(tally_of(answer), seconds=perf_counter() - started_s)
    note(decision_id=identity, flight_id=body["flight_id"], verdict=answer["verdict"])
    return answer
