"""The loop of streams: who is slow is bounded, who is silent noticed, who waits not deceived."""

from __future__ import annotations

import asyncio
import os
import resource
import socket
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from sqlalchemy import Engine

from service.store import StoreUnavailable
from service.store.journal import SqlJournal
from service.store.upkeep import bring_up_to_date
from service.streams import hub as module
from service.streams import link as link_module
from service.streams.hub import Hub
from service.streams.link import (
    NoRoom,
    Room,
    StreamAsked,
    StreamLink,
    StreamPlace,
    asked_over,
    connection_over,
    head_of,
)
from service.streams.wire import event_block, sequence_in
from tests.streams.builders import Listener, store_of, write_many, written

HEAD = b"HTTP/1.1 200 OK\r\n\r\n"


@dataclass
class Looping:
    """A hub that runs in a thread, and the worker's side of its link."""

    link: StreamLink
    engine: Engine
    hub: Hub
    numbers: list[int] = field(default_factory=list)

    def listener(self, *, small: bool = False, last_id: str | None = None) -> Listener:
        """A caller whose connection has been handed over; `small`: its system takes little."""
        with socket.socket() as server:
            server.bind(("127.0.0.1", 0))
            server.listen()
            caller = socket.socket()
            if small:
                caller.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            caller.settimeout(20.0)
            caller.connect(server.getsockname())
            connection, _ = server.accept()
        if small:
            connection.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 4096)
        with connection:
            self.link.ask(StreamAsked(last_event_id=last_id)).give(connection, HEAD)
        return Listener.over(caller)


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    address = f"sqlite:///{tmp_path / 'decisions.sqlite3'}"
    bring_up_to_date(address, timeout_s=5)
    with store_of(address) as made:
        yield made


@contextmanager
def looping(
    engine: Engine, *, most: int = 10, journal: SqlJournal | None = None
) -> Iterator[Looping]:
    link, ended = StreamLink(), threading.Event()
    numbers: list[int] = []
    with ThreadPoolExecutor(2) as readers:
        hub = Hub(
            SqlJournal(engine) if journal is None else journal,
            most=most,
            readers=readers,
            opened=numbers.append,
        )

        async def serve() -> None:
            with socket.socket(fileno=os.dup(link.process_fd)) as process:
                process.setblocking(False)
                loop = asyncio.get_running_loop()
                loop.add_reader(process, hub.called, process)
                following = loop.create_task(hub.follow())
                while not ended.is_set():
                    await asyncio.sleep(0.02)
                loop.remove_reader(process)
                following.cancel()
                hub.close()
                await asyncio.sleep(0.05)

        thread = threading.Thread(target=asyncio.run, args=(serve(),))
        thread.start()
        try:
            yield Looping(link, engine, hub, numbers)
        finally:
            ended.set()
            thread.join(10)
            link.close()


def holds(condition: Callable[[], bool], *, within_s: float = 10.0) -> bool:
    until_s = time.monotonic() + within_s
    while not (held := condition()) and time.monotonic() < until_s:
        time.sleep(0.01)
    return held


def is_waited_for(stream: module.Stream) -> bool:
    """Whether it has no room and something lies before it; not one that is about to have room."""
    return (
        not stream.has_room
        and stream._transport is not None
        and stream._transport.get_write_buffer_size() > 0
    )


def test_who_reads_slowly_is_told_all_and_memory_has_a_bound(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "WAITING_BYTES", 20_000)
    monkeypatch.setattr(module, "PAGE", 10)
    with looping(engine) as loop, loop.listener(small=True) as slow, loop.listener() as quick:
        slow.begun()
        quick.begun()
        names: list[str] = []
        while not (waiting := [each for each in loop.hub._streams if is_waited_for(each)]):
            assert len(names) < 3_000, "the system takes all that is written"
            names += write_many(engine, 15, size=2_000)
            assert quick.ids(15) == names[-15:]
        assert waiting[0]._transport is not None
        most = 20_000 + 11 * 2_200  # what makes it wait, and the page that came before
        assert 0 < waiting[0]._transport.get_write_buffer_size() <= most
        more = [name for _ in range(20) for name in write_many(engine, 15, size=2_000)]
        assert quick.ids(300) == more
        assert waiting[0]._transport.get_write_buffer_size() <= most
        assert slow.ids(len(names) + 300) == names + more
        new = written(engine)
        assert slow.ids(1) == quick.ids(1) == [new]


def test_who_reads_nothing_is_let_go_and_can_come_back(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "STALLED_S", 0.3)
    monkeypatch.setattr(module, "WAITING_BYTES", 20_000)
    with looping(engine) as loop, loop.listener(small=True) as slow:
        slow.begun()
        names = write_many(engine, 100, size=10_000)
        assert holds(lambda: loop.numbers[-1] == 0)
        read: list[str] = []
        with suppress(EOFError, ConnectionError):
            while True:
                read += slow.ids(1)
        assert 0 < len(read) < 100
        with loop.listener(last_id=slow.last_id) as again:
            assert read + again.ids(100 - len(read)) == names


def test_silence_is_broken_by_signs_of_life(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "HEARTBEAT_S", 0.1)
    with looping(engine) as loop, loop.listener() as listener:
        listener.begun()
        blocks = [listener.block() for _ in range(2)]
        assert [each.get("") for each in blocks] == ["heartbeat"] * 2
        assert not any(each.is_event for each in blocks)


def test_a_stream_ends_after_its_time_and_goes_on_where_it_was(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "LONGEST_S", 0.2)
    with looping(engine) as loop:
        with loop.listener() as listener:
            assert listener.begun().ends() < 2.0
        name = written(engine)
        with loop.listener(last_id=listener.last_id) as again:
            assert again.ids(1) == [name]


