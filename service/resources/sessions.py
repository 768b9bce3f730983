"""`/v1/session`: a browser changes a key for a cookie that its pages cannot read."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Annotated, Any, Final, Literal

from flask import Response, request
from msgspec import Struct

from decision.case.derive import record_of
from decision.fields import Instant, about, sized
from decision.windows import instant_text
from service.address import Address
from service.collaborators import Collaborators
from service.door.callers import COOKIE
from service.door.door import Session
from service.keytext import new_key
from service.negotiation import HTML
from service.problems import FOREIGN_ORIGIN, NO_KEY, TOO_OFTEN, UNAVAILABLE, Problem, base
from service.representation import json_response, sign_in_page_of
from service.scopes import GIVEN, Scope
from service.shapes import FilledSignIn, SignInQuestion

NOBODYS_KEY: Final = new_key(bytes)  # of zeros
SECONDS_PER_MINUTE: Final = 60
HTTPS: Final = "https:"
Scopes = Annotated[tuple[Scope, ...], sized("What the key is for.")]


class SignedIn(Struct, frozen=True, kw_only=True, gc=False):
    """A session has begun; its cookie comes in the head."""

    caller: Annotated[str, sized("The key, by its identifier.")]
    scopes: Scopes
    until: Annotated[Instant, about("When the session ends.")]


class SignedOut(Struct, frozen=True, kw_only=True, gc=False):
    """There is no session any more."""

    status: Annotated[Literal["signed_out"], about("That there is none.")]


@Address(
    "POST",
    "/v1/session",
    tag="door",
    scope=Scope.OPEN,
    summary="Change a key for the session of a browser.",
    description="The cookie is HttpOnly and SameSite=Strict, and Secure where callers use https."
    " It ends with the key that it was begun with, and no later than the setting says. What changes"
    " anything must then come from a page of this service (`Origin`).",
    body=record_of(SignInQuestion),
    example={"key": NOBODYS_KEY.text},
    answers=(SignedIn,),
    successes={HTTPStatus.OK: "The session has begun."},
    sends={HTTPStatus.OK: {"Set-Cookie": "The session."}},
    raises=(NO_KEY, FOREIGN_ORIGIN, TOO_OFTEN, UNAVAILABLE),
)
def sign_in(with_: Collaborators, body: Mapping[str, Any]) -> Response:
    """Begin a session."""
    session = with_.door.sign_in(str(body["key"]))
    response = json_response(
        {
            "caller": session.caller.name,
            "scopes": [each.value for each in GIVEN if each in session.caller.scopes],
            "until": instant_text(session.until),
        }
    )
    return _with_cookie(response, session, with_)


@Address(
    "GET",
    "/sign-in",
    tag="door",
    scope=Scope.OPEN,
    summary="A page to sign in with a key.",
    forms=(HTML,),
    successes={HTTPStatus.OK: "The page."},
)
def sign_in_page() -> Response:
    """A form, without a script."""
    return sign_in_page_of("/docs")


@Address(
    "POST",
    "/sign-in",
    tag="door",
    scope=Scope.OPEN,
    summary="What that page sends: sign in, then see the page that was asked for.",
    filled_in=record_of(FilledSignIn),
    forms=(HTML,),
    successes={HTTPStatus.SEE_OTHER: "The session has begun."},
    sends={HTTPStatus.SEE_OTHER: {"Set-Cookie": "The session.", "Location": "That page."}},
    raises=(NO_KEY, FOREIGN_ORIGIN, TOO_OFTEN, UNAVAILABLE),
)
def sign_in_by_form(with_: Collaborators, body: Mapping[str, Any]) -> Response:
    """Begin a session, and show what was asked for: always an address of this service."""
    then = str(body.get("then", "/docs"))
    try:
        session = with_.door.sign_in(str(body["key"]))
    except Problem as problem:
        if problem.kind is not NO_KEY:
            raise
        return sign_in_page_of(then, problem=problem, refused=True)
    response = Response(status=HTTPStatus.SEE_OTHER, mimetype=HTML)
    response.headers["Location"] = f"{base()}{then}"
    return _with_cookie(response, session, with_)


@Address(
    "DELETE",
    "/v1/session",
    tag="door",
    scope=Scope.OPEN,
    summary="End the session of a browser.",
    answers=(SignedOut,),
    successes={HTTPStatus.OK: "It has ended, or there was none."},
    sends={HTTPStatus.OK: {"Set-Cookie": "That the cookie is to be forgotten."}},
    raises=(FOREIGN_ORIGIN, UNAVAILABLE),
)
def sign_out(with_: Collaborators) -> Response:
    """End it."""
    token = request.cookies.get(COOKIE)
    if token is not None:
        with_.door.sign_out(token)
    response = json_response({"status": "signed_out"})
    response.delete_cookie(COOKIE, httponly=True, samesite="Strict")
    return response


def _with_cookie(response: Response, session: Session, with_: Collaborators) -> Response:
    response.set_cookie(
        COOKIE,
        session.token,
        max_age=with_.door.session_minutes * SECONDS_PER_MINUTE,
        httponly=True,
        samesite="Strict",
        secure=base().startswith(HTTPS),
    )
    return response
