"""`GET /v1/events` of a real service: who asked for it is told, in order, and nothing is missed."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Engine

from service.app import create_app
from service.store.engines import writing
from service.store.journal import remove_watch_events
from tests.faults.running import Running, running
from tests.service.builders import plain_engine, service_settings
from tests.streams.builders import Listener, store_of, watched, write_many, written

MOST = 8
QUICK_S = 2.0  # on a machine that does other things too


@dataclass(frozen=True)
class Served:
    """A service with its store."""

    service: Running
    engine: Engine

    def listen(
        self, query: Mapping[str, str | list[str]] | None = None, *, last_id: str | None = None
    ) -> Listener:
        return Listener.at(self.service.port, query or {}, last_id=last_id)


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    """A client of the application without a server."""
    return create_app(service_settings(tmp_path), engine=plain_engine()).test_client()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("events")
    settings = {"APPROACH_EVENT_STREAMS": str(MOST), "APPROACH_THREADS": "2"}
    with (
        running(folder, **settings) as service,
        store_of(f"sqlite:///{folder / 'decisions.sqlite3'}") as engine,
    ):
        yield Served(service, engine)


def test_each_is_told_what_it_asked_for_in_order(served: Served) -> None:
    asked: dict[str, Mapping[str, str | list[str]]] = {
        "all": {},
        "flight": {"flight": "XA 1"},
        "two flights": {"flight": ["XA 1", "XB 2"]},
        "with a comma": {"flight": "XA 1,XB 2"},
        "watch": {"watch": "w-3"},
        "either": {"flight": "XA 1", "watch": "w-3"},
    }
    with ExitStack() as held:
        listeners = {
            name: held.enter_context(served.listen(query)).begun() for name, query in asked.items()
        }
        a = written(served.engine, flight="XA 1", watch="w-1")
        b, c = (written(served.engine, flight="XB 2", watch=each) for each in ("w-2", "w-3"))
        told = {
            "all": [a, b, c],
            "flight": [a],
            "two flights": [a, b, c],
            "with a comma": [a, b, c],
            "watch": [c],
            "either": [a, c],
        }
        assert {name: each.ids(len(told[name])) for name, each in listeners.items()} == told
        last = written(served.engine, flight="XA 1", watch="w-3")
        assert all(each.ids(1) == [last] for each in listeners.values())


def test_an_event_has_an_id_a_kind_and_its_body_as_it_was_written(served: Served) -> None:
    with served.listen() as listener:
        before = int(listener.begun().last_id or "")
        name = written(served.engine)
        block = listener.event()
    assert [field for field, _ in block.fields] == ["id", "event", "data"]
    assert (block.get("id"), block.get("event")) == (str(before + 1), "changed")
    assert block.get("data") == json.dumps({"event_id": name, "filling": ""})
    assert listener.head.startswith("HTTP/1.1 200 OK")
    for line in ("Content-Type: text/event-stream", "Cache-Control: no-store", "X-Request-ID: "):
        assert line in listener.head


def test_who_comes_back_is_told_what_it_missed_and_then_what_is_new(served: Served) -> None:
    with served.listen({"flight": "XM 1"}) as listener:
        listener.begun()
        first = written(served.engine, flight="XM 1")
        assert listener.ids(1) == [first]
    written(served.engine, flight="XM 2")
    missed = write_many(served.engine, 450, flight="XM 1")  # more than two pages
    with served.listen({"flight": "XM 1"}, last_id=listener.last_id) as again:
        assert again.ids(450) == missed
        new = written(served.engine, flight="XM 1")
        assert again.ids(1) == [new]


def test_who_was_told_nothing_still_knows_from_where_on(served: Served) -> None:
    with served.listen({"flight": "XN 1"}) as listener:
        listener.begun()
    missed = written(served.engine, flight="XN 1")
    with served.listen({"flight": "XN 1"}, last_id=listener.last_id) as again:
        assert again.ids(1) == [missed]


@pytest.mark.parametrize("last_id", ["words", "-1", "9" * 30, "999999999", "1.0", "\u0661"])
def test_an_id_that_is_none_of_ours_is_answered_with_how_things_stand(
    served: Served, last_id: str
) -> None:
    watch = f"reset-{os.urandom(4).hex()}"
    watched(served.engine, watch, flight="XR 1")
    with served.listen({"watch": watch}, last_id=last_id.encode().decode("latin-1")) as listener:
        block = listener.event()
        told = json.loads(block.get("data") or "")
        new = written(served.engine, watch=watch)
        assert listener.ids(1) == [new]
    assert block.get("event") == "reset"
    (state,) = told["watches"]
    assert state["watch_id"] == watch
    assert state["standing"] == {"verdict": "GO"}
    assert state["ended_at"] is None


def test_what_is_kept_no_more_is_answered_with_how_things_stand(served: Served) -> None:
    watched(served.engine, "purged-1", flight="XP 1")
    watched(served.engine, "purged-2", flight="XP 1", ended=True)
    with served.listen() as listener:
        position = listener.begun().last_id
    write_many(served.engine, 2, flight="XP 1")
    with served.listen({"flight": "XP 1"}, last_id=position) as listener:
        assert [listener.event().get("event") for _ in range(2)] == ["changed"] * 2
    with writing(served.engine) as connection:
        assert remove_watch_events(connection, before=datetime.now(UTC)) >= 2
    kept = written(served.engine, flight="XP 1")
    with served.listen({"flight": "XP 1"}, last_id=position) as listener:
        block = listener.event()
        assert block.get("event") == "reset"
        watches = json.loads(block.get("data") or "")["watches"]
        assert [each["watch_id"] for each in watches] == ["purged-1", "purged-2"]
        assert watches[1]["ended_because"] == "deleted"
    with served.listen({"flight": "XP 1"}, last_id=str(int(block.get("id") or "") - 1)) as listener:
        assert listener.ids(1) == [kept]


def test_more_than_there_may_be_are_told_so_and_hold_up_nobody(served: Served) -> None:
    with ExitStack() as held:
        listeners = [held.enter_context(served.listen()).begun() for _ in range(MOST)]
        refused = served.service.ask("/v1/events")
        assert refused.status == 503
        assert int(refused.headers["Retry-After"]) >= 1
        assert "As many event streams" in refused.json()["detail"]
        assert max(served.service.ask("/healthz").took_s for _ in range(5)) < QUICK_S
        name = written(served.engine)
        assert all(each.ids(1) == [name] for each in listeners)
        listeners[0].connection.close()
        time.sleep(0.3)
        with served.listen() as another:
            assert another.status == 200
    scraped = served.service.ask("/metrics").content.decode()
    assert "\napproach_event_streams " in scraped


@pytest.mark.parametrize(
    ("query", "status"),
    [
        ("?flight=", 422),
        ("?flight=XA,", 422),
        ("?watch=a%20b", 422),
        ("?watch=%0A", 422),
        ("?flights=XA", 422),
        (f"?watch={','.join(map(str, range(201)))}", 422),
    ],
)
def test_a_question_that_is_none_is_refused_as_everywhere(
    served: Served, query: str, status: int
) -> None:
    refused = served.service.ask(f"/v1/events{query}")
    assert refused.status == status
    assert refused.json()["errors"][0]["pointer"].startswith("?")


def test_a_caller_who_wants_something_else_is_told_so(served: Served) -> None:
    assert served.service.ask("/v1/events", headers={"Accept": "application/json"}).status == 406


def test_a_head_request_has_a_head_and_an_end(served: Served) -> None:
    with served.service.connected(
        b"HEAD /v1/events HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"
    ) as caller:
        answer = b"".join(iter(lambda: caller.recv(65_536), b""))
    assert answer.startswith(b"HTTP/1.1 200 OK")
    assert b"text/event-stream" in answer


def test_a_stream_behind_another_request_on_one_connection_is_a_stream(served: Served) -> None:
    first = b"GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n"
    with served.service.connected(first) as caller:
        assert caller.recv(65_536).startswith(b"HTTP/1.1 200 OK")
        caller.sendall(b"GET /v1/events HTTP/1.1\r\nHost: x\r\n\r\n")
        listener = Listener.over(caller).begun()
        name = written(served.engine)
        assert listener.ids(1) == [name]


def test_under_another_server_it_says_so(client: FlaskClient) -> None:
    answer = client.get("/v1/events")
    assert answer.status_code == 503
    assert "own server" in answer.get_json()["detail"]


def streams_of(service: Running) -> list[int]:
    """The processes of streams that a service has begun."""
    found = []
    for each in Path("/proc").glob("[0-9]*/cmdline"):
        words = each.read_bytes().split(b"\0") if each.exists() else []
        if b"service.streams" in words and str(service.process.pid).encode() in words:
            found.append(int(each.parent.name))
    return found
