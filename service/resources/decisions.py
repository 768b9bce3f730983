"""`/v1/decisions`: decide, record, hand back exactly what was recorded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from http import HTTPStatus
from time import perf_counter
from typing import Annotated, Any, TypeVar

from flask import Response, request

from decision.answer import Answer as Published
from decision.answer.again import AnswerAgain
from decision.case import CASE
from decision.fields import about, sized
from service.address import ETAG, Address
from service.collaborators import Collaborators
from service.door.door import caller_name
from service.engine import Answer, Told
from service.fetching.filling import filled
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import KEY
from service.jsontext import write_json
from service.metrics import Tally, tally_of
from service.negotiation import FORMS_OF_A_BRIEF, JSON
from service.observing import note
from service.problems import (
    CONFLICT,
    GONE,
    KEY_REUSED,
    NOT_FOUND,
    OUT_OF_RANGE,
    UNAVAILABLE,
    Problem,
)
from service.representation import represented
from service.scopes import Scope
from service.spans import span
from service.store import Draft, Record, Replay, StoreUnavailable

Body = Mapping[str, object]
T = TypeVar("T")


DecisionId = Annotated[str, sized("The decision's id, a UUID.")]


@Address(
    "POST",
    "/v1/decisions",
    tag="decisions",
    scope=Scope.DECIDE,
    summary="Decide whether to start or continue an approach, and record the decision.",
    description="GO, GO_WITH_CAUTION, NO_GO and INSUFFICIENT_DATA are all successes: the"
    " answer is the decision. Nothing is recorded when the request is refused.",
    body=CASE,
    headers=(KEY,),
    answers=(Published,),
    forms=FORMS_OF_A_BRIEF,
    successes={
        HTTPStatus.OK: "Decided, not recorded.",
        HTTPStatus.CREATED: "Decided and recorded.",
    },
    sends={
        HTTPStatus.OK: ETAG,
        HTTPStatus.CREATED: {"Location": "Address of the recorded decision.", **ETAG},
    },
    raises=(OUT_OF_RANGE, KEY_REUSED, CONFLICT, UNAVAILABLE),
)
def decide(
    with_: Collaborators,
    form: str,
    key: str | None,
    body: Body,
    record: Annotated[
        bool, about("false: decide without recording; the answer's id is null.")
    ] = True,
) -> Response:
    """Decide, and record unless told not to."""
    if not record and form == JSON:
        told = _told(with_, filled_out(with_, body))
        return represented(told.content, form, with_.engine, with_.clock)
    if not record:
        answer = answered(with_, filled_out(with_, body), None)
        return represented(write_json(answer), form, with_.engine, with_.clock)
    draft = partial(_draft, with_, body)
    return created(recorded(with_, key, request.get_data(), draft), form, with_)


@Address(
    "GET",
    "/v1/decisions/<id>",
    tag="decisions",
    scope=Scope.READ,
    summary="A recorded decision, byte for byte as it was answered.",
    answers=(Published, AnswerAgain),
    forms=FORMS_OF_A_BRIEF,
    successes={
        HTTPStatus.OK: "The decision.",
    },
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def read_decision(
    with_: Collaborators,
    form: str,
    id: DecisionId,
) -> Response:
    """What was recorded."""
    if form != JSON:
        return _from_whole(id, form, with_)
    return represented(known(with_.log.find(id)).response, form, with_.engine, with_.clock)


def known(found: T | None) -> T:
    """What was found. Raises: Problem if it was not."""
    if found is None:
        raise Problem(NOT_FOUND, "No decision of this id is recorded.")
    return found


def created(record: Record, form: str, with_: Collaborators) -> Response:
    """A decision that was recorded, in the form asked for, with its address."""
    identity = record.decision_id
    if form == JSON:
        response = represented(record.response, form, with_.engine, with_.clock)
    else:
        response = _from_whole(identity, form, with_)
    response.status_code = HTTPStatus.CREATED
    response.headers["Location"] = f"/v1/decisions/{identity}"
    return response


def _from_whole(identity: str, form: str, with_: Collaborators) -> Response:
    """Text or page of a recorded decision, made from all that was computed for it."""
    told = known(with_.log.told(identity))
    return represented(told.response, form, with_.engine, with_.clock, whole=told.whole)


def recorded(
    with_: Collaborators, key: str | None, sent: bytes, draft: Callable[[str], Draft]
) -> Record:
    """Decide under a new id and record, or hand back what was recorded under the key before.

    `sent`: what the key was sent with; `draft`: the decision under an id.
    """
    at = with_.clock()
    identity = decision_id(at=at, random=with_.entropy(RANDOM_BYTES))
    if key is None:
        return with_.log.record(draft(identity))
    claim = with_.log.reserve(key=key, request=sent, decision_id=identity, at=at)
    if isinstance(claim, Replay):
        note(decision_id=claim.record.decision_id, replayed=True)
        return claim.record
    try:
        return with_.log.record(draft(identity), claim)
    except Exception:
        with suppress(StoreUnavailable):  # what went wrong first is what the caller must hear
            with_.log.release(claim)  # a request that came to nothing may be sent again
        raise


def _draft(with_: Collaborators, posted: Body, identity: str) -> Draft:
    body = filled_out(with_, posted)
    answer = answered(with_, body, identity)
    asked = request.get_data() if body is posted else write_json(body)
    return draft_of(with_, body, asked, answer)


def draft_of(with_: Collaborators, body: Body, asked: bytes, answer: Answer) -> Draft:
    """A decision about to be recorded: the case, as it is and as its bytes, and the whole answer.

    The answer has its id.
    """
    return Draft(
        decision_id=str(answer["id"]),
        flight_id=str(body["flight_id"]),
        as_of=str(body["as_of"]),
        verdict=str(answer["verdict"]),
        created_at=with_.clock(),
        request=asked,
        response=write_json(with_.engine.sent(answer)),
        whole=write_json(answer),
        caller=caller_name(),
    )


def filled_out(with_: Collaborators, posted: Body) -> Body:
    """The body itself, or one with what it asks for: alternates proposed, then reports fetched.

    That is the case, and is kept.
    """
    body = with_.engine.written_out(posted)
    if with_.fetcher is None:
        return body
    lacks = with_.engine.lacking(body)
    if lacks is None:
        return body
    note(fetched_for=len(lacks))
    started_s = perf_counter()
    made = filled(body, lacks, with_.fetcher)
    weather: Any = made["weather"]
    with_.metrics.fetched(weather["fetched"], seconds=perf_counter() - started_s)
    return made


def _told(with_: Collaborators, body: Body) -> Told:
    """An answer that is not recorded."""
    with with_.gate.passed(body):
        started_s = perf_counter()
        with span("decide"):
            told = with_.engine.decide(body)
    _decided(with_, told.tally, body, None, started_s=started_s)
    return told


def answered(with_: Collaborators, body: Body, identity: str | None) -> Answer:
    """An answer with all that was computed for it."""
    with with_.gate.passed(body):
        started_s = perf_counter()
        with span("decide"):
            answer = {**with_.engine.whole(body), "id": identity}
    _decided(with_, tally_of(answer), body, identity, started_s=started_s)
    return answer


def _decided(
    with_: Collaborators, tally: Tally, body: Body, identity: str | None, *, started_s: float
) -> None:
    with_.metrics.decided(tally, seconds=perf_counter() - started_s)
    note(decision_id=identity, flight_id=body["flight_id"], verdict=tally.verdict)