class Failing(SqlJournal):
    """A store that is away from a moment on."""

    away = False

    def after(self, sequence: int, *, limit: int) -> object:  # type: ignore[override]
        if self.away:
            raise StoreUnavailable("away")
        return super().after(sequence, limit=limit)

    def head(self) -> int:
        if self.away:
            raise StoreUnavailable("away")
        return super().head()


def test_without_the_store_silence_does_not_look_like_no_news(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "BLIND_S", 0.5)
    journal = Failing(engine)
    with looping(engine, journal=journal) as loop, loop.listener() as listener:
        listener.begun()
        assert holds(lambda: len(loop.hub._live) == 1)
        journal.away = True
        assert 0.2 < listener.ends() < 3.0
        with pytest.raises(NoRoom) as refused:
            loop.link.ask(StreamAsked())
        assert refused.value.reason is Room.BLIND
        journal.away = False
        name = written(engine)
        with loop.listener(last_id=listener.last_id) as again:
            assert again.ids(1) == [name]


def test_who_talks_on_is_cut_off(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "SENT_BYTES", 1_000)
    with looping(engine) as loop, loop.listener() as listener:
        listener.begun()
        listener.connection.sendall(b"x" * 2_000)
        assert listener.ends() < 2.0


def test_places_are_counted_and_come_back(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "PLACE_S", 0.5)
    with looping(engine, most=2) as loop:
        first, second = (loop.link.ask(StreamAsked()) for _ in range(2))
        with pytest.raises(NoRoom) as refused:
            loop.link.ask(StreamAsked())
        assert refused.value.reason is Room.FULL
        first.give_up()
        assert holds(lambda: _takes(loop.link))
        time.sleep(0.6)  # nobody came to the other one in time
        third = loop.link.ask(StreamAsked())
        third.give_up()
        second.give_up()


def _takes(link: StreamLink) -> bool:
    try:
        place = link.ask(StreamAsked())
    except NoRoom:
        return False
    place.give_up()
    return True


def test_nobody_who_answers_is_not_waited_for_long(monkeypatch: pytest.MonkeyPatch) -> None:
    ordinary_s = link_module.ANSWER_S
    monkeypatch.setattr(link_module, "ANSWER_S", 0.2)
    link = StreamLink()
    assert not link.is_called()
    begun_s = time.monotonic()
    with pytest.raises(NoRoom) as refused:
        link.ask(StreamAsked())
    assert refused.value.reason is None
    assert time.monotonic() - begun_s < ordinary_s
    assert link.is_called()
    link.close()


def test_one_thread_at_a_time_waits_for_a_process_that_does_not_answer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(link_module, "ANSWER_S", 1.0)
    monkeypatch.setattr(link_module, "TURN_S", 0.1)
    link, took_s = StreamLink(), []

    def ask() -> None:
        begun_s = time.monotonic()
        with pytest.raises(NoRoom):
            link.ask(StreamAsked())
        took_s.append(time.monotonic() - begun_s)

    threads = [threading.Thread(target=ask) for _ in range(4)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    link.close()
    assert sorted(each > 0.9 for each in took_s) == [False, False, False, True]


def test_what_cannot_be_read_on_the_link_is_passed_over() -> None:
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_DGRAM)
    theirs.setblocking(False)
    assert asked_over(theirs) is None
    ours.send(b"{}")  # without a socket to answer over
    assert asked_over(theirs) is None
    for content in (b"nonsense", b'{"flights": 1}'):
        one, other = socket.socketpair()
        socket.send_fds(ours, [content], [other.fileno()])
        assert asked_over(theirs) is None
        other.close()
        assert one.recv(1) == b""  # it was closed there
        one.close()
    ours.close()
    theirs.close()


def test_a_place_carries_one_connection_with_its_head() -> None:
    one, other = socket.socketpair()
    near, far = socket.socketpair()
    StreamPlace(one).give(far, HEAD)
    far.close()
    found = connection_over(other)
    assert found is not None
    head, connection = found
    connection.sendall(head)
    assert near.recv(100) == HEAD
    for each in (connection, near, other):
        each.close()


def test_the_head_says_that_the_answer_ends_with_its_connection() -> None:
    headers = [("Content-Length", "0"), ("connection", "keep-alive"), ("A", "b")]
    head = head_of("200 OK", headers, date="now")
    assert head == b"HTTP/1.1 200 OK\r\nDate: now\r\nConnection: close\r\nA: b\r\n\r\n"


def test_no_body_can_make_an_event_of_its_own() -> None:
    block = event_block(sequence=1, kind="changed", body="a\nid: 7\r\revent: b\r\n\u2028c")
    assert block.decode() == (
        "id: 1\nevent: changed\ndata: a\ndata: id: 7\ndata: \ndata: event: b\ndata: \u2028c\n\n"
    )


def test_only_numbers_are_ids() -> None:
    told = {text: sequence_in(text) for text in ("0", "17", "", "x", "-1", "1" * 19, "\u0661")}
    assert told == {
        "0": 0,
        "17": 17,
        "": None,
        "x": None,
        "-1": None,
        "1" * 19: None,
        "\u0661": None,
    }


def test_no_more_streams_are_promised_than_the_system_has_descriptors() -> None:
    from service.streams.__main__ import OTHER_DESCRIPTORS, _within_descriptors

    before = resource.getrlimit(resource.RLIMIT_NOFILE)
    try:
        assert _within_descriptors(100) == 100
        resource.setrlimit(resource.RLIMIT_NOFILE, (before[0], before[1]))
        assert _within_descriptors(10**9) == before[1] - OTHER_DESCRIPTORS
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, before)
