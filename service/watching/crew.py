"""Processes that look at watches: each reads what it needs, decides, and writes what came of it.

They are started afresh (spawn), so they share no lock, connection or thread with whoever shares
the work out, and end when that ends. When one of them dies all end: what they had is taken over at
once by whoever shares the work out next.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from sqlalchemy import Engine

from service.aerodromes.folder import library_from
from service.engine import installed_engine
from service.observing import log_to
from service.store.chain import Sign, signing_with
from service.store.engines import engine_for
from service.store.leases import Settled, claimed, settle
from service.watching.look import Looker

PARENT_GONE: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewSettings:
    """What the processes are started with."""

    processes: int
    store: str
    store_timeout_s: int
    signing_key: str | None
    decision_cpu_s: int
    log_level: str
    aerodromes: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What came of looks: how many of each outcome; `lost`: the watch was no more the owner's."""

    outcomes: Counter[str]
    events: Counter[str]


class LookCrew:
    """The processes of one watcher."""

    def __init__(self, settings: CrewSettings) -> None:
        self._pool = ProcessPoolExecutor(
            settings.processes,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=_begin,
            initargs=(settings,),
        )
        for _ in range(settings.processes):  # all of them load before there is any work
            self._pool.submit(os.getpid)

    def look(self, ids: Sequence[str], *, owner: str) -> Future[Looked]:
        """Look at watches that the owner has. Its result may raise StoreUnavailable."""
        return self._pool.submit(_look, tuple(ids), owner)

    def close(self) -> None:
        """Wait for what is on its way, and end the processes."""
        self._pool.shutdown(cancel_futures=True)


# --- in a process of the crew ---


@dataclass(frozen=True, slots=True, kw_only=True)
class _Desk:
    """What a process keeps from look to look."""

    store: Engine
    sign: Sign | None
    looker: Looker


_settings: CrewSettings | None = None


@cache
def _desk() -> _Desk:
    assert _settings is not None  # noqa: S101 - set at its beginning
    library = library_from(_settings.aerodromes)
    return _Desk(
        store=engine_for(_settings.store, timeout_s=_settings.store_timeout_s),
        sign=signing_with(_settings.signing_key),
        looker=Looker(
            engine=installed_engine(library, seconds=_settings.decision_cpu_s), library=library
        ),
    )


def _begin(settings: CrewSettings) -> None:
    """Load the data before the first look; leave signals to the watcher; end when it has ended."""
    global _settings  # noqa: PLW0603 - a process has one
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    log_to(level=settings.log_level)
    _settings = settings
    _desk()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(PARENT_GONE)


def _look(ids: Sequence[str], owner: str) -> Looked:
    return look_at(ids, owner=owner, store=_desk().store, sign=_desk().sign, looker=_desk().looker)


def look_at(
    ids: Sequence[str], *, owner: str, store: Engine, sign: Sign | None, looker: Looker
) -> Looked:
    """Look at watches that the owner has, and write what has come of it in one transaction.

    Raises: StoreUnavailable.
    """
    settled = [looker.look(each) for each in claimed(store, ids, owner=owner)]
    written = settle(store, settled, owner=owner, sign=sign) if settled else frozenset()
    outcomes = Counter(_outcome(each) if each.watch_id in written else "lost" for each in settled)
    if len(settled) < len(ids):
        outcomes["lost"] += len(ids) - len(settled)
    events = Counter(
        each.event.kind for each in settled if each.event is not None and each.watch_id in written
    )
    return Looked(outcomes=outcomes, events=events)


def _outcome(settled: Settled) -> str:
    if settled.ended is not None:
        return "ended"
    if settled.failure is not None:
        return "failed"
    return "recorded" if settled.decisions else "same"
