"""What one request may take of a server process: processor time, and how many dear ones at once."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Final

DEAR_INCLUDES: Final = frozenset({"flip_points", "ahead"})
MANY_ALTERNATES: Final = 5  # more of them cost as much as what is included
WAIT_S: Final = 2.0  # of a dear request for the one before it


class Overtime(Exception):
    """A decision took more processor time than it may; nothing is recorded."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        super().__init__(f"more than {seconds:g} s of processor time")


class Busy(Exception):
    """Enough dear requests are being worked on."""


def limit_of(seconds: float) -> Callable[[], None]:
    """What to call now and then from the thread that decides. Raises: Overtime."""
    started_s = time.thread_time()

    def heed() -> None:
        if time.thread_time() - started_s > seconds:
            raise Overtime(seconds)

    return heed


def is_dear(body: Mapping[str, object]) -> bool:
    """Whether a case asks for much more than an ordinary one."""
    include, alternates = body.get("include"), body.get("alternates")
    asked = {*include} & DEAR_INCLUDES if isinstance(include, list) else ()
    many = isinstance(alternates, list) and len(alternates) > MANY_ALTERNATES
    return bool(asked) or many or body.get("compare_rulebooks") is True


class Turnstile:
    """Lets so many dear requests in at a time, so that the others need not wait for them."""

    def __init__(self, at_once: int, *, wait_s: float = WAIT_S) -> None:
        self._places, self._wait_s = threading.BoundedSemaphore(at_once), wait_s

    @contextmanager
    def passed(self, body: Mapping[str, object]) -> Iterator[None]:
        """While it is decided. Raises: Busy if a dear one found no place in time."""
        if not is_dear(body):
            yield
            return
        if not self._places.acquire(timeout=self._wait_s):
            raise Busy
        try:
            yield
        finally:
            self._places.release()
