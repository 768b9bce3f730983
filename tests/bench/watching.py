"""How soon a worse verdict is delivered when one report touches every watch.

    python -m tests.bench.watching [--watches 500] [--worse N] [--rounds 3]

A real service with its watcher and its crew, on this machine, on a store of its own, and a receiver
of webhooks on loopback. Every watch is of a flight of its own with two alternates, and all of them
hear of the destination. One `POST /v1/reports` has fog for it: measured is the time from its 202 to
the moment at which the receiver has each event.

`--worse N`: only N of the watches, evenly among them, are of cases that the report changes; the
others stand at NO_GO already, and are looked at all the same.
"""

from __future__ import annotations

import argparse
import json
import os
import socket
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from decision.windows import instant_text
from service.store.engines import engine_for
from service.store.upkeep import bring_up_to_date
from service.store.webhook_secrets import SqlWebhookSecrets
from service.webhooks.vault import Vault, new_secret, new_vault_key
from tests.faults.running import Running, children_of, running
from tests.watch.running import fog, present, told, until_so
from tests.webhooks.receivers import Came, receiving, status

AIM_S: Final = 5.0
PATIENCE_S: Final = 120.0
CALM, ALREADY = "clean", "gear-stuck"
SECRET_ID: Final = "s-1"  # noqa: S105 - a name
REST_S: Final = 3.0  # from the last first look to the report
CHANGED: Final = "changed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Seconds from the 202 to the receiver, event by event, and what the service used for it."""

    took_s: tuple[float, ...]
    answer_s: float
    processor_s: float

    def at(self, share: float) -> float:
        """Within which time so much of them had come."""
        ordered = sorted(self.took_s)
        return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


class Arrivals:
    """When a worse verdict came to the receiver, watch by watch."""

    def __init__(self) -> None:
        self.at_s: dict[str, float] = {}
        self._taken = status(204)

    def __call__(self, connection: socket.socket, came: Came) -> None:
        """Note it, and take it."""
        now_s = time.monotonic()
        event = json.loads(came.body)
        if event["kind"] == CHANGED and event["worse"] and "verdict" in event["what"]:
            self.at_s.setdefault(event["watch_id"], now_s)
        self._taken(connection, came)


def begin(service: Running, count: int, *, worse: int, url: str) -> list[str]:
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
    webhook = {"url": url, "secret_id": SECRET_ID}
    ids = []
    for each in decided:
        body = {"decision_id": each["id"], "until": until, "webhook": webhook}
        begun = service.ask("/v1/watches", body)
        assert begun.status == 201, begun.content
        ids.append(begun.json()["id"])
    return ids


def measure(service: Running, arrivals: Arrivals, *, worse: int) -> Measured:
    """One report for all."""
    arrivals.at_s.clear()
    used_s = processor_s(service)
    answer = service.ask("/v1/reports", {"reports": [fog()]})
    begun_s = time.monotonic()
    assert answer.status == 202, answer.content
    until_so(lambda: len(arrivals.at_s) >= worse, seconds=PATIENCE_S)
    return Measured(
        took_s=tuple(each - begun_s for each in arrivals.at_s.values()),
        answer_s=answer.took_s,
        processor_s=processor_s(service) - used_s,
    )


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


def run(watches: int, worse: int) -> Measured:
    """One service, one round."""
    key, arrivals = new_vault_key(), Arrivals()
    with tempfile.TemporaryDirectory() as name, receiving(arrivals) as receiver:
        folder = Path(name)
        _keep_secret(f"sqlite:///{folder / 'decisions.sqlite3'}", key)
        settings = {
            "APPROACH_BATCH_PROCESSES": "2",
            "APPROACH_MOST_WATCHES": "10000",
            "APPROACH_STORE_TIMEOUT_S": "20",
            "APPROACH_WEBHOOK_HOSTS": "127.0.0.1",
            "APPROACH_WEBHOOK_KEY": key,
        }
        with running(folder, **settings) as service:
            ids = begin(service, watches, worse=worse, url=receiver.url)
            until_so(
                lambda: all(told(service, each)["looked"] for each in ids[-8:]), seconds=PATIENCE_S
            )
            time.sleep(REST_S)
            return measure(service, arrivals, worse=worse)


def _keep_secret(address: str, key: str) -> None:
    bring_up_to_date(address, timeout_s=5)
    store = engine_for(address, timeout_s=5)
    encrypted = Vault([key]).closed(new_secret(os.urandom))
    SqlWebhookSecrets(store).create(SECRET_ID, encrypted=encrypted, at=datetime.now(UTC))
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
            " processor time",
            flush=True,
        )
    print(f"median of the last: {statistics.median(lasts):.2f} s; aim {AIM_S:g} s")
    return 0 if statistics.median(lasts) <= AIM_S else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
