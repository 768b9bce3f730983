"""Sending what is in the outbox: what is due, at once; what was not taken, again and again.

One thread has to do with the store: it claims rows, and writes what came of tries in the same
transaction. Others send. A receiver that fails is tried by one of them at a time until it takes
something, so that it holds up nobody else.
"""

from __future__ import annotations

import logging
import random
import threading
import time
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from sqlalchemy import Engine

from service.clock import Clock, utc_now
from service.fetching.retry import Chance
from service.settings import Settings
from service.store.events import Sending
from service.store.outbox import SendingDone, SqlOutbox, ToSend
from service.store.owners import Owners
from service.store.port import StoreUnavailable
from service.store.webhook_secrets import KeptSecret, SqlWebhookSecrets

if TYPE_CHECKING:
    from service.webhooks.counting import DeliveryCounts
    from service.webhooks.sending import OneTry, Sender
    from service.webhooks.vault import Vault

SENDERS: Final = 32  # [ASSUMED] threads; they wait for receivers nearly all of their time
OF_ONE_HOST: Final = 16  # [ASSUMED] of them
POLL_S: Final = 0.2
AWAY_S: Final = 1.0  # between looks at a store that is away
COUNT_EACH_S: Final = 5.0
FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 600.0
SPREAD: Final = (0.8, 1.2)  # [ASSUMED] of a pause, so that not all come back together
GIVEN_UP_AFTER: Final = timedelta(hours=24)
TAKEN_BACK: Final = "its secret signs no more"
CLOSED: Final = "its secret cannot be read: APPROACH_WEBHOOK_KEY is not what it was kept under"
OUR_FAULT: Final = "the service failed to send it; its log has the cause"
LOG: Final = logging.getLogger("service.webhooks")
CHANCE: Final = random.SystemRandom().random


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ended:
    """A try that has ended."""

    row: ToSend
    tried: OneTry


