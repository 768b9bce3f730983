"""How often somebody may call: a bucket of tokens for each name, in this process alone."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Final

SECONDS_PER_MINUTE: Final = 60.0
MOST_NAMES: Final = 4_096  # [ASSUMED] more than a service has callers at a time
Seconds = Callable[[], float]


class Buckets:
    """For each name a bucket that holds the calls of a minute and fills evenly.

    Of more names than are remembered, the one that has been quiet longest begins anew.
    """

    def __init__(self, per_minute: int, *, seconds: Seconds) -> None:
        self._most, self._seconds = float(per_minute), seconds
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._lock = threading.Lock()

    def wait_s(self, name: str) -> float:
        """Take a token; 0, or how long it takes until there is one again."""
        if not self._most:
            return 0.0
        now_s, per_s = self._seconds(), self._most / SECONDS_PER_MINUTE
        with self._lock:
            left, at_s = self._left.pop(name, (self._most, now_s))
            left = min(self._most, left + (now_s - at_s) * per_s)
            taken = left >= 1
            self._left[name] = (left - taken, now_s)
            if len(self._left) > MOST_NAMES:
                self._left.popitem(last=False)
        return 0.0 if taken else (1 - left) / per_s
