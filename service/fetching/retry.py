"""Second tries of a call that may be repeated, with pauses that never outlast the deadline."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from service.fetching.deadline import FetchDeadline
from service.fetching.failure import FetchFailed

T = TypeVar("T")
Sleep = Callable[[float], None]
Chance = Callable[[], float]

TRIES: Final = 3  # [ASSUMED]
FIRST_PAUSE_S: Final = 0.2  # [ASSUMED] doubled each time; a random part of it is waited
LONGEST_PAUSE_S: Final = 2.0  # [ASSUMED] a source that asks for more is not waited for


def with_retries(
    call: Callable[[], T], *, deadline: FetchDeadline, sleep: Sleep, chance: Chance
) -> T:
    """The result of the first try that has one. Raises: FetchFailed of the last try."""
    for number in range(TRIES - 1):
        try:
            return call()
        except FetchFailed as failure:
            pause_s = failure.retry_after_s + chance() * FIRST_PAUSE_S * 2**number
            if not failure.transient or not _worth(pause_s, deadline):
                raise
        sleep(pause_s)
    return call()


def _worth(pause_s: float, deadline: FetchDeadline) -> bool:
    return pause_s <= LONGEST_PAUSE_S and pause_s < deadline.left_s()
