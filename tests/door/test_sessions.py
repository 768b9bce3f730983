"""Sessions of browsers: begun with a key, kept in a cookie, used from own pages alone."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.http import parse_cookie

from service.door.callers import COOKIE
from service.door.known import REMEMBERED_S
from service.keytext import digest_of
from service.scopes import Scope
from tests.door.builders import House, bearer
from tests.door.conftest import Built
from tests.service.builders import body

URL = "/v1/session"
READ = "/v1/profiles"
OWN = {"Origin": "http://localhost"}


def signed_in(there: House, *scopes: Scope) -> FlaskClient:
    """A browser with a session."""
    client = there.client
    answer = client.post(URL, json={"key": there.key(*scopes).text}, headers=OWN)
    assert answer.status_code == 200
    return client


def token_of(client: FlaskClient) -> str:
    cookie = client.get_cookie(COOKIE)
    assert cookie is not None
    return cookie.value


def test_a_browser_changes_a_key_for_a_session(closed: House) -> None:
    key = closed.key(Scope.READ, Scope.DECIDE)
    client = closed.client
    answer = client.post(URL, json={"key": key.text})
    assert answer.get_json() == {
        "caller": f"key:{key.identifier}",
        "scopes": ["decide", "read"],
        "until": "2026-01-31T14:00:00Z",
    }
    assert client.get(READ).status_code == 200
    assert client.get("/v1/audit").status_code == 403


@pytest.mark.parametrize(("public", "secure"), [("", False), ("https://ops.example", True)])
def test_the_cookie_is_for_this_site_and_for_no_script(
    build: Built, public: str, secure: bool
) -> None:
    there = build(APPROACH_PUBLIC_ADDRESS=public)
    answer = there.client.post(URL, json={"key": there.key().text})
    parts = answer.headers["Set-Cookie"].split("; ")
    assert {"HttpOnly", "SameSite=Strict", "Path=/", "Max-Age=28800"} <= {*parts}
    assert ("Secure" in parts) is secure
    assert not any(each.startswith("Domain") for each in parts)
    assert len(parse_cookie(parts[0])[COOKIE]) == 64
    assert answer.headers["Cache-Control"] == "no-store"


def test_the_store_has_the_digest_of_a_session_only(closed: House, tmp_path: Path) -> None:
    token = token_of(signed_in(closed))
    kept = b"".join(each.read_bytes() for each in sorted(tmp_path.glob("decisions.sqlite3*")))
    assert digest_of(token).encode() in kept
    assert token.encode() not in kept


@pytest.mark.parametrize("text", ["x", "apdk_000000000000_" + "0" * 64])
def test_what_is_no_key_begins_no_session(closed: House, text: str) -> None:
    answer = closed.client.post(URL, json={"key": text})
    assert answer.status_code == 401
    assert "Set-Cookie" not in answer.headers
    [event] = closed.access.events(limit=10, before=None)
    assert (event.what, event.subject) == ("refused", "401 POST /v1/session")


def test_no_page_of_somebody_else_begins_a_session(closed: House) -> None:
    key = closed.key()
    foreign = {"Origin": "https://evil.example"}
    answer = closed.client.post(URL, json={"key": key.text}, headers=foreign)
    assert answer.status_code == 403
    assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize(
    ("origin", "status"),
    [
        ("http://localhost", 201),
        ("HTTP://LOCALHOST", 201),
        (None, 403),
        ("", 403),
        ("null", 403),
        ("http://localhost:8080", 403),
        ("https://localhost", 403),
        ("http://localhost.evil.example", 403),
        ("http://evil.example", 403),
    ],
)
def test_with_a_session_only_a_page_of_the_service_changes_anything(
    closed: House, origin: str | None, status: int
) -> None:
    client = signed_in(closed)
    headers = {} if origin is None else {"Origin": origin}
    answer = client.post("/v1/decisions", json=body(), headers=headers)
    assert answer.status_code == status
    if status == 403:
        assert answer.get_json()["type"].endswith("/problems/foreign-origin")
        assert closed.log.count() == 0


def test_a_session_may_read_without_saying_where_from(closed: House) -> None:
    client = signed_in(closed)
    assert client.get(READ).status_code == 200
    assert client.head(READ).status_code == 200


@pytest.mark.parametrize(
    ("public", "origin"),
    [
        ("https://ops.example/approach", "https://ops.example"),
        ("https://ops.example:443", "https://ops.example"),
        ("http://ops.example:80", "http://ops.example"),
        ("https://ops.example:8443", "https://ops.example:8443"),
    ],
)
def test_pages_of_the_service_are_those_of_its_public_address(
    build: Built, public: str, origin: str
) -> None:
    there = build(APPROACH_PUBLIC_ADDRESS=public)
    client = there.client
    key, headers = there.key(), {"Origin": origin}
    https = public.partition("/approach")[0]
    begun = client.post(URL, json={"key": key.text}, headers=headers, base_url=https)
    assert begun.status_code == 200
    sent: dict[str, Any] = {"json": body(), "base_url": https}
    assert client.post("/v1/decisions", **sent, headers=headers).status_code == 201
    foreign = {"Origin": "http://localhost"}
    assert client.post("/v1/decisions", **sent, headers=foreign).status_code == 403


def test_a_key_beside_a_session_needs_no_page(closed: House) -> None:
    client = signed_in(closed, Scope.READ)
    other = bearer(closed.key(Scope.DECIDE))
    assert client.post("/v1/decisions", json=body(), headers=other).status_code == 201


def test_a_session_ends_by_itself(build: Built) -> None:
    there = build(APPROACH_SESSION_MINUTES="2")
    client = signed_in(there)
    token = token_of(client)
    there.time.pass_by(seconds=119)
    assert client.get(READ).status_code == 200
    there.time.pass_by(seconds=1)
    late = there.with_cookie(token).get(READ)
    assert late.status_code == 401


def test_a_session_ends_with_its_key(closed: House) -> None:
    client = closed.client
    key = closed.key(expires_at=closed.time.at + timedelta(minutes=1))
    client.post(URL, json={"key": key.text})
    assert client.get(READ).status_code == 200
    closed.time.pass_by(minutes=1)
    assert client.get(READ).status_code == 401


def test_a_session_ends_when_its_key_is_taken_back_or_changed(closed: House) -> None:
    for end in ("revoke", "rotate"):
        client, key = closed.client, closed.key()
        client.post(URL, json={"key": key.text})
        assert client.get(READ).status_code == 200
        at = closed.time.at
        if end == "revoke":
            closed.access.revoke(key.identifier, by="test", at=at)
        else:
            other = digest_of(key.text)[::-1]
            closed.access.rotate(key.identifier, digest=other, by="test", at=at, until=at)
        closed.time.pass_by(seconds=REMEMBERED_S)
        assert client.get(READ).status_code == 401


def test_signing_out_ends_a_session_for_whoever_has_its_cookie(closed: House) -> None:
    client = signed_in(closed)
    token = token_of(client)
    assert client.get(READ).status_code == 200
    assert client.delete(URL).status_code == 403, "not from nowhere"
    assert client.delete(URL, headers=OWN).get_json() == {"status": "signed_out"}
    assert client.get_cookie(COOKIE) is None
    kept = closed.with_cookie(token).get(READ)
    assert kept.status_code == 401
    assert kept.get_json()["detail"] == "The session has ended."


def test_signing_out_without_a_session_is_no_error(closed: House) -> None:
    assert closed.client.delete(URL).status_code == 200


def test_sessions_that_have_ended_are_forgotten(build: Built) -> None:
    there = build(APPROACH_SESSION_MINUTES="1")
    first = token_of(signed_in(there))
    there.time.pass_by(minutes=1)
    signed_in(there)
    assert there.access.of_session(digest_of(first)) is None


@pytest.mark.parametrize("token", ["x", "0" * 64, "é", "a" * 3000])
def test_a_guessed_session_is_none(closed: House, token: str) -> None:
    assert closed.with_cookie(token_of(signed_in(closed))).get(READ).status_code == 200
    answer = closed.with_cookie(token).get(READ)
    assert answer.status_code == 401


# --- the page ---


def test_a_page_signs_in_without_a_script_and_leads_to_the_documents(closed: House) -> None:
    client = closed.client
    shown = client.get("/sign-in")
    assert (shown.status_code, shown.mimetype) == (200, "text/html")
    assert '<form method="post" action="/sign-in">' in shown.text
    assert 'type="password"' in shown.text
    assert "<script" not in shown.text
    answer = client.post("/sign-in", data={"key": closed.key().text}, headers=OWN)
    assert (answer.status_code, answer.headers["Location"]) == (303, "http://localhost/docs")
    assert "HttpOnly" in answer.headers["Set-Cookie"]
    assert client.get("/docs").status_code == 200


BROWSER = {"Accept": "text/html,*/*;q=0.8"}


@pytest.mark.parametrize("path", ["/", "/?demo=gear-stuck", "/docs", "/board", "/v1/decisions/x"])
def test_a_browser_without_a_session_signs_in_and_gets_what_it_asked_for(
    closed: House, path: str
) -> None:
    client = closed.client
    shown = client.get(path, headers=BROWSER)
    assert (shown.status_code, shown.mimetype) == (401, "text/html")
    assert shown.headers["WWW-Authenticate"].startswith("Bearer")
    assert shown.headers["Referrer-Policy"] == "same-origin"
    assert "Accept" in shown.headers["Vary"]
    assert f'name="then" value="{path}"' in shown.text
    sent = {"key": closed.key().text, "then": path}
    answer = client.post("/sign-in", data=sent, headers=OWN)
    assert (answer.status_code, answer.headers["Location"]) == (303, f"http://localhost{path}")


def test_a_program_without_a_key_gets_a_problem_as_before(closed: House) -> None:
    for headers in ({}, {"Accept": "application/json"}, {"Accept": "*/*"}):
        answer = closed.client.get("/", headers=headers)
        assert (answer.status_code, answer.mimetype) == (401, "application/problem+json")
    answer = closed.client.get("/v1/profiles", headers=BROWSER)
    assert answer.mimetype == "application/problem+json"


@pytest.mark.parametrize(
    "then", ["//other.example/", "http://other.example/", "other", "", "/\r\nX: y"]
)
def test_signing_in_leads_to_this_service_alone(closed: House, then: str) -> None:
    sent = {"key": closed.key().text, "then": then}
    answer = closed.client.post("/sign-in", data=sent, headers=OWN)
    assert answer.status_code == 422
    assert "Location" not in answer.headers


def test_a_key_that_is_none_is_told_on_the_page(closed: House) -> None:
    sent = {"key": "x", "then": "/board"}
    answer = closed.client.post("/sign-in", data=sent, headers=OWN)
    assert (answer.status_code, answer.mimetype) == (401, "text/html")
    assert "This key does not open the service." in answer.text
    assert 'name="then" value="/board"' in answer.text


def test_from_the_page_a_browser_says_where_the_form_was_sent_from(closed: House) -> None:
    """Fetch: with `no-referrer`, which every other page has, Origin would be null."""
    assert closed.client.get("/sign-in").headers["Referrer-Policy"] == "same-origin"
    assert closed.client.get("/healthz").headers["Referrer-Policy"] == "no-referrer"
    key = closed.key().text
    foreign = closed.client.post("/sign-in", data={"key": key}, headers={"Origin": "null"})
    assert foreign.status_code == 403


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        ({"data": {"key": "x"}}, 401),
        ({"data": {}}, 415),
        ({"data": {"kye": "x"}}, 422),
        ({"data": {"key": "x", "more": "y"}}, 422),
        ({"data": {"key": "x" * 201}}, 422),
        ({"json": {"key": "x"}}, 415),
    ],
)
def test_a_form_that_is_filled_in_wrongly_is_refused(
    closed: House, sent: dict[str, Any], status: int
) -> None:
    answer = closed.client.post("/sign-in", **sent)
    assert answer.status_code == status
    assert "Set-Cookie" not in answer.headers
