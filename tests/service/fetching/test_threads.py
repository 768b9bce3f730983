"""Many decisions at once: one call for what they share, one probe of a source that has failed."""

from __future__ import annotations

import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from service.fetching.breaker import OPEN_S, Breaker, BreakerState
from service.fetching.failure import FetchFailed
from tests.service.fetching.builders import (
    PATIENCE_S,
    REPORTS,
    HandClock,
    answer,
    answers,
    fetcher_of,
    forecast,
    observation,
    serving,
)

BODY = answer("\n".join(REPORTS).encode())
CROWD = 16


class Gate:
    """Answers with every report, but only once it has been opened."""

    def __init__(self) -> None:
        self.opened, self.asked = threading.Event(), threading.Semaphore(0)

    def __call__(self, connection: Any, _request: str) -> None:
        self.asked.release()
        self.opened.wait(PATIENCE_S)
        connection.sendall(BODY)

    def wait_for_calls(self, number: int) -> None:
        for _ in range(number):
            assert self.asked.acquire(timeout=PATIENCE_S)


def test_a_crowd_that_wants_the_same_makes_one_call() -> None:
    gate, lacks = Gate(), [observation("XKAL"), forecast("XKAL")]
    with serving(gate) as server, ThreadPoolExecutor(CROWD) as crowd:
        fetcher = fetcher_of(server.url())
        asking = [crowd.submit(fetcher.fetch, lacks) for _ in range(CROWD)]
        gate.wait_for_calls(1)
        gate.opened.set()
        outcomes = [each.result(PATIENCE_S) for each in asking]
        fetcher.close()
        assert len(server.requests) == 1
    assert all(each == outcomes[0] for each in outcomes)
    assert outcomes[0][lacks[0]].reports == (REPORTS[0],)


def test_who_wants_more_than_is_under_way_asks_only_for_the_rest() -> None:
    gate = Gate()
    with serving(gate) as server, ThreadPoolExecutor(2) as crowd:
        fetcher = fetcher_of(server.url())
        first = crowd.submit(fetcher.fetch, [observation("XKAL"), observation("XBRE")])
        gate.wait_for_calls(1)
        second = crowd.submit(fetcher.fetch, [observation("XBRE"), observation("XTOR")])
        gate.wait_for_calls(1)
        gate.opened.set()
        got = [*first.result(PATIENCE_S).values(), *second.result(PATIENCE_S).values()]
        fetcher.close()
        stations = [line.split("ids=")[1].split("&")[0] for line in server.requests]
    assert stations == ["XKAL,XBRE", "XTOR"]
    assert [each.reports for each in got] == [
        (REPORTS[0],),
        (REPORTS[2],),
        (REPORTS[2],),
        (REPORTS[4],),
    ]


def test_who_waits_for_another_waits_no_longer_than_its_own_deadline() -> None:
    gate = Gate()
    with serving(gate) as server, ThreadPoolExecutor(4) as crowd:
        fetcher = fetcher_of(server.url(), deadline_s=0.3)
        asking = [crowd.submit(fetcher.fetch, [observation("XKAL")]) for _ in range(4)]
        outcomes = [each.result(PATIENCE_S) for each in asking]
        gate.opened.set()
        fetcher.close()
    problems = {each[observation("XKAL")].problem for each in outcomes}
    assert problems == {"the source did not answer within 0.3 s"}


def test_a_crowd_before_a_source_that_has_failed_sends_one_probe() -> None:
    clock = HandClock()
    with serving(answers("", status="500 Oh")) as server, ThreadPoolExecutor(CROWD) as crowd:
        fetcher = fetcher_of(server.url(), clock=clock)
        for icao in ("XAAA", "XBBB", "XCCC"):
            fetcher.fetch([observation(icao)])
        assert fetcher.breaker_state is BreakerState.OPEN
        before = len(server.requests)
        clock.move(OPEN_S)
        places = [observation(f"X{letter}AA") for letter in "ABCDEFGHIJKLMNOP"]
        outcomes = list(crowd.map(lambda place: fetcher.fetch([place])[place], places))
        fetcher.close()
        assert len(server.requests) - before == 1
    told = Counter(each.problem for each in outcomes)
    assert told["the source answered with status 500"] == 1
    assert told["the source has failed repeatedly and is left alone for a while"] == CROWD - 1


def test_a_breaker_lets_exactly_one_of_many_threads_probe() -> None:
    clock = HandClock()
    breaker = Breaker(monotonic=clock.monotonic)
    for _ in range(3):
        fail(breaker)
    clock.move(OPEN_S)
    start, inside = threading.Barrier(CROWD), threading.Event()
    entered: list[bool] = []

    def probe(_number: int) -> bool:
        start.wait(PATIENCE_S)
        try:
            with breaker.guard():
                entered.append(True)
                inside.wait(PATIENCE_S)
        except FetchFailed:
            return False
        return True

    with ThreadPoolExecutor(CROWD) as crowd:
        results = [crowd.submit(probe, number) for number in range(CROWD)]
        while sum(each.done() for each in results) < CROWD - 1:
            threading.Event().wait(0.01)
        inside.set()
    assert sorted(each.result() for each in results) == [False] * (CROWD - 1) + [True]
    assert breaker.state is BreakerState.CLOSED


def fail(breaker: Breaker) -> None:
    with pytest.raises(ZeroDivisionError), breaker.guard():
        raise ZeroDivisionError
