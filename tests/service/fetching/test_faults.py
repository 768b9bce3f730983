"""Whatever a source does, the decision comes in time, says what is missing, and is no GO.

Real sockets, a real deadline of a second, the real application.
"""

from __future__ import annotations

import contextlib
import gzip
import json
import logging
import socket
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from service.app import create_app
from tests.service.builders import service_settings
from tests.service.fetching.builders import (
    CLEAN,
    KEY,
    NOW,
    REPORTS,
    Behaviour,
    Stopwatch,
    answer,
    answers,
    case_to_fetch,
    drips,
    hangs,
    repeats,
    resets,
    says,
    serving,
)

DEADLINE_S = 1
SLACK_S = 0.5  # for the decision itself
LOGGED_WITHIN_S = 5.0
TEXT = "\n".join(REPORTS)
HEAD = b"HTTP/1.1 200 OK\r\n"
CHUNKED = HEAD + b"Transfer-Encoding: chunked\r\n\r\n"
PACKED = ("Content-Encoding: gzip",)
IN_TIME = "did not answer within 1 s"

FAULTS: dict[str, tuple[Behaviour, str]] = {
    "hangs": (hangs, IN_TIME),
    "drips its header": (drips(HEAD + b"X-Slow: " + b"z" * 60_000, every_s=0.05), IN_TIME),
    "drips its body": (
        drips(answer(TEXT.encode()), every_s=0.05, at_once=len(HEAD) + 24),
        IN_TIME,
    ),
    "drips its chunks": (
        drips(CHUNKED + b"1\r\nM\r\n", every_s=0.02, at_once=len(CHUNKED)),
        IN_TIME,
    ),
    "continues without end": (repeats(b"", b"HTTP/1.1 100 Continue\r\n\r\n"), IN_TIME),
    "stops in the middle": (says(answer(TEXT.encode())[:200]), IN_TIME),
    "closes in the middle": (says(answer(TEXT.encode())[:200], then_close=True), "broke off"),
    "closes in a chunk": (says(CHUNKED + b"ff\r\nMETAR XKAL", then_close=True), "broke off"),
    "closes without a word": (says(b"", then_close=True), "the connection to the source failed"),
    "resets": (resets, "the connection to the source failed"),
    "speaks no HTTP": (says(b"\x00\xff\x13 hello\r\n\r\n", then_close=True), "connection"),
    "has a header without end": (repeats(HEAD, b"X-More: 1\r\n"), "connection"),
    "has a line without end": (repeats(HEAD + b"X-Long: ", b"z" * 4096), "connection"),
    "says no end": (
        says(answer(TEXT.encode(), length=False), then_close=True),
        "does not say where its answer ends",
    ),
    "sends too much": (
        repeats(HEAD + b"Content-Length: 9000000000\r\n\r\n", TEXT.encode()),
        "longer than 1000000 bytes",
    ),
    "sends chunks without end": (
        repeats(CHUNKED, b"1000\r\n" + b"M" * 0x1000 + b"\r\n"),
        "longer than 1000000 bytes",
    ),
    "sends a bomb": (
        says(answer(gzip.compress(bytes(200_000_000), 1), headers=PACKED)),
        "longer than 1000000 bytes",
    ),
    "packs badly": (says(answer(b"\x1f\x8b garbage", headers=PACKED)), "cannot be unpacked"),
    "redirects": (
        answers("", status="302 Found", headers=("Location: http://127.0.0.1:1/elsewhere",)),
        "sends elsewhere",
    ),
    "has failed": (answers("", status="500 Internal Server Error"), "status 500"),
    "is overloaded": (answers("", status="503 Service Unavailable"), "status 503"),
    "asks for six hours": (
        answers("", status="429 Too Many Requests", headers=("Retry-After: 21600",)),
        "status 429",
    ),
    "asks for a date": (
        answers(
            "",
            status="429 Too Many Requests",
            headers=("Retry-After: Sat, 14 Mar 2026 12:10:00 GMT",),
        ),
        "status 429",
    ),
    "wants a password": (answers("", status="401 Unauthorized"), "status 401"),
    "sends a page": (
        answers(f"<html><body>no such key: {KEY}</body></html>"),
        "the source has none",
    ),
    "sends noise": (says(answer(bytes(range(256)) * 300)), "the source has none"),
    "sends other places": (answers(TEXT.replace(" X", " Y")), "the source has none"),
    "sends nothing": (answers(""), "the source has none"),
}


@pytest.fixture(scope="module", autouse=True)
def _warm() -> None:
    """Load the data files before anything is timed, as a running service has."""
    recommend_mapping(case_from_mapping(CLEAN))


def client_of(url: str, folder: Path) -> FlaskClient:
    settings = service_settings(
        folder, APPROACH_WEATHER_URL=url, APPROACH_WEATHER_DEADLINE_S=str(DEADLINE_S)
    )
    return create_app(settings, clock=lambda: NOW).test_client()


