"""A cluster of dask works on the parts (the extra `dask`); nothing else imports this module."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from typing import Final

from distributed import Client, as_completed

from service.sweeps.engines import Done, Engine
from service.sweeps.part import SweepPart, decide_part

AHEAD: Final = 4  # parts on their way for each thread of a cluster: the next are there already
CONNECT_S: Final = 30


@contextmanager
def at(address: str) -> Iterator[Engine]:
    """The cluster whose scheduler is at an address. Raises: OSError where there is none."""
    with Client(address, timeout=CONNECT_S) as client:
        yield partial(on_cluster, client=client)


def on_cluster(parts: Iterable[SweepPart], *, client: Client) -> Done:
    """On the workers of a cluster of dask. What was with a worker that died goes to another.

    Raises: what the library does where parts cannot be worked on (`KilledWorker`).
    """
    asked = iter(parts)
    on_the_way = {}
    running = as_completed(with_results=True)

    def send() -> None:
        part = next(asked, None)
        if part is not None:
            future = client.submit(decide_part, part, key=f"part-{part.digest}", pure=True)
            on_the_way[future.key] = part
            running.add(future)

    try:
        for _ in range(AHEAD * max(1, sum(client.nthreads().values()))):
            send()
        for future, done in running:
            yield on_the_way.pop(future.key), done
            future.release()
            send()
    finally:
        client.cancel(list(on_the_way))
