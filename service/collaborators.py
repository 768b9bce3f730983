"""Everything a route may reach for, made once by `create_app` and handed to each blueprint."""

from __future__ import annotations

from dataclasses import dataclass

from decision.case import Library
from service.bounds import Turnstile
from service.clock import Clock, Entropy
from service.door.door import Door
from service.engine import Engine
from service.fetching.fetcher import Fetcher
from service.lines import BatchLimits
from service.many import Crew
from service.metrics import Metrics
from service.store import DecisionLog
from service.store.watching import SqlWatches


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchDesk:
    """Decisions under watch, how many may be open at once, and where events may be sent to."""

    kept: SqlWatches
    most: int
    webhook_hosts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Collaborators:
    """The outside of the routes."""

    engine: Engine
    library: Library
    log: DecisionLog
    door: Door
    clock: Clock
    entropy: Entropy
    fetcher: Fetcher | None
    metrics: Metrics
    batch: BatchLimits
    crew: Crew | None
    gate: Turnstile
    watches: WatchDesk
