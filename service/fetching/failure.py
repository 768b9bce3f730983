"""Why a report could not be fetched."""

from __future__ import annotations


class FetchFailed(Exception):
    """One call of the source came to nothing.

    `reason` is for the crew: plain words, never an address, which may hold a key. `transient`: the
    same call may succeed a moment later. `retry_after_s`: for how long not to call again.
    """

    def __init__(self, reason: str, *, transient: bool = False, retry_after_s: float = 0.0) -> None:
        self.reason, self.transient, self.retry_after_s = reason, transient, retry_after_s
        super().__init__(reason)
