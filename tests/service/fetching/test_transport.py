"""One GET against prepared answers: what passes, what does not, and in which words."""

from __future__ import annotations

import gzip
import logging
import tracemalloc
from collections.abc import Iterator

import pytest
import requests
import responses

from service.fetching.deadline import FetchDeadline
from service.fetching.failure import FetchFailed
from service.fetching.fetcher import Fetcher
from service.fetching.source import ReportSource
from service.fetching.template import Template
from service.fetching.transport import MAX_ANSWER_BYTES, Transport
from tests.service.fetching.builders import (
    KEY,
    NOW,
    REPORTS,
    HandClock,
    answer,
    observation,
    says,
    serving,
)

URL = f"https://weather.example/reports?ids={{stations}}&key={KEY}"
ADDRESS = Template(URL).address(stations=["XKAL"], kind="metar")
SIZED = {"Content-Length": "0"}


@pytest.fixture
def source() -> Iterator[responses.RequestsMock]:
    """Answers prepared by a test; each must be asked for."""
    with responses.RequestsMock(assert_all_requests_are_fired=True) as prepared:
        yield prepared


def got(transport: Transport | None = None) -> bytes:
    one = transport or Transport(hosts=("weather.example",))
    return one.get(ADDRESS, deadline=FetchDeadline(total_s=5.0))


def failure() -> FetchFailed:
    with pytest.raises(FetchFailed) as error:
        got()
    assert KEY not in str(error.value)
    assert error.value.__cause__ is None
    return error.value


def test_the_body_of_a_complete_answer_is_handed_on(source: responses.RequestsMock) -> None:
    source.get(
        ADDRESS,
        body=REPORTS[0],
        headers={"Content-Length": str(len(REPORTS[0]))},
        match=[
            responses.matchers.query_param_matcher({"ids": "XKAL", "key": KEY}),
            responses.matchers.header_matcher(
                {"Accept-Encoding": "identity", "User-Agent": "approach-decision-service"}
            ),
            responses.matchers.request_kwargs_matcher({"stream": True, "verify": True}),
        ],
    )
    assert got() == REPORTS[0].encode()


@pytest.mark.parametrize(
    ("status", "words", "transient"),
    [
        (204, "status 204", False),
        (301, "sends elsewhere", False),
        (304, "sends elsewhere", False),
        (404, "status 404", False),
        (429, "status 429", True),
        (500, "status 500", False),
        (502, "status 502", True),
        (503, "status 503", True),
        (504, "status 504", True),
    ],
)
def test_a_status_other_than_200_is_a_failure(
    source: responses.RequestsMock, status: int, words: str, *, transient: bool
) -> None:
    source.get(ADDRESS, status=status, headers={"Location": "https://elsewhere.example"})
    failed = failure()
    assert words in failed.reason
    assert failed.transient is transient


@pytest.mark.parametrize(
    ("given", "wait_s"),
    [
        ("7", 7.0),
        (" 21600 ", 21_600.0),
        ("9" * 5_000, float("inf")),
        ("-1", float("inf")),
        ("²", float("inf")),
        ("", float("inf")),
        ("Sat, 14 Mar 2026 12:10:00 GMT", float("inf")),
    ],
)
def test_the_wait_asked_for_is_read_without_trust(
    source: responses.RequestsMock, given: str, wait_s: float
) -> None:
    source.get(ADDRESS, status=503, headers={"Retry-After": given})
    assert failure().retry_after_s == wait_s


@pytest.mark.parametrize(
    ("error", "words", "transient"),
    [
        (requests.exceptions.SSLError(ADDRESS), "no secure connection", False),
        (requests.exceptions.ConnectTimeout(ADDRESS), "did not answer within 5 s", False),
        (requests.exceptions.ReadTimeout(ADDRESS), "did not answer within 5 s", False),
        (requests.exceptions.ConnectionError(ADDRESS), "connection to the source failed", True),
        (requests.exceptions.ChunkedEncodingError(ADDRESS), "broke off", True),
        (requests.exceptions.ContentDecodingError(ADDRESS), "cannot be unpacked", False),
        (requests.exceptions.InvalidHeader(ADDRESS), "could not be read", False),
        (UnicodeError(ADDRESS), "could not be read", False),
    ],
)
def test_every_error_of_the_library_is_told_in_our_words(
    source: responses.RequestsMock, error: Exception, words: str, *, transient: bool
) -> None:
    source.get(ADDRESS, body=error)
    failed = failure()
    assert words in failed.reason
    assert failed.transient is transient


def test_an_answer_may_be_as_long_as_the_limit_and_no_longer(
    source: responses.RequestsMock,
) -> None:
    for length in (MAX_ANSWER_BYTES, MAX_ANSWER_BYTES + 1):
        source.get(ADDRESS, body=bytes(length), headers={"Content-Length": str(length)})
    assert len(got()) == MAX_ANSWER_BYTES
    assert "longer than 1000000 bytes" in failure().reason


def test_a_host_that_is_not_allowed_is_never_called() -> None:
    with pytest.raises(FetchFailed, match="not one that may be called"):
        got(Transport(hosts=("other.example",)))


