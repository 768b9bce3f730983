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
from service.negotiation import FORMS_OF_A_BRIEF, HTML, JSON, JSON_LINES, SVG, TEXT
from service.shapes import CLIMB, CONDITIONS, DECODING, DIVERSION, EXPANSION, HOLDING, LANDING

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
    line: Record | None = None  # of a body that has one on each line
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
RECORD_BATCH: Final = Parameter(
    name="record",
    where="query",
    doc="true: record each decision; otherwise their ids are null.",
    schema={"type": "boolean", "default": False},
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
FLIGHT_ID: Final = Parameter(
    name="flight_id",
    where="path",
    doc="The flight, as the requests named it.",
    schema={"type": "string"},
    required=True,
)
LIMIT: Final = Parameter(
    name="limit",
    where="query",
    doc="How many decisions at most.",
    schema={"type": "integer", "minimum": 1, "maximum": 100, "default": 20},
)
BEFORE: Final = Parameter(
    name="before",
    where="query",
    doc="Only decisions older than this id: `next_before` of the page before.",
    schema={"type": "string"},
)
DATA_ID: Final = Parameter(
    name="id", where="path", doc="Its id.", schema={"type": "string"}, required=True
)
ICAO: Final = Parameter(
    name="icao",
    where="path",
    doc="Location indicator.",
    schema={"type": "string"},
    required=True,
)
SLUG: Final = Parameter(
    name="slug",
    where="path",
    doc="Last part of the type.",
    schema={"type": "string"},
    required=True,
)
PAGE: Final = Parameter(
    name="name",
    where="path",
    doc="Name of the page, as the first one lists it.",
    schema={"type": "string"},
    required=True,
)
FIGURE: Final = Parameter(
    name="name",
    where="path",
    doc="File name of the figure.",
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
        id="decideBatch",
        tag="decisions",
        method="post",
        path="/v1/decisions/batch",
        summary="Decide many cases: one a line in, one a line out, in the same order.",
        description="Each line of the answer is what the case would get by itself: the decision, or"
        " a problem document with the number of its `line` in the body; the others go on. Empty"
        ' lines are passed over. The last line is `{"end": true, "count": n}`; an answer without it'
        " is not whole. Nothing is fetched. The limits on bytes, lines and seconds are settings.",
        line=CASE,
        answer="BatchLine",
        parameters=(RECORD_BATCH,),
        forms=JSON_LINES,
        successes={HTTPStatus.OK: "The lines, sent as they are decided."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
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
        id="flightHistory",
        tag="decisions",
        method="get",
        path="/v1/flights/{flight_id}/decisions",
        summary="What was decided for a flight, newest first, and what changed each time.",
        answer="History",
        parameters=(FLIGHT_ID, LIMIT, BEFORE),
        successes={HTTPStatus.OK: "The decisions; none is an answer too."},
        failures=_ANY_FAILURES | _NEGOTIATED | _STORED,
    ),
    Operation(
        id="decodeReports",
        tag="tools",
        method="post",
        path="/v1/weather/decode",
        summary="What reports say: decoded, in the same order, with everything left unread.",
        shape=DECODING,
        answer="DecodedReports",
        example={
            "reports": [
                "METAR XAAA 310550Z 24008KT 9999 BKN030 05/01 Q1013",
                "TAF XAAA 310500Z 3106/0106 24010KT 9999 BKN030",
            ],
            "received_at": "2026-01-31T06:00:00Z",
        },
        successes={HTTPStatus.OK: "The reports; one that cannot be read says why."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="conditions",
        tag="tools",
        method="post",
        path="/v1/weather/conditions",
        summary="What governs at an aerodrome over a window of time, by which group, and why.",
        shape=CONDITIONS,
        answer="ConditionsOverWindow",
        example={
            "station": "XAAA",
            "reports": [
                "METAR XAAA 310550Z 24008KT 9999 BKN030 05/01 Q1013",
                "TAF XAAA 310500Z 3106/0106 24010KT 9999 BKN030 TEMPO 3107/3109 1500 TSRA BKN004",
            ],
            "as_of": "2026-01-31T06:00:00Z",
            "window": {"start": "2026-01-31T07:00:00Z", "end": "2026-01-31T07:30:00Z"},
            "rulebook": "faa-121",
        },
        successes={HTTPStatus.OK: "The conditions, element by element, and what was not used."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="expandFailures",
        tag="tools",
        method="post",
        path="/v1/failures/expand",
        summary="What failures take away and what is left, each with the path to its cause.",
        shape=EXPANSION,
        answer="Expansion",
        example={
            "profile": "xtj150",
            "failures": [{"id": "hydraulic-1"}],
            "track_nm": 40,
            "groundspeed_kt": 180,
        },
        successes={HTTPStatus.OK: "What is left."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="diversion",
        tag="tools",
        method="post",
        path="/v1/performance/diversion",
        summary="Fuel, time, level and speed of a diversion; approach and reserve not included.",
        shape=DIVERSION,
        answer="Diversion",
        example={"profile": "xtj150", "mass_kg": 60000, "distance_nm": 200, "gear": "down"},
        successes={HTTPStatus.OK: "The flight, or the limit that forbids it."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="landing",
        tag="tools",
        method="post",
        path="/v1/performance/landing",
        summary="Landing distance from 50 ft with the devices that work.",
        shape=LANDING,
        answer="Landing",
        example={
            "profile": "xtj150",
            "mass_kg": 60000,
            "flap": "34",
            "pressure_altitude_ft": 0,
            "condition_code": 5,
        },
        successes={HTTPStatus.OK: "The landing, or what forbids it."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="climb",
        tag="tools",
        method="post",
        path="/v1/performance/climb",
        summary="Go-around gradient and ceiling of a configuration.",
        shape=CLIMB,
        answer="Climb",
        example={
            "profile": "xtj150",
            "mass_kg": 60000,
            "pressure_altitude_ft": 2000,
            "engines_running": 1,
            "flap": "20",
            "distance_nm": 8,
        },
        successes={HTTPStatus.OK: "Gradient, rate, speed and ceiling, and altitude reached."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="holding",
        tag="tools",
        method="post",
        path="/v1/performance/holding",
        summary="Fuel and speed of a hold.",
        shape=HOLDING,
        answer="Holding",
        example={
            "profile": "xtj150",
            "mass_kg": 60000,
            "pressure_altitude_ft": 5000,
            "minutes": 20,
        },
        successes={HTTPStatus.OK: "The hold, or the limit that forbids it."},
        failures=_BODY_FAILURES | _ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="profiles",
        tag="data",
        method="get",
        path="/v1/profiles",
        summary="The aircraft profiles that are loaded.",
        answer="Profiles",
        successes={HTTPStatus.OK: "Their headings."},
        failures=_ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="profile",
        tag="data",
        method="get",
        path="/v1/profiles/{id}",
        summary="One aircraft profile with the failures that can be reported for it.",
        answer="Profile",
        parameters=(DATA_ID,),
        successes={HTTPStatus.OK: "The profile."},
        failures=_ANY_FAILURES | _NEGOTIATED | _FOUND,
    ),
    Operation(
        id="rulebooks",
        tag="data",
        method="get",
        path="/v1/rulebooks",
        summary="The rulebooks that are loaded.",
        answer="Rulebooks",
        successes={HTTPStatus.OK: "Their headings."},
        failures=_ANY_FAILURES | _NEGOTIATED,
    ),
    Operation(
        id="rulebook",
        tag="data",
        method="get",
        path="/v1/rulebooks/{id}",
        summary="One rulebook, every row with its clause and how well it is known.",
        answer="Rulebook",
        parameters=(DATA_ID,),
        successes={HTTPStatus.OK: "The rulebook."},
        failures=_ANY_FAILURES | _NEGOTIATED | _FOUND,
    ),
    Operation(
        id="aerodrome",
        tag="data",
        method="get",
        path="/v1/aerodromes/{icao}",
        summary="One aerodrome that a case may name.",
        answer="LoadedAerodrome",
        parameters=(ICAO,),
        successes={HTTPStatus.OK: "The aerodrome."},
        failures=_ANY_FAILURES | _NEGOTIATED | _FOUND,
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
        id="metrics",
        tag="operation",
        method="get",
        path="/metrics",
        summary="Counts and durations, in the text format of Prometheus.",
        answer="",
        forms=(TEXT,),
        successes={HTTPStatus.OK: "The metrics of every server process together."},
        failures=_ANY_FAILURES,
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
        id="docs",
        tag="operation",
        method="get",
        path="/docs",
        summary="The product's own pages: how to call it, what it knows, how it was checked.",
        answer="",
        forms=(HTML,),
        successes={HTTPStatus.OK: "The first page."},
        failures=_ANY_FAILURES,
    ),
    Operation(
        id="docsPage",
        tag="operation",
        method="get",
        path="/docs/{name}",
        summary="One of the product's own pages.",
        answer="",
        parameters=(PAGE,),
        forms=(HTML,),
        successes={HTTPStatus.OK: "The page."},
        failures=_ANY_FAILURES | _FOUND,
    ),
    Operation(
        id="docsFigure",
        tag="operation",
        method="get",
        path="/docs/figures/{name}",
        summary="A figure of one of the pages.",
        answer="",
        parameters=(FIGURE,),
        forms=(SVG,),
        successes={HTTPStatus.OK: "The figure."},
        failures=_ANY_FAILURES | _FOUND,
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
