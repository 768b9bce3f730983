"""One try: what came, what is told of it, and that a bad receiver costs no more than its time."""

from __future__ import annotations

import re
import ssl
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.webhooks import sending
from service.webhooks.sending import Sender
from service.webhooks.signing import SigningKey
from tests.service.fetching.test_tls import certificate
from tests.webhooks.receivers import Answering, endless, hangs, receiving, says, status, verified

__all__ = ["certificate"]  # a fixture
KEY = SigningKey(key_id="secret.1", secret=b"x" * 32)
BODY = b'{"event_id": "e"}'
HERE = ("127.0.0.1", "localhost")
ORDINARY_S = sending.TRY_S  # of a try whose time is not shortened: what a slow machine may not take


@pytest.fixture
def sender() -> Iterator[Sender]:
    made = Sender(hosts=HERE)
    yield made
    made.close()


def test_what_is_sent_comes_signed_and_once(sender: Sender) -> None:
    with receiving(status(204)) as receiver:
        tried = sender.send(receiver.url, BODY, keys=[KEY])
    assert (tried.status, tried.why, tried.is_taken) == (204, None, True)
    (came,) = receiver.came
    assert (came.method, came.path, came.body) == ("POST", "/hook?key=x", BODY)
    assert came.headers["Host"] == f"127.0.0.1:{receiver.port}"
    assert len(verified(came, {KEY.key_id: KEY.secret})) == 1


@pytest.mark.parametrize(
    ("answering", "taken", "why"),
    [
        (status(200), True, None),
        (status(299), True, None),
        (status(301, "Location: http://127.0.0.1:1/"), False, "sends elsewhere .status 301."),
        (status(307, "Location: /other"), False, "sends elsewhere"),
        (status(404), False, "status 404"),
        (status(410), False, "status 410"),
        (status(500), False, "status 500"),
        (status(700), False, "status 700"),
        (status(101), False, "status 101"),
        (says(b"HTTP/1.1 200 OK\r\nContent-Length: 9000\r\n\r\nshort"), True, None),
        (says(b"HTTP/1.1 204 No\r\n\r\nmore"), True, None),
        (says(b"nothing of HTTP\r\n\r\n"), False, "is not HTTP"),
        (says(b""), False, "broke off"),
        (endless(b"HTTP/1.1 200 OK\r\n\r\n", b"x" * 9000), True, None),
        (endless(b"HTTP/1.1 200 OK\r\n", b"A: b\r\n" * 50), False, "more than 65536|not HTTP"),
        (endless(b"HTTP/1.1 200 OK\r\nA: ", b"x" * 9000), False, "more than 65536|not HTTP"),
        (endless(b"", b"HTTP/1.1 100 Continue\r\n\r\n"), False, "more than 65536"),
    ],
)
def test_only_a_2xx_is_a_yes(
    sender: Sender, answering: Answering, taken: bool, why: str | None
) -> None:
    begun_s = time.monotonic()
    with receiving(answering) as receiver:
        tried = sender.send(receiver.url, BODY, keys=[KEY])
    assert time.monotonic() - begun_s < sending.TRY_S
    assert tried.is_taken is taken
    assert len(receiver.came) == 1
    if why is None:
        assert tried.why is None
    else:
        assert tried.why is not None
        assert re.search(why, tried.why)


@pytest.mark.parametrize(
    "answering",
    [hangs, endless(b"", b"H", every_s=0.05), endless(b"HTTP/1.1 200 ", b"K", every_s=0.05)],
    ids=["hangs", "drips", "drips a status"],
)
def test_a_receiver_has_so_long_and_no_longer(
    sender: Sender, answering: Answering, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending, "TRY_S", 0.5)
    begun_s = time.monotonic()
    with receiving(answering) as receiver:
        tried = sender.send(receiver.url, BODY, keys=[KEY])
        assert time.monotonic() - begun_s < ORDINARY_S
    assert (tried.is_taken, tried.status) == (False, None)
    assert tried.why == "it did not answer within 5 s"


def test_a_rest_that_drips_is_not_waited_for(
    sender: Sender, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sending, "REST_S", 0.2)
    begun_s = time.monotonic()
    with receiving(endless(b"HTTP/1.1 200 OK\r\n\r\n", b"x", every_s=0.05)) as receiver:
        assert sender.send(receiver.url, BODY, keys=[KEY]).is_taken
        assert time.monotonic() - begun_s < ORDINARY_S


def test_a_name_server_that_hangs_costs_no_more_than_a_try(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(sending, "TRY_S", 0.3)

    ended = threading.Event()

    def slow(_host: str, _port: int) -> list[str]:
        ended.wait(60.0)
        return ["127.0.0.1"]

    sender = Sender(hosts=HERE, look_up=slow)
    begun_s = time.monotonic()
    tried = sender.send("http://localhost:1/", BODY, keys=[KEY])
    assert time.monotonic() - begun_s < ORDINARY_S
    assert tried.why == "it did not answer within 5 s"
    ended.set()
    sender.close()


def test_a_name_is_looked_up_once_and_that_address_is_called() -> None:
    with receiving(status(200)) as receiver:
        asked: list[str] = []

        def turning(host: str, _port: int) -> list[str]:
            asked.append(host)
            return ["127.0.0.1" if len(asked) == 1 else "127.0.0.9"]

        sender = Sender(hosts=HERE, look_up=turning)
        tried = sender.send(f"http://localhost:{receiver.port}/", BODY, keys=[KEY])
        sender.close()
    assert tried.is_taken
    assert asked == ["localhost"]
    assert receiver.came[0].headers["Host"] == f"localhost:{receiver.port}"


def test_nothing_is_sent_where_nothing_may_be_sent() -> None:
    with receiving(status(200)) as receiver:
        for hosts in ((), ("desk.example",)):
            sender = Sender(hosts=hosts)
            tried = sender.send(receiver.url, BODY, keys=[KEY])
            sender.close()
            assert "APPROACH_WEBHOOK_HOSTS" in (tried.why or "")
    assert receiver.came == []


def test_nobody_there_is_told_without_the_address(sender: Sender) -> None:
    tried = sender.send("http://127.0.0.1:1/secret-path", BODY, keys=[KEY])
    assert tried.why == "nobody listens there"
    unknown = Sender(hosts=("nobody.invalid",)).send("https://nobody.invalid/", BODY, keys=[KEY])
    assert unknown.why == "its name is not known"


def test_a_receiver_that_nobody_vouches_for_is_not_sent_to(certificate: Path) -> None:
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate)
    with receiving(status(200), server) as receiver:
        stranger = Sender(hosts=HERE)
        tried = stranger.send(receiver.url, BODY, keys=[KEY])
        stranger.close()
        assert tried.why == "no secure connection to it could be made"
        assert receiver.came == []
        trusting = Sender(hosts=HERE, context=ssl.create_default_context(cafile=certificate))
        assert trusting.send(receiver.url, BODY, keys=[KEY]).is_taken
        named = f"https://localhost:{receiver.port}/"  # the certificate is for the number alone
        assert trusting.send(named, BODY, keys=[KEY]).why is not None
        trusting.close()
    assert verified(receiver.came[0], {KEY.key_id: KEY.secret})
