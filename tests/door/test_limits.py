"""How often a key may call, and from which pages of others."""

from __future__ import annotations

import pytest

from service.door.limits import MOST_NAMES, Buckets
from tests.door.builders import PROXIED, bearer
from tests.door.conftest import Built
from tests.service.builders import body

READ = "/v1/profiles"


def test_a_bucket_holds_a_minute_and_fills_evenly() -> None:
    now = [0.0]
    bucket = Buckets(6, seconds=lambda: now[0])
    assert [bucket.wait_s("a") for _ in range(6)] == [0.0] * 6
    assert bucket.wait_s("a") == 10.0
    now[0] = 4.0
    assert bucket.wait_s("a") == pytest.approx(6.0)
    now[0] = 10.0
    assert bucket.wait_s("a") == 0.0
    assert bucket.wait_s("a") == pytest.approx(10.0)
    now[0] = 10_000.0
    assert [bucket.wait_s("a") for _ in range(6)] == [0.0] * 6
    assert bucket.wait_s("a") > 0


def test_names_do_not_share_a_bucket_and_are_bounded() -> None:
    bucket = Buckets(1, seconds=lambda: 0.0)
    assert [bucket.wait_s(f"{number}") for number in range(MOST_NAMES + 5)] == [0.0] * (
        MOST_NAMES + 5
    )
    assert len(bucket._left) == MOST_NAMES


def test_a_key_that_calls_too_often_is_told_when_to_come_again(build: Built) -> None:
    there = build(APPROACH_REQUESTS_PER_MINUTE="3")
    key, other = there.key(), there.key()
    for _ in range(3):
        assert there.asked(READ, key).status_code == 200
    answer = there.asked(READ, key)
    assert (answer.status_code, answer.headers["Retry-After"]) == (429, "20")
    assert answer.get_json()["type"].endswith("/problems/too-many-requests")
    assert there.asked(READ, other).status_code == 200
    there.time.pass_by(seconds=19)
    assert there.asked(READ, key).headers["Retry-After"] == "1"
    there.time.pass_by(seconds=1)
    assert there.asked(READ, key).status_code == 200


def test_a_session_counts_as_its_key_does(build: Built) -> None:
    there = build(APPROACH_REQUESTS_PER_MINUTE="2")
    client, key = there.client, there.key()
    assert client.post("/v1/session", json={"key": key.text}).status_code == 200
    assert client.get(READ).status_code == 200
    assert there.asked(READ, key).status_code == 429
    again = there.client.post("/v1/session", json={"key": key.text})
    assert (again.status_code, again.headers["Retry-After"]) == (429, "30")


def test_whom_a_proxy_names_is_counted_by_that_name(build: Built) -> None:
    there = build(PROXIED, APPROACH_REQUESTS_PER_MINUTE="1")

    def asked(name: str) -> int:
        headers = {"Host": "ops.example", "X-Verified-User": name}
        return there.client.get(READ, headers=headers).status_code

    assert [asked("ann"), asked("bob"), asked("ann")] == [200, 200, 429]


def test_zero_is_no_limit_and_an_open_door_has_none(build: Built) -> None:
    unlimited = build(APPROACH_REQUESTS_PER_MINUTE="0")
    key = unlimited.key()
    opened = build({"APPROACH_REQUESTS_PER_MINUTE": "1"})
    assert {unlimited.asked(READ, key).status_code for _ in range(700)} == {200}
    assert {opened.asked(READ).status_code for _ in range(3)} == {200}


# --- pages of others ---

PREFLIGHT = {
    "Origin": "https://desk.example",
    "Access-Control-Request-Method": "POST",
    "Access-Control-Request-Headers": "authorization,content-type",
}


def test_no_page_of_others_may_read_by_default(build: Built) -> None:
    there = build()
    headers = bearer(there.key()) | {"Origin": "https://desk.example"}
    answers = [
        there.client.get(READ, headers=headers),
        there.client.options("/v1/decisions", headers=PREFLIGHT),
    ]
    for answer in answers:
        assert not [name for name, _ in answer.headers if name.startswith("Access-Control")]
        assert "Origin" not in answer.vary


def test_a_listed_page_may_call_with_a_key(build: Built) -> None:
    there = build(APPROACH_CORS_ORIGINS="https://desk.example, https://two.example:8443")
    before = there.client.options("/v1/decisions", headers=PREFLIGHT)
    assert (before.status_code, before.data) == (204, b"")
    assert before.headers["Access-Control-Allow-Origin"] == "https://desk.example"
    assert "POST" in before.headers["Access-Control-Allow-Methods"]
    assert "Authorization" in before.headers["Access-Control-Allow-Headers"]
    assert "Access-Control-Allow-Credentials" not in before.headers
    headers = bearer(there.key()) | {"Origin": "https://desk.example"}
    made = there.client.post("/v1/decisions", json=body(), headers=headers)
    assert made.status_code == 201
    assert made.headers["Access-Control-Allow-Origin"] == "https://desk.example"
    assert "Location" in made.headers["Access-Control-Expose-Headers"]
    assert "Access-Control-Allow-Credentials" not in made.headers
    assert "Origin" in made.vary


def test_a_listed_page_reads_what_was_refused_too(build: Built) -> None:
    there = build(APPROACH_CORS_ORIGINS="https://desk.example")
    answer = there.client.get(READ, headers={"Origin": "https://desk.example"})
    assert answer.status_code == 401
    assert answer.headers["Access-Control-Allow-Origin"] == "https://desk.example"


@pytest.mark.parametrize("origin", ["https://evil.example", "https://desk.example.evil", "null"])
def test_a_page_that_is_not_listed_reads_nothing(build: Built, origin: str) -> None:
    there = build(APPROACH_CORS_ORIGINS="https://desk.example")
    for answer in (
        there.client.options("/v1/decisions", headers=PREFLIGHT | {"Origin": origin}),
        there.client.get(READ, headers=bearer(there.key()) | {"Origin": origin}),
    ):
        assert "Access-Control-Allow-Origin" not in answer.headers
        assert "Origin" in answer.vary


def test_a_listed_page_cannot_use_the_session_of_a_browser(build: Built) -> None:
    there = build(APPROACH_CORS_ORIGINS="https://desk.example")
    client = there.client
    client.post("/v1/session", json={"key": there.key().text})
    foreign = {"Origin": "https://desk.example"}
    assert client.post("/v1/decisions", json=body(), headers=foreign).status_code == 403
