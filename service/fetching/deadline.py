"""One budget of time for everything that a decision waits for outside."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

from service.fetching.failure import FetchFailed

Monotonic = Callable[[], float]
SHORTEST_S: Final = 0.001  # a socket takes a time-out of nothing for 'do not wait'


class FetchDeadline:
    """A moment of a monotonic clock; connecting, reading, tries and pauses all draw on it."""

    def __init__(self, *, total_s: float, monotonic: Monotonic = time.monotonic) -> None:
        self.total_s, self._monotonic = total_s, monotonic
        self._ends_s = monotonic() + total_s

    def left_s(self) -> float:
        """Seconds left; 0 when it is over."""
        return max(0.0, self._ends_s - self._monotonic())

    def shorten(self, most_s: float) -> None:
        """Let no more than some seconds be left."""
        self._ends_s = min(self._ends_s, self._monotonic() + most_s)

    @property
    def is_over(self) -> bool:
        """Whether so little is left that no socket would wait for it."""
        return self.left_s() < SHORTEST_S

    def require_s(self) -> float:
        """Seconds left. Raises: FetchFailed when it is over."""
        if self.is_over:
            raise self.over()
        return max(self.left_s(), SHORTEST_S)

    def over(self) -> FetchFailed:
        """The failure of not having been answered in time."""
        return FetchFailed(f"the source did not answer within {self.total_s:g} s")
