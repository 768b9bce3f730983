"""The audit log: what is in it, how it is read, how it is removed."""

from __future__ import annotations

import pytest

from service.door.door import REFUSALS_A_MINUTE
from service.scopes import Scope
from service.store import __main__ as command
from tests.door.builders import House, bearer
from tests.service.builders import body

URL = "/v1/audit"


def events(there: House, **query: int) -> list[tuple[str, str, str]]:
    """What an administrator reads."""
    answer = there.client.get(URL, query_string=query, headers=bearer(there.key(Scope.ADMIN)))
    assert answer.status_code == 200
    return [(each["what"], each["caller"], each["subject"]) for each in answer.get_json()["events"]]


def test_who_did_what_is_told_newest_first(closed: House) -> None:
    key = closed.key(Scope.DECIDE)
    name = f"key:{key.identifier}"
    made = closed.client.post("/v1/decisions", json=body(), headers=bearer(key))
    closed.asked("/metrics", key)
    closed.asked("/docs/index")
    closed.client.post("/v1/session", json={"key": key.text})
    closed.access.revoke(key.identifier, by="command", at=closed.time.at)
    told = events(closed)
    assert told[1:] == [
        ("revoked_key", "command", key.identifier),
        ("signed_in", name, key.identifier),
        ("refused", "", "401 GET /docs/<name>"),
        ("refused", name, "403 GET /metrics"),
        ("recorded", name, made.get_json()["id"]),
        ("created_key", "test", key.identifier),
    ]


def test_what_is_decided_and_not_recorded_is_not_in_it(closed: House) -> None:
    key = closed.key()
    closed.client.post("/v1/decisions?record=false", json=body(), headers=bearer(key))
    assert [what for what, *_ in events(closed)] == ["created_key"] * 2


def test_it_is_read_by_pages(closed: House) -> None:
    admin = closed.key(Scope.ADMIN)
    for _ in range(6):
        closed.asked("/docs")
    seen: list[int] = []
    query: dict[str, int] = {"limit": 3}
    while query:
        page = closed.client.get(URL, query_string=query, headers=bearer(admin)).get_json()
        seen += [each["id"] for each in page["events"]]
        before = page["next_before"]
        query = {} if before is None else {"limit": 3, "before": before}
    assert len(seen) == 7
    assert seen == sorted(seen, reverse=True)


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=1001", "before=0", "before=x", "before=2147483648"]
)
def test_a_wrong_page_is_refused(closed: House, query: str) -> None:
    answer = closed.asked(f"{URL}?{query}", closed.key())
    assert answer.status_code == 422


def test_refusals_do_not_fill_the_store(closed: House) -> None:
    for _ in range(REFUSALS_A_MINUTE + 40):
        assert closed.asked("/docs").status_code == 401
    kept = closed.access.events(limit=1000, before=None)
    assert len(kept) == REFUSALS_A_MINUTE
    closed.time.pass_by(minutes=1)
    closed.asked("/docs")
    assert len(closed.access.events(limit=1000, before=None)) == REFUSALS_A_MINUTE + 1


def test_the_command_removes_what_is_older_than_the_setting(
    closed: House, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    client = closed.client
    client.post("/v1/session", json={"key": closed.key().text})
    closed.time.pass_by(days=2)
    closed.key()
    monkeypatch.setenv("APPROACH_STORE", closed.settings.store)
    monkeypatch.setattr(command, "utc_now", closed.time.clock)
    assert command.main(["purge"]) == 0
    assert "0 entries of the audit log, 1 sessions" in capsys.readouterr().out
    monkeypatch.setenv("APPROACH_KEEP_AUDIT_DAYS", "1")
    assert command.main(["purge"]) == 0
    assert "2 entries of the audit log, 0 sessions" in capsys.readouterr().out
    assert len(closed.access.events(limit=10, before=None)) == 1
