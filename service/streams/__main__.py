"""The process of streams: `python -m service.streams --parent NUMBER`, begun by the server."""

from __future__ import annotations

import asyncio
import logging
import os
import resource
import signal
import socket
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final

from prometheus_client import CollectorRegistry

from service.companions import is_orphan, parent_in
from service.gauges import streams_gauge
from service.observing import log_to
from service.settings import Settings, settings_from
from service.store.engines import engine_for
from service.store.journal import SqlJournal
from service.streams.hub import LOOK_EACH_S, Hub
from service.streams.link import CHILD_FD

READERS: Final = 2  # [ASSUMED] who catches up does not hold up who is live
OTHER_DESCRIPTORS: Final = 64  # of the store, the log, the loop, places
LOG: Final = logging.getLogger("service.streams")


def main(arguments: Sequence[str]) -> int:
    """Serve until told to end, or until the server is gone."""
    parent = parent_in(arguments)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # of a terminal: the server gets it too
    settings = settings_from(os.environ)
    log_to(level=settings.log_level)
    with socket.socket(fileno=CHILD_FD) as link:
        asyncio.run(_serve(link, settings, parent))
    return 0


async def _serve(link: socket.socket, settings: Settings, parent: int) -> None:
    loop, ended = asyncio.get_running_loop(), asyncio.Event()
    loop.add_signal_handler(signal.SIGTERM, ended.set)
    engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
    gauge = streams_gauge(CollectorRegistry())
    with ThreadPoolExecutor(READERS) as readers:
        hub = Hub(
            SqlJournal(engine),
            most=_within_descriptors(settings.event_streams),
            readers=readers,
            opened=gauge.set,
        )
        link.setblocking(False)
        loop.add_reader(link, hub.called, link)
        LOG.info("streams begin")
        following = loop.create_task(hub.follow())
        while not ended.is_set() and not following.done() and not is_orphan(parent):
            await asyncio.sleep(LOOK_EACH_S)
        loop.remove_reader(link)
        following.cancel()
        hub.close()
    engine.dispose()
    LOG.info("streams end")


def _within_descriptors(wanted: int) -> int:
    """How many streams there can be: each is a descriptor; as many are asked of the system."""
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    needed = wanted + OTHER_DESCRIPTORS
    most = needed if hard == resource.RLIM_INFINITY else min(needed, hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))
    if most < needed:
        LOG.warning("the system allows %s streams, not %s", most - OTHER_DESCRIPTORS, wanted)
    return most - OTHER_DESCRIPTORS


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
