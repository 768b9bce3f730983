"""Processes beside those that answer requests: begun, begun again and ended by the server's first.

A thread of the first process looks after them. They are spawned, not forked, so that they share no
lock or connection with it, and without a pipe that a worker forked meanwhile would hold open. Each
ends by itself when the first process is gone.
"""

from __future__ import annotations

import logging
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from service.shared_counts import forget_process

LOOK_EACH_S: Final = 0.1
AGAIN_AFTER_S: Final = 1.0  # [ASSUMED] from one beginning to the next: what fails at once fails on
END_S: Final = 5.0  # [ASSUMED] from being told to end to being ended
PARENT: Final = "--parent"
LOG: Final = logging.getLogger("service.companions")


@dataclass(frozen=True, slots=True, kw_only=True)
class Companion:
    """A process beside the others: `python -m module --parent NUMBER`.

    `wanted`: asked while it does not run, whether it should. `given`: descriptors of this process
    by the number that they have in that one.
    """

    module: str
    wanted: Callable[[], bool] = lambda: True
    given: Mapping[int, int] = field(default_factory=dict)


class Companions:
    """Those of one server. `withheld`: descriptors that others must not keep open."""

    def __init__(
        self, companions: Sequence[Companion], *, withheld: Callable[[], Sequence[int]]
    ) -> None:
        self._companions, self._withheld = tuple(companions), withheld
        self._running: dict[str, int] = {}
        self._begun_s: dict[str, float] = {}
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._look_after, daemon=True)

    def start(self) -> None:
        """Begin to look after them."""
        self._thread.start()

    def stop(self) -> None:
        """End them, and wait until they have ended."""
        self._ended.set()
        self._thread.join()
        for number in self._running.values():
            _send(number, signal.SIGTERM)
        until_s = time.monotonic() + END_S
        while any(map(_runs, self._running.values())) and time.monotonic() < until_s:
            time.sleep(LOOK_EACH_S / 4)
        for number in self._running.values():
            _send(number, signal.SIGKILL)

    def _look_after(self) -> None:
        while not self._ended.wait(LOOK_EACH_S):
            for each in self._companions:
                self._look(each)

    def _look(self, companion: Companion) -> None:
        name, now_s = companion.module, time.monotonic()
        number = self._running.get(name)
        if number is not None:
            if _runs(number):
                return
            del self._running[name]
            forget_process(number)
            LOG.warning("companion ended", extra={"fields": {"module": name, "process": number}})
        if now_s >= self._begun_s.get(name, 0.0) + AGAIN_AFTER_S and companion.wanted():
            self._begun_s[name] = now_s
            self._running[name] = self._spawned(companion)

    def _spawned(self, companion: Companion) -> int:
        closed = [(os.POSIX_SPAWN_CLOSE, each) for each in self._withheld()]
        given = [(os.POSIX_SPAWN_DUP2, ours, theirs) for theirs, ours in companion.given.items()]
        command = (sys.executable, "-m", companion.module, PARENT, str(os.getpid()))
        return os.posix_spawn(
            sys.executable, command, os.environ, file_actions=(*closed, *given), setsigmask=()
        )


def parent_in(arguments: Sequence[str]) -> int:
    """The number of the process that began this one, from its command line. Raises: ValueError."""
    if len(arguments) != 2 or arguments[0] != PARENT:  # noqa: PLR2004 - the word and the number
        raise ValueError(f"{PARENT} NUMBER: it is begun by the server")
    return int(arguments[1])


def is_orphan(parent: int) -> bool:
    """Whether the process that began this one is gone."""
    return os.getppid() != parent


def _runs(number: int) -> bool:
    """Whether a child runs; one that has ended leaves its entry, here or in the server's loop."""
    try:
        return os.waitpid(number, os.WNOHANG) == (0, 0)
    except ChildProcessError:
        return False


def _send(number: int, what: signal.Signals) -> None:
    """Send a signal to a child, if it still is one."""
    if _runs(number):
        os.kill(number, what)
