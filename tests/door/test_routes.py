"""Every address against every kind of caller."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from urllib.parse import quote

import pytest
from werkzeug.test import TestResponse

from service.address import PATH_PARAMETER, View
from service.examples import GIVEN as FILLED
from service.keytext import new_key
from service.resources import VIEWS
from service.scopes import GIVEN, Scope
from tests.door.builders import OUTSIDE, House, bearer, house

KEYLESS = (
    "no key",
    "not a bearer",
    "no key's text",
    "unknown identifier",
    "wrong secret",
    "revoked",
    "expired",
    "rotated out",
    "two keys",
    "key in the query",
)
HOLDERS = {each.value: (each,) for each in GIVEN} | {
    "decide and read": (Scope.DECIDE, Scope.READ),
    "all": GIVEN,
}


@pytest.fixture(scope="module")
def open_to_few(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    made = house(
        Path(tmp_path_factory.mktemp("door")), OUTSIDE | {"APPROACH_REQUESTS_PER_MINUTE": "0"}
    )
    yield made
    made.close()


@pytest.fixture(scope="module")
def headers(open_to_few: House) -> dict[str, dict[str, str]]:
    """What each kind of caller sends."""
    made, at = open_to_few, open_to_few.time.at
    revoked, rotated, good = made.key(), made.key(), made.key()
    made.access.revoke(revoked.identifier, by="test", at=at)
    after = new_key(lambda length: b"\7" * length, identifier=rotated.identifier)
    made.access.rotate(rotated.identifier, digest=after.digest, by="test", at=at, until=at)
    last = "0" if good.text[-1] != "0" else "1"
    return {
        "no key": {},
        "not a bearer": {"Authorization": f"Basic {good.text}"},
        "no key's text": bearer(good.text[:-1]),
        "unknown identifier": bearer(new_key(lambda length: b"\1" * length)),
        "wrong secret": bearer(good.text[:-1] + last),
        "revoked": bearer(revoked),
        "expired": bearer(made.key(expires_at=at - timedelta(seconds=1))),
        "rotated out": bearer(rotated),
        "two keys": bearer(f"{good.text}, {good.text}"),
        "key in the query": {"X-Key": good.text},
        **{name: bearer(made.key(*scopes)) for name, scopes in HOLDERS.items()},
    }


def called(there: House, view: View, headers: dict[str, str]) -> TestResponse:
    """An answer to a request that is wrong in every other respect."""
    names = PATH_PARAMETER.findall(view.address.path)
    filled = FILLED.get(view.id, dict.fromkeys(names, "none"))
    path = view.address.template.format_map({name: quote(each) for name, each in filled.items()})
    return there.client.open(path, method=view.address.method, headers=headers, json={})


@pytest.mark.parametrize("kind", KEYLESS)
@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.id)
def test_nobody_without_a_key_that_opens_is_let_in(
    open_to_few: House, headers: dict[str, dict[str, str]], view: View, kind: str
) -> None:
    answer = called(open_to_few, view, headers[kind])
    if view.address.scope is Scope.OPEN:
        assert answer.status_code not in (401, 403, 500)
        return
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")
    assert answer.mimetype == "application/problem+json"
    problem = answer.get_json()
    assert problem["type"] == "http://localhost/problems/unauthenticated"


@pytest.mark.parametrize("kind", HOLDERS)
@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.id)
def test_a_key_opens_what_it_has_the_scope_of_and_nothing_else(
    open_to_few: House, headers: dict[str, dict[str, str]], view: View, kind: str
) -> None:
    answer = called(open_to_few, view, headers[kind])
    scope = view.address.scope
    if scope is Scope.OPEN or scope in HOLDERS[kind]:
        assert answer.status_code not in (401, 403, 500)
        return
    assert answer.status_code == 403
    assert answer.headers["WWW-Authenticate"] == (
        f'Bearer error="insufficient_scope", scope="{scope.value}"'
    )
    problem = answer.get_json()
    assert problem["type"] == "http://localhost/problems/scope-lacking"
    assert scope.value in problem["detail"]


def test_what_is_open_to_all_says_nothing_of_anybody() -> None:
    free = {
        f"{view.address.method} {view.address.path}"
        for view in VIEWS
        if view.address.scope is Scope.OPEN
    }
    assert free == {
        "GET /healthz",
        "GET /v1/time",
        "GET /assets/<name>",
        "GET /icon.svg",
        "GET /problems/<slug>",
        "GET /sign-in",
        "POST /sign-in",
        "POST /v1/session",
        "DELETE /v1/session",
    }


def test_an_address_cannot_be_declared_without_a_word_about_who_may_call() -> None:
    from service.address import Address

    with pytest.raises(TypeError, match="scope"):
        Address("GET", "/v1/new", tag="t", summary="s", successes={})  # type: ignore[call-arg]


def test_a_head_request_is_asked_for_a_key_too(open_to_few: House) -> None:
    assert open_to_few.client.head("/docs").status_code == 401


def test_the_pages_about_errors_tell_what_the_door_says(open_to_few: House) -> None:
    slugs = ("unauthenticated", "scope-lacking", "foreign-origin", "too-many-requests")
    for slug in (*slugs, "unknown-host"):
        assert open_to_few.client.get(f"/problems/{slug}").status_code == 200


@pytest.mark.parametrize("kind", ["wrong secret", "revoked", "expired", "rotated out"])
def test_what_is_wrong_with_a_key_is_told_to_its_holder_alone(
    open_to_few: House, headers: dict[str, dict[str, str]], kind: str
) -> None:
    told = {
        "wrong secret": "This is no key of the service.",
        "revoked": "The key was taken back.",
        "expired": "The key, or the session, has expired.",
        "rotated out": "The key, or the session, has expired.",
    }
    answer = open_to_few.client.get("/v1/profiles", headers=headers[kind])
    assert answer.get_json()["detail"] == told[kind]
    assert 'error="invalid_token"' in answer.headers["WWW-Authenticate"]
