"""What came from the source, by station and kind: bounded, the longest unused goes first."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from decision.case import Lack
from service.fetching.cadence import CADENCES

CAPACITY: Final = 4_096  # [ASSUMED] stations and kinds; a few kilobytes each at the very most


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Raw reports and when the source gave them."""

    reports: tuple[str, ...]
    at: datetime


class Cache:
    """For all threads of a process. An entry from the future (a clock set back) is never used."""

    def __init__(self, *, capacity: int = CAPACITY) -> None:
        self._capacity = capacity
        self._lock = threading.Lock()
        self._entries: OrderedDict[Lack, Entry] = OrderedDict()

    def __len__(self) -> int:
        return len(self._entries)

    def put(self, key: Lack, entry: Entry) -> None:
        """Keep what came."""
        with self._lock:
            self._entries[key] = entry
            self._entries.move_to_end(key)
            if len(self._entries) > self._capacity:
                self._entries.popitem(last=False)

    def fresh(self, key: Lack, *, now: datetime) -> Entry | None:
        """What came and need not be looked for again yet."""
        entry = self._get(key)
        if entry is not None and entry.at <= now < CADENCES[key.kind].fresh_until(entry.at):
            return entry
        return None

    def stale(self, key: Lack, *, now: datetime) -> Entry | None:
        """What came and is better than nothing when the source fails."""
        entry = self._get(key)
        if entry is not None and entry.at <= now <= entry.at + CADENCES[key.kind].useful_for:
            return entry
        return None

    def _get(self, key: Lack) -> Entry | None:
        with self._lock:
            if key in self._entries:
                self._entries.move_to_end(key)
            return self._entries.get(key)
