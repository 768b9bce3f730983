"""Leaves a source alone that keeps failing, and lets one call through to see whether it is back."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from typing import Final

from service.fetching.deadline import Monotonic
from service.fetching.failure import FetchFailed

FAILURES_TO_OPEN: Final = 3  # [ASSUMED] in a row
OPEN_S: Final = 30.0  # [ASSUMED] between probes


class BreakerState(StrEnum):
    """Whether calls go through: all, none, or one to probe."""

    CLOSED = "closed"
    OPEN = "open"
    HALF_OPEN = "half_open"


class Breaker:
    """Of one source, for all threads of a process.

    A call that began before the breaker opened has no say in when it closes: only the probe has.
    """

    def __init__(self, *, monotonic: Monotonic = time.monotonic) -> None:
        self._monotonic = monotonic
        self._lock = threading.Lock()
        self._state = BreakerState.CLOSED
        self._failures = 0
        self._probe_at_s = 0.0

    @property
    def state(self) -> BreakerState:
        """The state as of the last call."""
        return self._state

    @contextmanager
    def guard(self) -> Iterator[None]:
        """Make a call and learn from it. Raises: FetchFailed at once when it must not be made."""
        is_probe = self._enter()
        try:
            yield
        except BaseException:  # whatever it was: a probe that is never settled would block for ever
            self._settle(is_probe=is_probe, failed=True)
            raise
        self._settle(is_probe=is_probe, failed=False)

    def _enter(self) -> bool:
        with self._lock:
            if self._state is BreakerState.CLOSED:
                return False
            if self._state is BreakerState.HALF_OPEN or self._monotonic() < self._probe_at_s:
                raise FetchFailed("the source has failed repeatedly and is left alone for a while")
            self._state = BreakerState.HALF_OPEN
            return True

    def _settle(self, *, is_probe: bool, failed: bool) -> None:
        with self._lock:
            if not is_probe and self._state is not BreakerState.CLOSED:
                return
            self._failures = self._failures + 1 if failed else 0
            self._state = BreakerState.CLOSED
            if failed and (is_probe or self._failures >= FAILURES_TO_OPEN):
                self._state = BreakerState.OPEN
                self._probe_at_s = self._monotonic() + OPEN_S