def test_a_deadline_that_is_over_lets_nothing_begin() -> None:
    clock = HandClock()
    deadline = FetchDeadline(total_s=1.0, monotonic=clock.monotonic)
    clock.move(1.0)
    with pytest.raises(FetchFailed, match="did not answer within 1 s"):
        Transport(hosts=("weather.example",)).get(ADDRESS, deadline=deadline)


def test_a_bomb_is_never_unpacked_beyond_the_limit() -> None:
    packed = gzip.compress(bytes(100_000_000), 1)
    with serving(says(answer(packed, headers=("Content-Encoding: gzip",)))) as server:
        transport = Transport(hosts=("127.0.0.1",))
        address = server.url().replace("{stations}", "XKAL")
        tracemalloc.start()
        with pytest.raises(FetchFailed, match="longer than 1000000 bytes"):
            transport.get(address, deadline=FetchDeadline(total_s=10.0))
        _, peak_bytes = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        transport.close()
    print(f"peak {peak_bytes} bytes for {len(packed)} packed")
    assert peak_bytes < 4 * MAX_ANSWER_BYTES


def test_what_came_packed_within_the_limit_is_read() -> None:
    packed = gzip.compress(REPORTS[0].encode())
    with serving(says(answer(packed, headers=("Content-Encoding: gzip",)))) as server:
        transport = Transport(hosts=("127.0.0.1",))
        address = server.url().replace("{stations}", "XKAL")
        assert transport.get(address, deadline=FetchDeadline(total_s=5.0)) == REPORTS[0].encode()
        transport.close()


def test_a_connection_is_used_again() -> None:
    seen = set()

    def behave(connection: object, _request: str) -> None:
        seen.add(connection)
        says(answer(b"METAR"))(connection, "")  # type: ignore[arg-type]

    with serving(behave) as server:
        transport = Transport(hosts=("127.0.0.1",))
        address = server.url().replace("{stations}", "XKAL")
        for _ in range(3):
            assert transport.get(address, deadline=FetchDeadline(total_s=5.0)) == b"METAR"
        transport.close()
    assert len(seen) == 1


# --- through source and fetcher ---


def fetcher_on(clock: HandClock) -> Fetcher:
    source = ReportSource(
        Template(URL),
        Transport(hosts=("weather.example",)),
        clock=clock.now,
        monotonic=clock.monotonic,
        sleep=clock.sleep,
        chance=lambda: 1.0,
    )
    return Fetcher(source, deadline_s=5.0, clock=clock.now, monotonic=clock.monotonic)


def test_a_source_that_recovers_is_asked_again_within_the_deadline(
    source: responses.RequestsMock,
) -> None:
    clock = HandClock()
    source.get(ADDRESS, status=503, headers={"Retry-After": "1"})
    source.get(ADDRESS, body=requests.exceptions.ConnectionError())
    source.get(ADDRESS, body=REPORTS[0], headers={"Content-Length": str(len(REPORTS[0]))})
    outcome = fetcher_on(clock).fetch([observation("XKAL")])[observation("XKAL")]
    assert outcome.reports == (REPORTS[0],)
    assert clock.slept == pytest.approx([1.2, 0.4])
    assert outcome.entry is not None
    assert outcome.entry.at == clock.now() > NOW


def test_a_source_that_asks_for_six_hours_is_asked_once(source: responses.RequestsMock) -> None:
    clock = HandClock()
    source.get(ADDRESS, status=429, headers={"Retry-After": "21600"})
    outcome = fetcher_on(clock).fetch([observation("XKAL")])[observation("XKAL")]
    assert outcome.problem == "the source answered with status 429"
    assert clock.slept == []


def test_the_log_line_of_a_call_has_its_outcome_and_no_key(
    source: responses.RequestsMock, caplog: pytest.LogCaptureFixture
) -> None:
    echo = f"you asked for {ADDRESS}"
    source.get(ADDRESS, body=echo, headers={"Content-Length": str(len(echo))})
    source.get(ADDRESS, body=requests.exceptions.ConnectTimeout(ADDRESS))
    fetcher = fetcher_on(HandClock())
    with caplog.at_level(logging.DEBUG):
        for _ in range(2):
            fetcher.fetch([observation("XKAL")])
    lines = [record.fields for record in caplog.records if record.name == "service.fetching"]  # type: ignore[attr-defined]
    assert [line["outcome"] for line in lines] == [
        "answered",
        "the source did not answer within 5 s",
    ]
    assert lines[0]["set_aside"] == 3
    assert lines[0]["set_aside_first"] == [
        "you asked for https://weather.example/***?ids",
        "XKAL&key",
        "***",
    ]
    assert KEY not in str(lines) + caplog.text


def test_a_fault_of_our_own_is_a_problem_and_no_error(caplog: pytest.LogCaptureFixture) -> None:
    clock = HandClock()

    def broken() -> float:
        raise ZeroDivisionError(ADDRESS)

    source = ReportSource(
        Template(URL), Transport(hosts=()), clock=clock.now, monotonic=broken, sleep=clock.sleep
    )
    fetcher = Fetcher(source, deadline_s=5.0, clock=clock.now)
    outcome = fetcher.fetch([observation("XKAL")])[observation("XKAL")]
    fetcher.close()
    assert outcome.problem == "the service itself failed to fetch"
    assert KEY not in caplog.text
    assert "weather.fault" in caplog.text
