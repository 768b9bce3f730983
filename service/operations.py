"""The table of operations: what the API document says of each address, a row per operation.

A test compares it with the routes that the application really has.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any, Final

from decision.case.shape import CASE
from decision.case.spec import Record
from service.negotiation import FORMS_OF_A_BRIEF, HTML, JSON

_BODY_FAILURES: Final = frozenset(
    {
        HTTPStatus.BAD_REQUEST,
        HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
        HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
        HTTPStatus.UNPROCESSABLE_ENTITY,
    }
)
_ANY_FAILURES: Final = frozenset(
    {HTTPStatus.UNPROCESSABLE_ENTITY, HTTPStatus.INTERNAL_SERVER_ERROR}
)
_NEGOTIATED: Final = frozenset({HTTPStatus.NOT_ACCEPTABLE})
_STORED: Final = frozenset({HTTPStatus.SERVICE_UNAVAILABLE})
_FOUND: Final = frozenset({HTTPStatus.NOT_FOUND})
_KEYED: Final = frozenset({HTTPStatus.CONFLICT})


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A parameter outside the body."""

    name: str
    where: str
    doc: str
    schema: Mapping[str, Any]
    required: bool = False

    def as_openapi(self) -> dict[str, Any]:
        """As the API document has it."""
        return {
            "name": self.name,
            "in": self.where,
            "required": self.required,
            "description": self.doc,
            "schema": dict(self.schema),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One method at one address."""

    id: str
    tag: str
    method: str
    path: str
    summary: str
    answer: str
    successes: Mapping[HTTPStatus, str]
    failures: frozenset[HTTPStatus] = frozenset()
    description: str = ""
    shape: Record | None = None
    example: Mapping[str, Any] | None = None
    parameters: tuple[Parameter, ...] = ()
    forms: tuple[str, ...] = (JSON,)
    headers: Mapping[HTTPStatus, Mapping[str, str]] = field(default_factory=dict)


RECORD: Final = Parameter(
    name="record",
    where="query",
    doc="false: decide without recording; the answer's id is null.",
    schema={"type": "boolean", "default": True},
)
KEY: Final = Parameter(
    name="Idempotency-Key",
    where="header",
    doc="A recorded decision is made once per key: the same body again gets the same bytes.",
    schema={"type": "string", "minLength": 1, "maxLength": 255, "pattern": r"^[!#-\[\]-~]+$"},
)
DECISION_ID: Final = Parameter(
    name="id",
    where="path",
    doc="The decision's id.",
    schema={"type": "string", "format": "uuid"},
    required=True,
)
SLUG: Final = Parameter(
    name="slug",
    where="path",
    doc="Last part of the type.",
    schema={"type": "string"},
    required=True,
)
IF_NONE_MATCH: Final = Parameter(
    name="If-None-Match",
    where="header",
    doc="An ETag; the answer is 304 while it still holds.",
    schema={"type": "string"},
)
ETAG: Final = {"ETag": "SHA-256 of the bytes sent."}

OPERATIONS: Final = (
    Operation(
        id="decide",
        tag="decisions",
        method="post",
        path="/v1/decisions",
        summary="Decide whether to start or continue an approach, and record the decision.",
        description="GO, GO_WITH_CAUTION, NO_GO and INSUFFICIENT_DATA are all successes: the"
        " answer is the decision. Nothing is recorded when the request is refused.",
        shape=CASE,
        answer="Decision",
        parameters=(RECORD, KEY),
        forms=FORMS_OF_A_BRIEF,
        successes={
            HTTPStatus.OK: "Decided, not recorded.",
            HTTPStatus.CREATED: "Decided and recorded.",
        },
        headers={
            HTTPStatus.OK: ETAG,
            HTTPStatus.CREATED: {"Location": "Address of the recorded decision.", **ETAG},
        },
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED | _STORED | _KEYED,
    ),
    Operation(
        id="readDecision",
        tag="decisions",
        method="get",
        path="/v1/decisions/{id}",
        summary="A recorded decision, byte for byte as it was answered.",
        answer="Decision",
        parameters=(DECISION_ID, IF_NONE_MATCH),
        forms=FORMS_OF_A_BRIEF,
        successes={
            HTTPStatus.OK: "The decision.",
            HTTPStatus.NOT_MODIFIED: "The ETag given still holds.",
        },
        headers={HTTPStatus.OK: ETAG},
        failures=_ANY_FAILURES | _NEGOTIATED | _STORED | _FOUND,
    ),
    Operation(
        id="alive",
        tag="operation",
        method="get",
        path="/healthz",
        summary="Whether the process answers; touches nothing else.",
        answer="Alive",
        successes={HTTPStatus.OK: "It does."},
        failures=_ANY_FAILURES,
    ),
    Operation(
        id="ready",
        tag="operation",
        method="get",
        path="/readyz",
        summary="Whether decisions can be made and recorded.",
        answer="Ready",
        successes={HTTPStatus.OK: "They can."},
        failures=_ANY_FAILURES | _STORED,
    ),
    Operation(
        id="openapi",
        tag="operation",
        method="get",
        path="/openapi.json",
        summary="This document.",
        answer="Document",
        successes={HTTPStatus.OK: "The document."},
        failures=_ANY_FAILURES,
    ),
    Operation(
        id="aboutProblem",
        tag="operation",
        method="get",
        path="/problems/{slug}",
        summary="What an error means and what to do about it.",
        answer="",
        parameters=(SLUG,),
        forms=(HTML,),
        successes={HTTPStatus.OK: "The page."},
        failures=_ANY_FAILURES | _FOUND,
    ),
)
