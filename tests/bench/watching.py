"""How soon a worse verdict is told when one report touches every watch.

    python -m tests.bench.watching [--watches 500] [--worse N] [--rounds 3]

A real service with its watcher and its crew, on this machine, on a store of its own. Every watch is
of a flight of its own with two alternates, and all of them hear of the destination. One
`POST /v1/reports` has fog for it: what is measured is the time from its 202 to the moment at which
each event can be read from the store, and, with a receiver, to the first byte that it is sent.

`--worse N`: only N of the watches are of cases that the report changes; the others stand at NO_GO
already, and are looked at all the same.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine, func, select

from decision.windows import instant_text
from service.store.engines import engine_for, reading
from service.store.tables import EVENTS
from tests.faults.running import Running, children_of, running
from tests.watch.running import fog, present, told, until_so

AIM_S: Final = 5.0
PATIENCE_S: Final = 120.0
CALM, ALREADY = "clean", "gear-stuck"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Seconds from the 202 to each event, in the order in which they were written."""

    took_s: tuple[float, ...]
    answer_s: float
    processor_s: float  # of all processes of the service, until the last event

    def at(self, share: float) -> float:
        """Within which time so much of them was there."""
        ordered = sorted(self.took_s)
        return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def begin(service: Running, count: int, *, worse: int) -> list[str]:
    """That many watches, each of a flight of its own; their ids."""
    lines = []
    for number in range(count):
        is_worse = number * worse // count < (number + 1) * worse // count  # evenly among them
        case = present(CALM if is_worse else ALREADY, flight_id=f"WATCH {number}")
        lines.append(json.dumps(case))
    answer = service.ask(
        "/v1/decisions/batch?record=true",
        "\n".join(lines).encode(),
        headers={"Content-Type": "application/x-ndjson"},
        timeout_s=300,
    )
    assert answer.status == 200, answer.content[:500]
    decided = [json.loads(line) for line in answer.content.splitlines()][:-1]
    until = instant_text(datetime.now(UTC).replace(microsecond=0) + timedelta(hours=1))
    ids = []
    for each in decided:
        begun = service.ask("/v1/watches", {"decision_id": each["id"], "until": until})
        assert begun.status == 201, begun.content
        ids.append(begun.json()["id"])
    return ids


def settled(service: Running, ids: Sequence[str]) -> None:
    """Wait until every watch was looked at once."""
    until_so(
        lambda: all(told(service, each)["looked"] > 0 for each in ids[-8:]), seconds=PATIENCE_S
    )
    time.sleep(2.0)


def measure(service: Running, store: Engine, *, worse: int) -> Measured:
    """One report for all."""
    before, used_s = _events(store), processor_s(service)
    answer = service.ask("/v1/reports", {"reports": [fog()]})
    begun_s = time.monotonic()
    assert answer.status == 202, answer.content
    took: list[float] = []
    while len(took) < worse:
        if time.monotonic() - begun_s > PATIENCE_S:
            raise TimeoutError(f"{len(took)} of {worse} events came")
        new = _events(store) - before - len(took)
        took += [time.monotonic() - begun_s] * new
        time.sleep(0.01)
    used_s = processor_s(service) - used_s
    return Measured(took_s=tuple(took), answer_s=answer.took_s, processor_s=used_s)


def processor_s(service: Running) -> float:
    """Seconds of processor time that the processes of a service have used so far.

    On a machine that has other work as well it says what the service would take by itself.
    """
    ticks = 0
    for pid in _all_of(service.process.pid):
        try:
            stat = Path(f"/proc/{pid}/stat").read_text()
        except OSError:
            continue
        ticks += sum(map(int, stat.rpartition(")")[2].split()[11:13]))  # fields 14, 15
    return ticks / os.sysconf("SC_CLK_TCK")


def _all_of(pid: int) -> list[int]:
    return [pid, *(one for each in children_of(pid) for one in _all_of(each))]


def _events(store: Engine) -> int:
    with reading(store) as connection:
        return connection.scalar(select(func.max(EVENTS.c.sequence))) or 0


def run(watches: int, worse: int, **settings: str) -> Measured:
    """One service, one round."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        given: dict[str, Any] = {
            "APPROACH_BATCH_PROCESSES": "2",
            "APPROACH_MOST_WATCHES": "10000",
            "APPROACH_STORE_TIMEOUT_S": "20",
            **settings,
        }
        with running(folder, **given) as service:
            store = engine_for(f"sqlite:///{folder / 'decisions.sqlite3'}", timeout_s=20)
            try:
                settled(service, begin(service, watches, worse=worse))
                return measure(service, store, worse=worse)
            finally:
                store.dispose()


def main(arguments: Sequence[str]) -> int:
    """Measure, and tell."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.watching", description=__doc__)
    parser.add_argument("--watches", type=int, default=500)
    parser.add_argument("--worse", type=int)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args(arguments)
    worse = asked.watches if asked.worse is None else asked.worse
    lasts = []
    for _ in range(asked.rounds):
        found = run(asked.watches, worse)
        lasts.append(found.at(1.0))
        print(
            f"{worse} of {asked.watches} watches worse: first {found.at(0.0):.2f} s, half"
            f" {found.at(0.5):.2f} s, 99 % {found.at(0.99):.2f} s, last {found.at(1.0):.2f} s"
            f" after the 202, which took {found.answer_s:.2f} s; {found.processor_s:.1f} s of"
            " processor time"
        )
    print(f"median of the last: {statistics.median(lasts):.2f} s; aim {AIM_S:g} s")
    return 0 if statistics.median(lasts) <= AIM_S else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
