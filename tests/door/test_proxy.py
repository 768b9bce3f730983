"""Behind a proxy: loopback is open no longer, and a name is taken from a proxy alone."""

from __future__ import annotations

from typing import Any

import pytest

from service.scopes import Scope
from service.settings import SettingsError, is_loopback, settings_from
from tests.door.builders import PROXIED, House
from tests.door.conftest import Built
from tests.service.builders import body

READ = "/v1/profiles"
FROM_PROXY = {"REMOTE_ADDR": "10.1.2.3"}


@pytest.fixture
def proxied(build: Built) -> House:
    return build(PROXIED)


def vouched(there: House, name: str, **more: Any) -> Any:
    """What somebody gets whom the proxy names."""
    given: dict[str, Any] = {"environ_overrides": FROM_PROXY, "path": READ, "method": "GET"} | more
    headers = {"X-Verified-User": name, "Host": "ops.example"} | given.pop("headers", {})
    return there.client.open(headers=headers, **given)


def test_loopback_is_open_without_a_proxy_and_closed_behind_one(build: Built) -> None:
    assert build({}).client.get(READ).status_code == 200
    closed = build(PROXIED).client.get(READ, headers={"Host": "ops.example"})
    assert closed.status_code == 401


def test_a_key_opens_behind_a_proxy_too(proxied: House) -> None:
    key = proxied.key(Scope.READ)
    headers = {"Host": "ops.example", "Authorization": f"bearer {key.text}"}
    assert proxied.client.get(READ, headers=headers).status_code == 200


def test_whom_a_proxy_names_is_let_in_and_written_down(proxied: House) -> None:
    made = vouched(proxied, "a.b@ops.example", path="/v1/decisions", method="POST", json=body())
    assert made.status_code == 201
    [event] = proxied.access.events(limit=10, before=None)
    assert (event.caller, event.what) == ("user:a.b@ops.example", "recorded")
    assert event.subject == made.get_json()["id"]


def test_whom_a_proxy_names_may_do_what_the_setting_says(proxied: House, build: Built) -> None:
    assert vouched(proxied, "ann", path="/v1/audit").status_code == 403
    more = build(PROXIED, APPROACH_IDENTITY_SCOPES="admin")
    assert vouched(more, "ann", path="/v1/audit").status_code == 200
    assert vouched(more, "ann").status_code == 403


def test_a_proxy_is_known_by_its_address_on_a_socket_for_both(proxied: House) -> None:
    answer = vouched(proxied, "ann", environ_overrides={"REMOTE_ADDR": "::ffff:10.1.2.3"})
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "address", ["127.0.0.2", "10.2.0.1", "::ffff:10.2.0.1", "::1", "192.0.2.1", "", "unix:"]
)
def test_a_name_from_elsewhere_is_refused(proxied: House, address: str) -> None:
    answer = vouched(proxied, "ann", environ_overrides={"REMOTE_ADDR": address})
    assert answer.status_code == 401
    assert answer.get_json()["detail"] == "X-Verified-User is taken from the proxies alone."


def test_that_a_caller_says_whose_proxy_it_is_changes_nothing(proxied: House) -> None:
    answer = vouched(
        proxied,
        "ann",
        environ_overrides={"REMOTE_ADDR": "192.0.2.1"},
        headers={"X-Forwarded-For": "10.1.2.3", "Forwarded": "for=10.1.2.3"},
    )
    assert answer.status_code == 401


@pytest.mark.parametrize(
    "name",
    [
        *("", " ", "ann,bob", "ann bob", "ann\tbob", "ann;admin", "a" * 101, "é", '"ann"'),
        *("key:x", "-x", "<b>", "ann\x00", "../x", "ann\x7f"),
    ],
)
def test_a_name_that_could_be_more_than_a_name_is_refused(proxied: House, name: str) -> None:
    environ = FROM_PROXY | {"HTTP_X_VERIFIED_USER": name}
    answer = proxied.client.get(READ, headers={"Host": "ops.example"}, environ_overrides=environ)
    assert answer.status_code == 401
    assert answer.get_json()["detail"] == "X-Verified-User does not hold one identity."


def test_a_name_that_is_sent_twice_is_refused(proxied: House) -> None:
    twice = [("Host", "ops.example"), ("X-Verified-User", "ann"), ("X-Verified-User", "bob")]
    answer = proxied.client.get(READ, headers=twice, environ_overrides=FROM_PROXY)
    assert answer.status_code == 401


def test_without_a_setting_no_header_names_anybody(build: Built) -> None:
    without = {each: value for each, value in PROXIED.items() if "IDENTITY" not in each}
    assert vouched(build(without), "ann").status_code == 401


@pytest.mark.parametrize(
    ("origin", "status"),
    [
        (None, 201),
        ("http://ops.example", 201),
        ("http://evil.example", 403),
        ("null", 403),
    ],
)
def test_a_page_of_somebody_else_cannot_use_the_name_that_a_proxy_adds(
    proxied: House, origin: str | None, status: int
) -> None:
    headers = {} if origin is None else {"Origin": origin}
    answer = vouched(
        proxied, "ann", path="/v1/decisions", method="POST", json=body(), headers=headers
    )
    assert answer.status_code == status


