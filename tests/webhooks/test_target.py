"""Webhooks go only where the settings and the addresses of names allow."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from service.webhooks.target import Target, TargetRefused, address_of, looked_up, target_of

HOSTS = {"desk.example", "localhost", "127.0.0.1", "::1", "10.2.0.9"}
ONLY = {"desk.example"}
URL = "https://desk.example/hook"


def leading(*addresses: str) -> object:
    def look_up(host: str, port: int) -> Sequence[str]:
        assert (host, port) == ("desk.example", 443)
        return addresses

    return look_up


@pytest.mark.parametrize(
    ("url", "uri", "path"),
    [
        ("https://desk.example", "https://desk.example/", "/"),
        ("https://DESK.example:443/a?b=c", "https://desk.example/a?b=c", "/a?b=c"),
        ("https://desk.example:8443/a", "https://desk.example:8443/a", "/a"),
        ("http://localhost:9000/a", "http://localhost:9000/a", "/a"),
        ("http://[::1]:9000/", "http://[::1]:9000/", "/"),
    ],
)
def test_what_is_signed_is_what_a_receiver_can_put_together(url: str, uri: str, path: str) -> None:
    target = target_of(url, hosts=HOSTS)
    assert (target.uri, target.path) == (uri, path)


@pytest.mark.parametrize(
    ("url", "why"),
    [
        ("https://other.example/", "APPROACH_WEBHOOK_HOSTS"),
        ("https://desk.example.other.example/", "APPROACH_WEBHOOK_HOSTS"),
        ("http://desk.example/", "https://"),
        ("ftp://desk.example/", "https://"),
        ("https://user@desk.example/", "neither user"),
        ("https://desk.example@other.example/", "neither user"),
        ("https://desk.example/#part", "nor fragment"),
        ("https:///hook", "must have a host"),
        ("desk.example/hook", "must have a host"),
        ("https://desk.example:99999/", "is not an address"),
        ("https://[::1/", "is not an address"),
        ("https://desk.example/a b", "printable ASCII"),
        ("https://desk.example/\r\nX: y", "printable ASCII"),
        ("https://d\u0435sk.example/", "printable ASCII"),
        (f"https://desk.example/{'x' * 2048}", "at most 2048"),
        ("", "printable ASCII"),
        ("https://desk.example/50%", "written as %XX"),
        ("https://desk.example/?a=<b>", "written as %XX"),
    ],
)
def test_an_address_that_is_not_allowed_is_refused_and_why(url: str, why: str) -> None:
    with pytest.raises(TargetRefused, match=why):
        target_of(url, hosts=HOSTS)


def test_without_hosts_every_address_is_refused() -> None:
    with pytest.raises(TargetRefused, match="not set up"):
        target_of(URL, hosts=())


@pytest.mark.parametrize(
    "private",
    [
        "127.0.0.1",
        "10.1.2.3",
        "172.16.0.1",
        "192.168.1.1",
        "169.254.169.254",
        "100.64.0.1",
        "0.0.0.0",  # noqa: S104 - looked at, not listened on
        "224.0.0.1",
        "255.255.255.255",
        "240.0.0.1",
        "::1",
        "::",
        "fe80::1",
        "fc00::1",
        "fec0::1",
        "ff02::1",
        "::ffff:10.1.2.3",
        "::ffff:127.0.0.1",
        "2002:7f00:1::",
        "2002:a01:203::1",
        "64:ff9b::7f00:1",
        "64:ff9b::a9fe:a9fe",
    ],
)
def test_a_name_that_leads_inside_is_refused_whatever_else_it_leads_to(private: str) -> None:
    target = target_of(URL, hosts=HOSTS)
    for found in ((private,), ("93.184.216.34", private)):
        with pytest.raises(TargetRefused, match="not public"):
            address_of(target, hosts=ONLY, look_up=leading(*found))  # type: ignore[arg-type]


@pytest.mark.parametrize("public", ["93.184.216.34", "2606:2800:220:1::1"])
def test_a_public_address_is_called(public: str) -> None:
    target = target_of(URL, hosts=HOSTS)
    look_up = leading(public, "1.1.1.1")
    assert address_of(target, hosts=HOSTS, look_up=look_up) == public  # type: ignore[arg-type]


def test_a_private_address_that_is_listed_is_called() -> None:
    target = target_of(URL, hosts=HOSTS)
    look_up = leading("10.2.0.9")
    assert address_of(target, hosts=HOSTS, look_up=look_up) == "10.2.0.9"  # type: ignore[arg-type]


def test_this_machine_is_called_when_it_is_listed_by_name() -> None:
    for url in ("http://localhost:1/", "http://127.0.0.1:1/"):
        target = target_of(url, hosts=HOSTS)
        found = address_of(target, hosts=HOSTS, look_up=looked_up)
        assert found in {"127.0.0.1", "::1"}


def test_a_name_without_an_address_is_no_place() -> None:
    target = target_of(URL, hosts=HOSTS)
    with pytest.raises(OSError, match="no address"):
        address_of(target, hosts=HOSTS, look_up=leading())  # type: ignore[arg-type]
    with pytest.raises(OSError):  # noqa: PT011 - the system's words
        looked_up(f"{'x' * 300}.example", 443)
    assert isinstance(target, Target)
