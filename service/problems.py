"""Errors as RFC 9457 problem details: one table of types, one shape, on every path.

Each type is an address of a page of this service. Errors are always
`application/problem+json`, whatever the request accepts. `errors[]` names each fault: a JSON
Pointer into the body, `?name` for a query parameter, or `Name:` for a header.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import singledispatch
from http import HTTPStatus
from types import MappingProxyType
from typing import Annotated, Final
from urllib.parse import quote

import msgspec
from flask import Flask, Response, current_app, g, request
from msgspec import Struct
from werkzeug.exceptions import HTTPException

from decision.errors import MAX_FAULTS, Fault, InvalidCase, OutOfRange, told
from decision.fields import about, sized
from service.bounds import Busy, Overtime
from service.jsontext import NotJson, shown
from service.store import (
    KeyInProgress,
    KeyReused,
    Purged,
    StoreNotUnderstood,
    StoreUnavailable,
)

MEDIA_TYPE: Final = "application/problem+json"
RETRY_AFTER_S: Final = "1"
CARRIED_HEADERS: Final = frozenset({"allow", "retry-after", "www-authenticate"})
BASE: Final = "PUBLIC_ADDRESS"
LOG: Final = logging.getLogger("service.problems")


class ProblemType(Struct, frozen=True, kw_only=True, gc=False):
    """A kind of error: its address, its status, and what the page about it says."""

    slug: Annotated[str, sized("The last part of its address.")]
    status: Annotated[int, about("The HTTP status of an answer with it.", low=400, high=599)]
    title: Annotated[str, sized("What it is, in words.")]
    meaning: Annotated[str, sized("What it means, and what to do about it.")]

    @property
    def path(self) -> str:
        """Where the page is."""
        return f"/problems/{self.slug}"


class ProblemFault(Struct, frozen=True, kw_only=True, gc=False):
    """One thing that is wrong."""

    pointer: Annotated[
        str,
        sized(
            "Where: a JSON Pointer into the body (empty: all of it), `?name` of a query parameter,"
            " or `Name:` of a header."
        ),
    ]
    code: Annotated[str, sized("Kind of the fault, a word that programs can compare.")]
    message: Annotated[str, sized("What is wrong with the value.")]
    accepted: Annotated[str, sized("What would be accepted.")]


class ProblemDocument(Struct, frozen=True, kw_only=True, gc=False):
    """Problem details as RFC 9457 has them, with every fault."""

    type: Annotated[str, sized("Address of the page about this kind of error.")]
    title: Annotated[str, sized("What it is, in words.")]
    status: Annotated[int, about("The HTTP status.", low=400, high=599)]
    detail: Annotated[str, sized("What it is in this case.")]
    instance: Annotated[str, sized("Path of the request.")]
    request_id: Annotated[str | None, sized("The request's id, which the log has too.")]
    errors: Annotated[
        tuple[ProblemFault, ...], sized("What is wrong, fault by fault.", longest=MAX_FAULTS)
    ]


def _type(slug: str, status: HTTPStatus, title: str, meaning: str) -> ProblemType:
    return ProblemType(slug=slug, status=status, title=title, meaning=meaning)


BAD_REQUEST: Final = _type(
    "bad-request",
    HTTPStatus.BAD_REQUEST,
    "The request cannot be read",
    "The request is not well-formed HTTP. Correct it before sending it again.",
)
NOT_JSON: Final = _type(
    "not-json",
    HTTPStatus.BAD_REQUEST,
    "The body is not JSON",
    "The body must be one JSON value in UTF-8 as RFC 8259 has it; NaN and Infinity are not JSON.",
)
NO_KEY: Final = _type(
    "unauthenticated",
    HTTPStatus.UNAUTHORIZED,
    "The service does not know who is calling",
    "Send a key that opens the service as `Authorization: Bearer` and the key, or sign in with one"
    " at /sign-in."
    " The detail says whether there was none, or what is wrong with it. Whoever runs the service"
    " makes keys: `python -m service.keys create`.",
)
SCOPE_LACKING: Final = _type(
    "scope-lacking",
    HTTPStatus.FORBIDDEN,
    "The key is not for this address",
    "The key is known, but it was made for other things; the detail names the scope that is asked"
    " for. Use another key, or have one made with this scope.",
)
FOREIGN_ORIGIN: Final = _type(
    "foreign-origin",
    HTTPStatus.FORBIDDEN,
    "The request comes from a page of somebody else",
    "With the session of a browser, only pages of this service may change anything: the Origin"
    " header must be there and name it. Programs send a key instead.",
)
UNKNOWN_HOST: Final = _type(
    "unknown-host",
    HTTPStatus.MISDIRECTED_REQUEST,
    "The service is not called that",
    "The Host header is none of the names of this service. Whoever runs the service lists them in"
    " `APPROACH_HOSTS`.",
)
TOO_OFTEN: Final = _type(
    "too-many-requests",
    HTTPStatus.TOO_MANY_REQUESTS,
    "The caller sends too many requests",
    "Each server process counts what comes with a key by itself; the detail says how many requests"
    " a minute it answers. Repeat this one after the seconds in Retry-After.",
)
NOT_FOUND: Final = _type(
    "not-found",
    HTTPStatus.NOT_FOUND,
    "There is nothing here",
    "No resource has this address. A decision made with record=false is not kept.",
)
GONE: Final = _type(
    "removed",
    HTTPStatus.GONE,
    "The decision has been removed",
    "It was recorded, and was removed when it was as old as the operator keeps decisions. That it"
    " was recorded, when, and the digests of its bytes are still in the chain of records.",
)
METHOD: Final = _type(
    "method-not-allowed",
    HTTPStatus.METHOD_NOT_ALLOWED,
    "The method is not allowed here",
    "The Allow header lists the methods that this address takes.",
)
NOT_ACCEPTABLE: Final = _type(
    "not-acceptable",
    HTTPStatus.NOT_ACCEPTABLE,
    "No offered media type is acceptable",
    "The Accept header excludes every media type that this address offers; `accepted` lists them.",
)
CONFLICT: Final = _type(
    "key-in-progress",
    HTTPStatus.CONFLICT,
    "A request with this key is still running",
    "Another request with the same Idempotency-Key has not ended. Repeat this one a little later.",
)
TOO_LARGE: Final = _type(
    "too-large",
    HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
    "The body is too large",
    "The body, or a line of it, is larger than the service's limit; the detail says which limit.",
)
URI_TOO_LONG: Final = _type(
    "uri-too-long",
    HTTPStatus.REQUEST_URI_TOO_LONG,
    "The address is too long",
    "The request line is longer than the server accepts.",
)
MEDIA: Final = _type(
    "unsupported-media-type",
    HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
    "The body's media type is not supported",
    "Send the body in a media type that the address takes, named in Content-Type, and without a"
    " content coding; the detail and the Accept header of the answer say which.",
)
INVALID: Final = _type(
    "invalid-request",
    HTTPStatus.UNPROCESSABLE_ENTITY,
    "The request is well-formed but not acceptable",
    "Each entry of errors names a field, what is wrong with its value and what would be accepted."
    " Nothing has been recorded.",
)
OUT_OF_RANGE: Final = _type(
    "out-of-range",
    HTTPStatus.UNPROCESSABLE_ENTITY,
    "A value is outside the range of the model",
    "A formula or table of the performance model does not hold for the values given."
    " The service never extrapolates; errors names the quantity and its range.",
)
KEY_REUSED: Final = _type(
    "key-reused",
    HTTPStatus.UNPROCESSABLE_ENTITY,
    "The key belongs to another request",
    "This Idempotency-Key was first used with a different body. Use a new key for a new request.",
)
INTERNAL: Final = _type(
    "internal-error",
    HTTPStatus.INTERNAL_SERVER_ERROR,
    "The service has failed",
    "This is a fault of the service, not of the request. No decision was made. Give the"
    " request_id to whoever runs the service: its log has the cause.",
)
UNAVAILABLE: Final = _type(
    "unavailable",
    HTTPStatus.SERVICE_UNAVAILABLE,
    "The service is not ready",
    "Something that the service needs, such as its store, does not answer, or the request asks for"
    " more than is worked on now; the detail says which. Nothing is recorded. Repeat the request"
    " later; while the store is away a decision can still be had with record=false.",
)

PROBLEM_TYPES: Final = (
    BAD_REQUEST,
    NOT_JSON,
    NO_KEY,
    SCOPE_LACKING,
    FOREIGN_ORIGIN,
    NOT_FOUND,
    GONE,
    METHOD,
    NOT_ACCEPTABLE,
    CONFLICT,
    TOO_LARGE,
    URI_TOO_LONG,
    MEDIA,
    UNKNOWN_HOST,
    INVALID,
    OUT_OF_RANGE,
    KEY_REUSED,
    TOO_OFTEN,
    INTERNAL,
    UNAVAILABLE,
)
BY_SLUG: Final = MappingProxyType({kind.slug: kind for kind in PROBLEM_TYPES})
OF_STATUS: Final = MappingProxyType(
    {
        kind.status: kind
        for kind in (
            BAD_REQUEST,
            NOT_FOUND,
            METHOD,
            NOT_ACCEPTABLE,
            TOO_LARGE,
            URI_TOO_LONG,
            MEDIA,
            INVALID,
            INTERNAL,
            UNAVAILABLE,
        )
    }
)


class Problem(Exception):
    """An error that a route raises on purpose."""

    def __init__(
        self,
        kind: ProblemType,
        detail: str,
        *,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] = MappingProxyType({}),
    ) -> None:
        self.kind, self.detail = kind, detail
        self.faults, self.headers = tuple(faults), headers
        super().__init__(detail)


def register_problem_handlers(app: Flask) -> None:
    """Answer every error, expected or not, with a problem document."""
    app.register_error_handler(Exception, lambda error: _answer(problem_of(error)))


def base() -> str:
    """What addresses of this service begin with: as set, else as the request called it."""
    return str(current_app.config[BASE]) or request.root_url.rstrip("/")


@contextmanager
def well_formed() -> Iterator[None]:
    """Reading a body. Raises: Problem (400) where the server finds its chunks malformed, or cut."""
    try:
        yield
    except HTTPException:
        raise
    except Exception as error:  # each server has its own
        raise Problem(BAD_REQUEST, "The body is cut off, or its chunks are malformed.") from error


def require_whole(came: int) -> None:
    """Know that as many bytes of a body came as were announced.

    Raises: Problem (400) where the caller hung up before: what came might read as a whole.
    """
    announced = request.content_length
    if announced is not None and came < announced:
        raise Problem(BAD_REQUEST, f"The body is cut off: {came} of {announced} bytes came.")


def invalid(faults: Sequence[Fault]) -> Problem:
    """The problem of a request with faults."""
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    return Problem(INVALID, f"The request has {count}; see errors.", faults=told(faults))


@singledispatch
def problem_of(error: Exception) -> Problem:
    """The problem that an error becomes; one that nobody expected is logged and says nothing."""
    LOG.error("unexpected error", exc_info=error)
    return Problem(INTERNAL, INTERNAL.meaning)


@problem_of.register
def _(error: Problem) -> Problem:
    return error


@problem_of.register
def _(error: HTTPException) -> Problem:
    status = HTTPStatus(error.code or HTTPStatus.INTERNAL_SERVER_ERROR)
    kind = OF_STATUS.get(
        status, INTERNAL if status >= HTTPStatus.INTERNAL_SERVER_ERROR else BAD_REQUEST
    )
    kept = {
        name: value
        for name, value in error.get_headers(request.environ)
        if name.lower() in CARRIED_HEADERS
    }
    return Problem(kind, _detail(kind), headers=kept)


@problem_of.register
def _(error: InvalidCase) -> Problem:
    return invalid(error.faults)


@problem_of.register
def _(error: OutOfRange) -> Problem:
    fault = Fault(
        pointer="",
        code="out_of_range",
        message=f"{error.name} is {error.value:g}",
        accepted=f"{error.low:g} to {error.high:g}",
    )
    return Problem(OUT_OF_RANGE, f"{error.name} is outside its range.", faults=(fault,))


@problem_of.register
def _(error: NotJson) -> Problem:
    where = f"Line {error.line}, column {error.column}"
    return Problem(NOT_JSON, f"{where}: {error.what}. {NOT_JSON.meaning}")


@problem_of.register
def _(error: StoreUnavailable) -> Problem:
    LOG.error("store unavailable", exc_info=error)
    return Problem(
        UNAVAILABLE,
        "The store does not answer, or does not take what is written.",
        headers={"Retry-After": RETRY_AFTER_S},
    )


@problem_of.register
def _(error: Overtime) -> Problem:
    LOG.warning("decision ended: %s", error)
    return Problem(
        UNAVAILABLE,
        f"The decision took more than {error.seconds:g} s of processor time; nothing is recorded."
        " Ask for less, or for fewer places at once.",
    )


@problem_of.register
def _(_error: Busy) -> Problem:
    return Problem(
        UNAVAILABLE,
        "Others are being worked on that ask for as much. Repeat the request a little later.",
        headers={"Retry-After": RETRY_AFTER_S},
    )


@problem_of.register
def _(error: StoreNotUnderstood) -> Problem:
    LOG.error("store not understood", exc_info=error)
    return Problem(UNAVAILABLE, "The store has the form of another version of the service.")


@problem_of.register
def _(_error: Purged) -> Problem:
    return Problem(GONE, GONE.meaning)


@problem_of.register
def _(_error: KeyInProgress) -> Problem:
    return Problem(CONFLICT, CONFLICT.meaning, headers={"Retry-After": RETRY_AFTER_S})


@problem_of.register
def _(_error: KeyReused) -> Problem:
    fault = Fault(
        pointer="Idempotency-Key:",
        code="key_reused",
        message="was first used with another body",
        accepted="a key that has not been used",
    )
    return Problem(KEY_REUSED, KEY_REUSED.meaning, faults=(fault,))


def _detail(kind: ProblemType) -> str:
    match kind.slug:
        case TOO_LARGE.slug:
            return f"The limit is {request.max_content_length} bytes."
        case METHOD.slug:
            return f"{request.method} is not allowed at this address."
        case _:
            return kind.meaning


def document_of(
    problem: Problem, *, base: str, instance: str, request_id: str | None
) -> ProblemDocument:
    """What is answered; `base`: what the addresses of this service begin with."""
    return ProblemDocument(
        type=base + problem.kind.path,
        title=problem.kind.title,
        status=problem.kind.status,
        detail=problem.detail,
        instance=instance,
        request_id=request_id,
        errors=tuple(map(_told, problem.faults)),
    )


def _told(fault: Fault) -> ProblemFault:
    return ProblemFault(
        pointer=fault.pointer, code=fault.code, message=fault.message, accepted=fault.accepted
    )


def _answer(problem: Problem) -> Response:
    where = "" if problem.kind is UNKNOWN_HOST else base()  # a name that is not ours is not told
    document = document_of(
        problem, base=where, instance=quote(request.path), request_id=g.get("request_id")
    )
    response = Response(
        shown(msgspec.json.encode(document)), status=problem.kind.status, content_type=MEDIA_TYPE
    )
    response.headers.extend(problem.headers)
    return response
