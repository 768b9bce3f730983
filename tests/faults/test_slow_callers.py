"""Callers who send nothing, little or slowly hold nobody up but themselves."""

from __future__ import annotations

import json
import select
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from tests.case.builders import demo
from tests.faults.conftest import Seen
from tests.faults.running import Running, running

QUICK_S = 2.0  # on a machine that does other things too; nobody waits for a slow caller
HEAD = b"POST /v1/decisions?record=false HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
BODY = json.dumps(demo("gear-stuck")).encode()
SOME = len(BODY) // 3
KINDS = {
    "silent": b"",
    "unfinished head": HEAD,
    "unfinished body": HEAD + b"Content-Length: %d\r\n\r\n" % len(BODY) + BODY[:SOME],
    "unfinished chunks": HEAD
    + b"Transfer-Encoding: chunked\r\n\r\n%x\r\n" % len(BODY)
    + BODY[:SOME],
}


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with running(tmp_path_factory.mktemp("slow"), APPROACH_THREADS="2") as started:
        yield started


def quick(service: Running) -> float:
    """The slowest of signs of life and decisions, in seconds."""
    alive = [service.ask("/healthz") for _ in range(5)]
    decided = [service.ask("/v1/decisions?record=false", BODY) for _ in range(3)]
    assert {each.status for each in (*alive, *decided)} == {200}
    return max(each.took_s for each in (*alive, *decided))


@pytest.mark.fault(
    "8 and 32 callers who send nothing, half a head, half a body, half a chunk",
    "signs of life and decisions within 2 s",
)
@pytest.mark.parametrize("number", [8, 32])
@pytest.mark.parametrize("kind", KINDS)
def test_others_are_answered_while_callers_hang(
    service: Running, kind: str, number: int, seen: Seen
) -> None:
    with ExitStack() as held:
        for _ in range(number):
            held.enter_context(service.connected(KINDS[kind]))
        slowest_s = quick(service)
    seen("the slowest of eight answers", slowest_s, "s")
    assert slowest_s < QUICK_S


@pytest.mark.fault(
    "24 callers who send a byte every 50 ms",
    "signs of life and decisions within 2 s",
)
def test_others_are_answered_while_callers_drip(service: Running, seen: Seen) -> None:
    ended = threading.Event()

    def drip() -> None:
        with service.connected(HEAD + b"Content-Length: %d\r\n\r\n" % len(BODY)) as caller:
            for byte in BODY:
                if ended.wait(0.05):
                    return
                caller.sendall(bytes([byte]))

    threads = [threading.Thread(target=drip) for _ in range(24)]
    for each in threads:
        each.start()
    try:
        time.sleep(0.5)
        slowest_s = quick(service)
        seen("the slowest of eight answers", slowest_s, "s")
        assert slowest_s < QUICK_S
    finally:
        ended.set()
        for each in threads:
            each.join(10)


@pytest.mark.fault(
    "callers who do not read their answers",
    "signs of life within 2 s",
)
def test_others_are_answered_while_callers_do_not_read(service: Running) -> None:
    ask = b"GET /openapi.json HTTP/1.1\r\nHost: x\r\n\r\n"
    with ExitStack() as held:
        for _ in range(3):
            caller = held.enter_context(socket.socket())
            caller.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            caller.connect(("127.0.0.1", service.port))
            caller.sendall(ask)
        time.sleep(0.5)
        assert max(service.ask("/healthz").took_s for _ in range(5)) < QUICK_S


@pytest.mark.fault(
    "a head that does not end, a connection that says nothing",
    "408 after 10 s; closed after 5 s",
)
@pytest.mark.parametrize(("kind", "status"), [("unfinished head", b"408"), ("silent", b"")])
def test_who_takes_too_long_is_told_so(service: Running, kind: str, status: bytes) -> None:
    with service.connected(KINDS[kind]) as caller:
        begun_s = time.monotonic()
        answer = caller.recv(1000)
        assert answer[9:12] == status
        assert 4.0 < time.monotonic() - begun_s < 14.0


@pytest.mark.fault(
    "a body slower than 20 kB a second",
    "408 after 15 s",
)
def test_a_body_that_comes_slower_than_the_least_rate_is_ended(service: Running) -> None:
    with service.connected(KINDS["unfinished body"]) as caller:
        assert caller.recv(1000)[9:12] == b"408"


def test_a_request_in_pieces_is_the_request(service: Running) -> None:
    whole = HEAD + b"Content-Length: %d\r\nConnection: close\r\n\r\n" % len(BODY) + BODY
    with service.connected() as caller:
        for at in range(0, len(whole), 701):
            caller.sendall(whole[at : at + 701])
            time.sleep(0.01)
        answer = b"".join(iter(lambda: caller.recv(65_536), b""))
    assert answer.startswith(b"HTTP/1.1 200 OK")
    assert json.loads(answer.partition(b"\r\n\r\n")[2])["verdict"] == "NO_GO"


def test_requests_behind_one_another_are_answered_in_order(service: Running) -> None:
    one = b"GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n"
    other = b"GET /v1/demos HTTP/1.1\r\nHost: x\r\n\r\n"
    post = HEAD + b"Content-Length: %d\r\n\r\n" % len(BODY) + BODY
    last = b"GET /healthz HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"
    with service.connected(one + post + other + last) as caller:
        answer = b"".join(iter(lambda: caller.recv(65_536), b""))
    assert answer.count(b"HTTP/1.1 200 OK") == 4
    places = [answer.index(b'"alive"'), answer.index(b'"verdict"'), answer.rindex(b'"alive"')]
    assert places == sorted(places)


def test_a_caller_who_waits_for_leave_to_send_gets_it(service: Running) -> None:
    head = HEAD + b"Expect: 100-continue\r\nContent-Length: %d\r\n" % len(BODY)
    with service.connected(head + b"Connection: close\r\n\r\n") as caller:
        assert caller.recv(100) == b"HTTP/1.1 100 Continue\r\n\r\n"
        caller.sendall(BODY)
        answer = b"".join(iter(lambda: caller.recv(65_536), b""))
    assert answer.startswith(b"HTTP/1.1 200 OK")


@pytest.mark.fault(
    "more connections of one address than it may have",
    "503, the others go on",
)
def test_an_address_has_no_more_connections_than_it_may(tmp_path: Path) -> None:
    more = {"APPROACH_CONNECTIONS_OF_ONE_ADDRESS": "5", "APPROACH_WORKERS": "1"}
    with running(tmp_path, **more) as few:
        for _ in range(3):  # on a machine that stood still, those held are late and are let go
            with ExitStack() as held:
                callers = [held.enter_context(few.connected(HEAD)) for _ in range(5)]
                one_more = held.enter_context(few.connected())
                answer = one_more.recv(100)
                if not answer and any(_is_let_go(each) for each in callers):
                    continue
                assert answer[9:12] == b"503"
                callers.pop().close()
                time.sleep(0.2)
                assert few.ask("/healthz").status == 200
                return
        pytest.fail("some were let go each time")


def _is_let_go(caller: socket.socket) -> bool:
    """Whether the service has sent something to a caller who has not finished, or closed."""
    return bool(select.select([caller], [], [], 0)[0])