# --- the name of the service ---


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("ops.example", 200),
        ("OPS.example", 200),
        ("ops.example:8443", 200),
        ("ops.example.", 421),
        ("evil.example", 421),
        ("xops.example", 421),
        ("ops.example.evil.example", 421),
        ("ops.example:x", 421),
        ("ops.example@evil.example", 421),
        ("127.0.0.1:8080", 421),
        ("", 421),
    ],
)
def test_a_foreign_name_is_refused_at_every_address(proxied: House, host: str, status: int) -> None:
    environ = {"HTTP_HOST": host}
    for path in ("/healthz", "/problems/not-found", "/none"):
        found = 404 if (path, status) == ("/none", 200) else status
        assert proxied.client.get(path, environ_overrides=environ).status_code == found


def test_a_foreign_name_is_not_repeated(proxied: House) -> None:
    problem = proxied.client.get("/healthz", headers={"Host": "evil.example"}).get_json()
    assert problem["type"] == "/problems/unknown-host"
    assert "evil" not in str(problem)


def test_names_can_have_a_port_of_their_own(build: Built) -> None:
    there = build(PROXIED, APPROACH_HOSTS="ops.example:8443, two.example")
    told = {
        host: there.client.get("/healthz", headers={"Host": host}).status_code
        for host in ("ops.example:8443", "ops.example", "two.example:1")
    }
    assert told == {"ops.example:8443": 200, "ops.example": 421, "two.example:1": 200}


def test_behind_a_proxy_the_public_address_is_the_name_when_no_other_is_said(build: Built) -> None:
    settings = PROXIED | {"APPROACH_HOSTS": "", "APPROACH_PUBLIC_ADDRESS": "https://Pub.example/a"}
    there = build(settings)
    assert there.client.get("/healthz", headers={"Host": "pub.example"}).status_code == 200
    assert there.client.get("/healthz", headers={"Host": "ops.example"}).status_code == 421


# --- settings ---


@pytest.mark.parametrize(
    ("environment", "named"),
    [
        ({"APPROACH_BEHIND_PROXY": "true"}, "APPROACH_BEHIND_PROXY"),
        ({"APPROACH_BEHIND_PROXY": "yes"}, "needs APPROACH_HOSTS or APPROACH_PUBLIC_ADDRESS"),
        (PROXIED | {"APPROACH_PROXIES": ""}, "APPROACH_IDENTITY_HEADER: needs"),
        (PROXIED | {"APPROACH_PROXIES": "10.1.0.1/16"}, "APPROACH_PROXIES"),
        (PROXIED | {"APPROACH_PROXIES": "proxy"}, "APPROACH_PROXIES"),
        (PROXIED | {"APPROACH_IDENTITY_HEADER": "X_User"}, "APPROACH_IDENTITY_HEADER"),
        (PROXIED | {"APPROACH_IDENTITY_HEADER": "X User"}, "APPROACH_IDENTITY_HEADER"),
        ({"APPROACH_IDENTITY_HEADER": "X-User"}, "needs APPROACH_BEHIND_PROXY=yes"),
        (PROXIED | {"APPROACH_IDENTITY_SCOPES": "open"}, "APPROACH_IDENTITY_SCOPES"),
        (PROXIED | {"APPROACH_IDENTITY_SCOPES": ""}, "APPROACH_IDENTITY_SCOPES"),
        ({"APPROACH_CORS_ORIGINS": "*"}, "APPROACH_CORS_ORIGINS"),
        ({"APPROACH_CORS_ORIGINS": "https://a.example/"}, "APPROACH_CORS_ORIGINS"),
        ({"APPROACH_ADMIN_KEY": "secret"}, "APPROACH_ADMIN_KEY"),
        ({"APPROACH_REQUESTS_PER_MINUTE": "-1"}, "APPROACH_REQUESTS_PER_MINUTE"),
    ],
)
def test_a_wrong_setting_of_the_door_is_named(environment: dict[str, str], named: str) -> None:
    with pytest.raises(SettingsError, match=named) as error:
        settings_from(environment)
    assert len(error.value.problems) == 1


@pytest.mark.parametrize(
    ("host", "loopback"),
    [
        ("127.0.0.1", True),
        ("127.9.9.9", True),
        ("::1", True),
        ("[::1]", True),
        ("localhost", True),
        ("LOCALHOST", True),
        ("0.0.0.0", False),  # noqa: S104 - judged, not listened on
        ("::", False),
        ("10.0.0.1", False),
        ("localhost.example", False),
        ("unix:/run/x", False),
        ("127.1", False),
    ],
)
def test_what_only_this_machine_reaches_is_loopback(host: str, loopback: bool) -> None:
    assert is_loopback(host) is loopback
    assert settings_from({"APPROACH_HOST": host}).stands_open is loopback
