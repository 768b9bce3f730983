"""Processes beside the workers are begun, begun again when they die, and ended; real ones."""

from __future__ import annotations

import os
import signal
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from service import companions as module
from service.companions import PARENT, Companion, Companions, is_orphan, parent_in

MODULE = "tests.streams.companion"
ORDINARY_S = module.END_S  # where it is not shortened


@contextmanager
def looked_after(*, wanted: bool = True) -> Iterator[tuple[Companions, socket.socket]]:
    """A companion, and the socket over which each of its processes says its number."""
    ours, theirs = socket.socketpair()
    ours.settimeout(20.0)
    withheld = socket.socket()
    withheld.set_inheritable(True)
    companion = Companion(module=MODULE, wanted=lambda: wanted, given={3: theirs.fileno()})
    made = Companions([companion], withheld=lambda: [withheld.fileno()])
    made.start()
    try:
        yield made, ours
    finally:
        made.stop()
        for each in (ours, theirs, withheld):
            each.close()


def said(own: socket.socket) -> tuple[int, list[str]]:
    """The number of the next process, and the sockets that it has."""
    text = b""
    while not text.endswith(b"\n"):
        text += own.recv(1)
    number, sockets = text.decode().split()
    return int(number), sockets.split(",")


def is_there(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


def test_what_dies_is_begun_again_and_ended_with_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "AGAIN_AFTER_S", 0.1)
    with looked_after() as (made, own):
        first, sockets = said(own)
        assert len(sockets) == 1  # the one that was given, and not the one that was withheld
        os.kill(first, signal.SIGKILL)
        second, _ = said(own)
        assert second != first
        assert not is_there(first)
        made.stop()
        assert not is_there(second)


def test_one_who_does_not_end_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "END_S", 0.2)
    monkeypatch.setenv("STUBBORN", "yes")
    with looked_after() as (made, own):
        number, _ = said(own)
        begun_s = time.monotonic()
        made.stop()
        assert time.monotonic() - begun_s < ORDINARY_S
        os.waitpid(number, 0)
        assert not is_there(number)


def test_what_nobody_wants_is_not_begun() -> None:
    with looked_after(wanted=False) as (_, own):
        own.settimeout(0.3)
        with pytest.raises(TimeoutError):
            said(own)


def test_a_process_knows_who_began_it() -> None:
    assert parent_in([PARENT, "17"]) == 17
    assert not is_orphan(os.getppid())
    assert is_orphan(os.getpid())
    for wrong in ([], [PARENT], ["17", PARENT], [PARENT, "x"]):
        with pytest.raises(ValueError, match=r"NUMBER|invalid"):
            parent_in(wrong)
