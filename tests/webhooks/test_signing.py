"""Signatures are those of RFC 9421 and 9530: by the RFC's example, and by another library."""

from __future__ import annotations

import base64
import os
from datetime import UTC, datetime

import pytest
from http_message_signatures.exceptions import InvalidSignature
from hypothesis import given
from hypothesis import strategies as st

from service.webhooks.signing import (
    SECRET_BYTES,
    SigningKey,
    content_digest,
    signature,
    signature_base,
    signed_headers,
)
from service.webhooks.target import target_of
from tests.webhooks.receivers import Came, verified

# RFC 9421, appendix B.1.5 and B.2.5.
RFC_SECRET = base64.b64decode(
    "uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ=="
)
RFC_PARAMS = '("date" "@authority" "content-type");created=1618884473;keyid="test-shared-secret"'
URL = "https://desk.example/hook?a=1"


def now_s() -> int:
    return int(datetime.now(UTC).timestamp())


def sent(body: bytes, *keys: SigningKey, url: str = URL, created_s: int | None = None) -> Came:
    """A request as a receiver gets it."""
    target = target_of(url, hosts={"desk.example"})
    when_s = now_s() if created_s is None else created_s
    headers = signed_headers(url=target.uri, body=body, keys=keys, created_s=when_s)
    headers["Host"] = target.authority
    return Came(method="POST", path=target.path, headers=headers, body=body, scheme="https")


def key(name: str = "one") -> SigningKey:
    return SigningKey(key_id=name, secret=os.urandom(SECRET_BYTES))


def test_the_example_of_the_rfc_has_the_signature_of_the_rfc() -> None:
    components = {
        "date": "Tue, 20 Apr 2021 02:07:55 GMT",
        "@authority": "example.com",
        "content-type": "application/json",
    }
    base = signature_base(components, RFC_PARAMS)
    assert signature(RFC_SECRET, base) == ":pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=:"


def test_the_digest_is_that_of_the_rfc() -> None:
    # RFC 9530, appendix A
    body = b'{"hello": "world"}\n'
    assert content_digest(body) == "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:"


@given(
    body=st.binary(max_size=200),
    path=st.from_regex(r"/([a-z0-9/._~!@-]|%2[0-9A-F]){0,20}", fullmatch=True),
)
def test_another_library_takes_every_request(body: bytes, path: str) -> None:
    secret = key()
    came = sent(body, secret, url=f"https://Desk.example:443{path}?x=%20&y")
    (found,) = verified(came, {"one": secret.secret})
    covered = {name.strip('"') for name in found.covered_components}
    assert {"@method", "@target-uri", "content-type", "content-digest"} <= covered


def test_each_key_of_a_change_signs() -> None:
    old, new = key("secret.1"), key("secret.2")
    came = sent(b"{}", old, new)
    known = {each.key_id: each.secret for each in (old, new)}
    assert [each.parameters["keyid"] for each in verified(came, known)] == list(known)


@pytest.mark.parametrize(
    "changed",
    [
        {"method": "PUT"},
        {"path": "/hook?a=2"},
        {"scheme": "http"},
        {"headers": {"Content-Type": "text/plain"}},
        {"headers": {"Host": "other.example"}},
        {"headers": {"Content-Digest": content_digest(b"other")}, "body": b"other"},
    ],
    ids="-".join,
)
def test_what_was_changed_on_the_way_is_noticed(changed: dict[str, object]) -> None:
    secret = key()
    came = sent(b"{}", secret)
    whole = {name: getattr(came, name) for name in ("method", "path", "headers", "body", "scheme")}
    headers = changed.get("headers", {})
    assert isinstance(headers, dict)
    other = Came(**{**whole, **changed, "headers": {**came.headers, **headers}})
    with pytest.raises(InvalidSignature):
        verified(other, {"one": secret.secret})


def test_an_old_request_is_told_from_a_new_one() -> None:
    secret = key()
    came = sent(b"{}", secret, created_s=now_s() - 90_000)
    with pytest.raises(InvalidSignature, match="age"):
        verified(came, {"one": secret.secret})


def test_a_secret_is_not_shown_by_accident() -> None:
    secret = SigningKey(key_id="one", secret=b"s" * SECRET_BYTES)
    assert "ssss" not in repr(secret)