class Deliverer:
    """Sends for one process, in threads of its own, between `start` and `stop`."""

    def __init__(
        self,
        *,
        outbox: SqlOutbox,
        secrets: SqlWebhookSecrets,
        owners: Owners,
        vault: Vault,
        sender: Sender,
        counts: DeliveryCounts,
        clock: Clock = utc_now,
        chance: Chance = CHANCE,
    ) -> None:
        self._outbox, self._secrets, self._owners = outbox, secrets, owners
        self._vault, self._sender, self._counts = vault, sender, counts
        self._clock, self._chance = clock, chance
        self._ended: SimpleQueue[_Ended] = SimpleQueue()
        self._done: list[SendingDone] = []  # not written yet
        self._sending: dict[str, str] = {}  # host by event
        self._ailing: set[str] = set()  # hosts whose last try came to nothing
        self._stirred, self._stopped = threading.Event(), threading.Event()
        self._counted_s = float("-inf")
        self._pool = ThreadPoolExecutor(SENDERS, thread_name_prefix="sender")
        self._thread = threading.Thread(target=self._run, name="deliverer", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def wake(self) -> None:
        """There may be something new: look at once."""
        self._stirred.set()

    def stop(self) -> None:
        """End: tries that have begun end, nothing more begins."""
        self._stopped.set()
        self._stirred.set()
        self._thread.join()
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._gather()
        with suppress(StoreUnavailable):  # who comes next takes over
            self._outbox.release(self._done, owner=self._owners.me())
        self._sender.close()

    def _run(self) -> None:
        while not self._stopped.is_set():
            self._stirred.clear()
            try:
                busy = self._round()
            except StoreUnavailable as error:
                LOG.warning("store unavailable", extra={"fields": {"error": str(error)}})
                self._stopped.wait(AWAY_S)
                continue
            except Exception:  # whatever it was: what is to be sent is to be sent
                LOG.exception("a round of deliveries failed")
                self._stopped.wait(AWAY_S)
                continue
            if not busy:
                self._stirred.wait(POLL_S)

    def _round(self) -> bool:
        """Write what has ended, and begin what is due; whether anything was begun."""
        self._count()
        self._gather()
        at = self._clock()
        has_room = len(self._sending) < SENDERS
        if not self._done and not (has_room and self._outbox.is_due(at=at)):
            return False
        done = tuple(self._done)
        rows = self._outbox.exchange(
            done,
            owner=self._owners.me(),
            at=at,
            held=tuple(self._sending),
            choose=self._chosen,
        )
        del self._done[: len(done)]
        self._begin(rows, at)
        return bool(rows)

    def _gather(self) -> None:
        """Take in what has ended since."""
        with suppress(Empty):
            while True:
                ended = self._ended.get_nowait()
                host = self._sending.pop(ended.row.event_id)
                (self._ailing.discard if ended.tried.is_taken else self._ailing.add)(host)
                self._done.append(done_by(ended.row, ended.tried, chance=self._chance))
                self._tell(ended)

    def _chosen(self, due: Sequence[tuple[str, str]]) -> Collection[str]:
        """The first of those that are due, as many as there are senders, not too many of a host."""
        room, busy = SENDERS - len(self._sending), Counter(self._sending.values())
        chosen: list[str] = []
        for event_id, url in due:
            host = _host(url)
            if len(chosen) < room and busy[host] < (1 if host in self._ailing else OF_ONE_HOST):
                busy[host] += 1
                chosen.append(event_id)
        return chosen

    def _begin(self, rows: Sequence[ToSend], at: datetime) -> None:
        """Send rows, each in a thread."""
        if not rows:
            return
        signing = self._signing({row.secret_id for row in rows}, at)
        for row in rows:
            self._sending[row.event_id] = _host(row.url)
            self._pool.submit(self._send, row, signing.get(row.secret_id, ()))

    def _signing(self, ids: Collection[str], at: datetime) -> Mapping[str, list[KeptSecret]]:
        """Versions that sign, by secret."""
        found: dict[str, list[KeptSecret]] = {}
        for each in self._secrets.signing(ids, at=at):
            found.setdefault(each.secret_id, []).append(each)
        return found

    def _send(self, row: ToSend, secrets: Sequence[KeptSecret]) -> None:
        self._ended.put(_Ended(row=row, tried=self._tried(row, secrets)))
        self._stirred.set()

    def _tried(self, row: ToSend, secrets: Sequence[KeptSecret]) -> OneTry:
        from service.webhooks.sending import OneTry  # noqa: PLC0415 - loaded already
        from service.webhooks.vault import VaultClosed  # noqa: PLC0415

        if not secrets:
            return OneTry(at=self._clock(), status=None, why=TAKEN_BACK)
        try:
            keys = [self._vault.opened(each) for each in secrets]
            return self._sender.send(row.url, row.body.encode(), keys=keys)
        except VaultClosed:
            return OneTry(at=self._clock(), status=None, why=CLOSED)
        except Exception:
            LOG.exception("an event could not be sent")
            return OneTry(at=self._clock(), status=None, why=OUR_FAULT)

    def _tell(self, ended: _Ended) -> None:
        """One line; of the address only the host."""
        tried = ended.tried
        self._counts.tried(is_taken=tried.is_taken)
        fields = {
            "event_id": ended.row.event_id,
            "host": _host(ended.row.url),
            "try": ended.row.tries + 1,
            "status": tried.status,
            "why": tried.why,
        }
        LOG.log(
            logging.INFO if tried.is_taken else logging.WARNING, "webhook", extra={"fields": fields}
        )

    def _count(self) -> None:
        now_s = time.monotonic()
        if now_s - self._counted_s >= COUNT_EACH_S:
            self._counted_s = now_s
            self._counts.saw(self._outbox.count())


def opened_deliverer(
    settings: Settings, engine: Engine, owners: Owners, *, clock: Clock = utc_now
) -> Deliverer | None:
    """What sends, as the settings have it; None where nothing may be sent."""
    if not (settings.webhook_hosts and settings.webhook_key):
        return None
    # What encrypts and speaks TLS is loaded where something is to be sent, and nowhere else.
    from service.webhooks.counting import DeliveryCounts  # noqa: PLC0415
    from service.webhooks.sending import Sender  # noqa: PLC0415
    from service.webhooks.vault import Vault  # noqa: PLC0415

    return Deliverer(
        outbox=SqlOutbox(engine, owners),
        secrets=SqlWebhookSecrets(engine),
        owners=owners,
        vault=Vault(settings.webhook_key),
        sender=Sender(hosts=settings.webhook_hosts, clock=clock),
        counts=DeliveryCounts(),
        clock=clock,
    )


def done_by(row: ToSend, tried: OneTry, *, chance: Chance) -> SendingDone:
    """What a try comes to: sent, to be tried again, or given up."""
    tries = row.tries + 1
    ends_at = datetime.fromisoformat(row.first_at) + GIVEN_UP_AFTER
    next_at = min(tried.at + timedelta(seconds=pause_s(tries, chance=chance)), ends_at)
    over = tried.at >= ends_at or tried.why == TAKEN_BACK
    again = Sending.FAILED if over else Sending.WAITING
    return SendingDone(
        event_id=row.event_id,
        state=Sending.SENT if tried.is_taken else again,
        tries=tries,
        at=tried.at,
        next_at=next_at,
        status=tried.status,
        why=tried.why,
    )


def pause_s(tries: int, *, chance: Chance) -> float:
    """How long to wait after so many tries: doubled each time, from a second to ten minutes."""
    low, high = SPREAD
    doubled_s = FIRST_PAUSE_S * 2.0 ** min(tries - 1, 16)
    spread_s = min(doubled_s, LONGEST_PAUSE_S) * (low + (high - low) * chance())
    return min(max(spread_s, FIRST_PAUSE_S), LONGEST_PAUSE_S)


def _host(url: str) -> str:
    return urlsplit(url).netloc.lower()
