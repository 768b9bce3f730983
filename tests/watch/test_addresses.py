"""`/v1/reports` and `/v1/watches`: what they take, refuse and tell."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from service.store.engines import reading, writing
from service.store.events import NewEvent, SendFirst, Webhook, write_events
from service.store.reports import remove_reports
from service.store.tables import REPORTS, WATCHED_PLACES
from service.store.watching import end_passed, remove_ended
from tests.watch.world import FINE, FOG, START, World, opened

UNTIL = "2026-03-14T08:00:00Z"
NONE = "019ceaf9-0000-7000-8000-000000000000"


@pytest.fixture
def small(tmp_path: Path) -> Iterator[World]:
    """A service with room for two watches."""
    with opened(f"sqlite:///{tmp_path / 'decisions.sqlite3'}", most_watches=2) as found:
        yield found


def pointers(answer: Any) -> list[str]:
    assert answer.status_code == 422, answer.text
    return [each["pointer"] for each in answer.get_json()["errors"]]


# --- reports ---


def test_reports_are_kept_once_and_each_is_answered_for(world: World) -> None:
    world.report(FINE)
    told = world.report(FOG, FINE, "METAR", FOG)
    assert [each["index"] for each in told["accepted"]] == [0]
    assert (told["accepted"][0]["kind"], told["accepted"][0]["station"]) == ("SPECI", "XKAL")
    assert told["already_known"] == [1, 3]
    assert [each["index"] for each in told["unread"]] == [2]
    with reading(world.store) as connection:
        kept = connection.scalars(select(REPORTS.c.text).order_by(REPORTS.c.id)).all()
    assert kept == [FINE, FOG]


def test_a_report_that_is_known_stirs_no_watch_again(world: World) -> None:
    world.report(FINE)
    world.watched()
    assert world.report(FINE)["watches_touched"] == 0
    assert world.look() == {}


@pytest.mark.parametrize("received_at", ["2026-03-14T06:26:00Z", "2026-03-12T06:09:00Z"])
def test_reports_of_another_time_are_refused(world: World, received_at: str) -> None:
    body = {"reports": [FINE], "received_at": received_at}
    assert pointers(world.client.post("/v1/reports", json=body)) == ["/received_at"]


def test_the_moment_of_receipt_says_which_day_is_meant(world: World) -> None:
    body = {"reports": [FINE], "received_at": "2026-03-14T06:13:00Z"}
    (told,) = world.client.post("/v1/reports", json=body).get_json()["accepted"]
    assert told["issued_at"] == "2026-03-14T06:12:00Z"


def test_old_reports_are_forgotten(world: World) -> None:
    world.report(FINE)
    world.clock.put_on(60)
    world.report(FOG)
    with writing(world.store) as connection:
        assert remove_reports(connection, before=world.clock()) == 1
        assert connection.scalars(select(REPORTS.c.text)).all() == [FOG]


# --- watches ---


def test_a_watch_is_begun_told_listed_and_ended(world: World) -> None:
    first = world.watched()
    world.clock.put_on(0.1)
    second = world.watched("gear-stuck")
    assert first["places"] == ["XBRE", "XKAL", "XTOR"]
    assert first["until"] == "2026-03-14T08:10:00.000000Z"
    assert first["standing"]["verdict"] == "GO"
    page = world.client.get("/v1/watches?limit=1")
    assert [each["id"] for each in page.get_json()["watches"]] == [first["id"]]
    assert page.get_json()["next_after"] == first["id"]
    following = page.headers["Link"].partition(">")[0][1:]
    assert [each["id"] for each in world.client.get(following).get_json()["watches"]] == [
        second["id"]
    ]
    ended = world.client.delete(f"/v1/watches/{first['id']}")
    assert (ended.status_code, ended.get_json()["ended_because"]) == (200, "deleted")
    assert [each["id"] for each in world.client.get("/v1/watches").get_json()["watches"]] == [
        second["id"]
    ]
    told = world.watch(first["id"])
    assert (told["due_at"], told["deliveries"]) == (None, [])
    again = world.client.delete(f"/v1/watches/{first['id']}")
    assert again.get_json()["ended_at"] == ended.get_json()["ended_at"]


def test_what_is_no_watch_is_not_found(world: World) -> None:
    state = {"patch": {"fuel": {"on_board_kg": 3000}}}
    ended = world.watched()["id"]
    world.client.delete(f"/v1/watches/{ended}")
    answers = [
        world.client.get(f"/v1/watches/{NONE}"),
        world.client.delete(f"/v1/watches/{NONE}"),
        world.client.post(f"/v1/watches/{NONE}/state", json=state),
        world.client.post(f"/v1/watches/{ended}/state", json=state),
    ]
    assert [each.status_code for each in answers] == [404] * 4


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"decision_id": NONE}, "/decision_id"),
        ({"until": "2026-03-14T06:10:00Z"}, "/until"),
        ({"until": "2026-03-15T06:10:01Z"}, "/until"),
        ({"webhook": {"url": "https://receiver.example/", "secret_id": NONE}}, "/webhook"),
    ],
)
def test_what_cannot_be_watched_is_refused(world: World, change: Any, pointer: str) -> None:
    body = {"decision_id": world.decided()["id"], "until": UNTIL} | change
    answer = world.client.post("/v1/watches", json=body)
    assert pointers(answer)[0].startswith(pointer)
    assert world.client.get("/v1/watches").get_json()["watches"] == []


def test_a_key_begins_one_watch(world: World) -> None:
    body = {"decision_id": world.decided()["id"], "until": UNTIL}
    key = {"Idempotency-Key": "k-1"}
    first = world.client.post("/v1/watches", json=body, headers=key)
    again = world.client.post("/v1/watches", json=body, headers=key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.get_json()["id"] == again.get_json()["id"]
    other = world.client.post(
        "/v1/watches", json=body | {"until": "2026-03-14T09:00:00Z"}, headers=key
    )
    assert other.status_code == 422
    assert other.get_json()["type"].endswith("/problems/key-reused")
    assert len(world.client.get("/v1/watches").get_json()["watches"]) == 1


def test_no_more_are_open_than_may_be(small: World) -> None:
    first = small.watched()
    small.watched()
    body = {"decision_id": first["standing"]["decision"], "until": UNTIL}
    answer = small.client.post("/v1/watches", json=body)
    assert (answer.status_code, "2 watches are open" in answer.text) == (503, True)
    small.client.delete(f"/v1/watches/{first['id']}")
    assert small.client.post("/v1/watches", json=body).status_code == 201


def test_states_wait_up_to_a_bound(world: World) -> None:
    watch = world.watched()
    given = [
        world.client.post(
            f"/v1/watches/{watch['id']}/state", json={"patch": {"fuel": {"on_board_kg": 3400}}}
        ).status_code
        for _ in range(21)
    ]
    assert given == [202] * 20 + [503]


def test_a_watch_ends_when_its_time_is_over_and_is_forgotten_a_day_later(world: World) -> None:
    watch = world.watched(hours=1)
    world.clock.put_on(59)
    with writing(world.store) as connection:
        assert end_passed(connection, at=world.clock()) == 0
    world.clock.put_on(1)
    with writing(world.store) as connection:
        assert end_passed(connection, at=world.clock()) == 1
    told = world.watch(watch["id"])
    assert (told["ended_because"], told["due_at"]) == ("until_passed", None)
    world.clock.put_on(1)
    with writing(world.store) as connection:
        assert remove_ended(connection, before=world.clock()) == 1
        assert connection.execute(select(WATCHED_PLACES)).all() == []
    assert world.client.get(f"/v1/watches/{watch['id']}").status_code == 404


def test_what_was_sent_of_a_watch_is_told_with_it(world: World) -> None:
    watch = world.watched()
    event = NewEvent(
        event_id="e-1",
        at=START,
        watch_id=watch["id"],
        flight_id=watch["flight_id"],
        kind="changed",
        body="{}",
        urgency=SendFirst.WORSE,
        webhook=Webhook(url="https://receiver.example/", secret_id="s-1"),  # noqa: S106 - a name
    )
    with writing(world.store) as connection:
        write_events(connection, [event])
    (told,) = world.watch(watch["id"])["deliveries"]
    assert (told["event_id"], told["state"], told["tries"]) == ("e-1", "waiting", 0)
    assert told["next_at"] == "2026-03-14T06:10:00.000000Z"