def decided(client: FlaskClient) -> tuple[dict[str, Any], float]:
    """The decision about the case without reports, and the seconds it took."""
    watch = Stopwatch()
    response = client.post("/v1/decisions", json=case_to_fetch())
    took_s = watch.took_s()
    assert response.status_code == 201
    told: dict[str, Any] = response.get_json()
    return told, took_s


def require_in_time(took_s: float) -> None:
    """Require the deadline to have been kept; `pytest -rP` shows the figures."""
    print(f"took {took_s:.3f} s")
    assert took_s <= DEADLINE_S + SLACK_S


def require_unknown(told: dict[str, Any], words: str) -> None:
    """Require a decision that knows no weather and says why, at each place and in a caution."""
    assert told["verdict"] == "INSUFFICIENT_DATA"
    assert told["unknowns"]
    for weather in told["weather"].values():
        kinds = [each["kind"] for each in weather["fetched"]]
        assert kinds == ["observation", "forecast"]
        assert all(each["at"] is None and each["problem"] for each in weather["fetched"])
    cautions = [each for each in told["cautions"] if each["code"] == "FETCH_FAILED"]
    assert words in " ".join(each["text"] for each in cautions)
    places = ", ".join(told["weather"])
    assert f": observation of {places}; forecast of {places}." in cautions[0]["text"]
    because = {line for each in cautions for line in each["because"]}
    assert because == {
        f"{kind} of {icao}" for kind in ("observation", "forecast") for icao in told["weather"]
    }
    assert KEY not in json.dumps(told)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_source_at_fault_costs_no_more_than_the_deadline_and_leaves_the_weather_unknown(
    fault: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    behaviour, words = FAULTS[fault]
    with serving(behaviour) as server, caplog.at_level(logging.DEBUG):
        told, took_s = decided(client_of(server.url(), tmp_path))
        assert server.requests
        require_logged(caplog)
    require_in_time(took_s)
    require_unknown(told, words)
    assert KEY not in caplog.text


def require_logged(caplog: pytest.LogCaptureFixture) -> None:
    """Require the log line of a call, which its own thread writes, maybe after the answer."""
    until_s = time.monotonic() + LOGGED_WITHIN_S
    while "weather.fetch" not in caplog.text and time.monotonic() < until_s:
        time.sleep(0.01)
    assert "weather.fetch" in caplog.text


def test_a_source_that_is_not_there_is_said_to_be_unreachable(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        port = listener.getsockname()[1]
    told, took_s = decided(client_of(f"http://127.0.0.1:{port}/{{stations}}", tmp_path))
    require_in_time(took_s)
    require_unknown(told, "the connection to the source failed")


def test_a_source_that_takes_no_connection_is_given_up_in_time(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0), backlog=0) as listener:
        port = listener.getsockname()[1]
        crowd = [socket.socket() for _ in range(3)]
        for each in crowd:
            each.setblocking(False)
            each.connect_ex(("127.0.0.1", port))
        told, took_s = decided(client_of(f"http://127.0.0.1:{port}/{{stations}}", tmp_path))
        for each in crowd:
            each.close()
    require_in_time(took_s)
    require_unknown(told, IN_TIME)


def test_a_name_that_is_looked_up_for_ever_is_given_up_in_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    look_up = socket.getaddrinfo

    def slow(*args: Any, **kwargs: Any) -> Any:
        time.sleep(DEADLINE_S + 1)
        return look_up(*args, **kwargs)

    with serving(answers(TEXT)) as server:
        client = client_of(server.url(host="localhost"), tmp_path)
        monkeypatch.setattr(socket, "getaddrinfo", slow)
        told, took_s = decided(client)
        time.sleep(1.2)  # the look-up ends before the server does
    require_in_time(took_s)
    require_unknown(told, IN_TIME)


@pytest.mark.parametrize(
    ("behaviour", "words"),
    [(hangs, IN_TIME), (says(b"220 no TLS here\r\n"), "no secure connection")],
    ids=["hangs", "speaks plainly"],
)
def test_a_handshake_that_fails_costs_no_more_than_the_deadline(
    behaviour: Behaviour, words: str, tmp_path: Path
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(10)
        url = f"https://127.0.0.1:{listener.getsockname()[1]}/{{stations}}"
        client = client_of(url, tmp_path)

        def serve() -> None:
            connection, _ = listener.accept()
            with connection, contextlib.suppress(ConnectionResetError):
                connection.recv(1)
                behaviour(connection, "")
                while connection.recv(4096):
                    pass

        thread = threading.Thread(target=serve, daemon=True)
        thread.start()
        told, took_s = decided(client)
        thread.join(10)
    require_in_time(took_s)
    require_unknown(told, words)


def test_a_source_that_is_overloaded_is_asked_again_and_then_answers(tmp_path: Path) -> None:
    replies = iter([answer(b"", status="503 Service Unavailable"), answer(TEXT.encode())])
    with serving(lambda connection, _: connection.sendall(next(replies))) as server:
        told, _ = decided(client_of(server.url(), tmp_path))
        assert len(server.requests) == 2
    assert told["verdict"] == "GO"
