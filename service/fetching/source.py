"""The configured source: one call for several stations, from the template to what was read."""

from __future__ import annotations

import logging
import random
import time
from collections.abc import Sequence
from typing import Final

from decision.case import Lack, ReportClass
from service.clock import Clock, utc_now
from service.fetching.breaker import Breaker
from service.fetching.deadline import FetchDeadline, Monotonic
from service.fetching.failure import FetchFailed
from service.fetching.reading import FetchedReading, read
from service.fetching.retry import Chance, Sleep, with_retries
from service.fetching.template import Template
from service.fetching.transport import Transport
from service.spans import span

LOG: Final = logging.getLogger("service.fetching")
KIND_WORDS: Final = {ReportClass.OBSERVATION: "metar", ReportClass.FORECAST: "taf"}
CHANCE: Final = random.SystemRandom().random
MS_PER_S: Final = 1_000
LINES_SHOWN: Final = 3
LINE_LENGTH: Final = 60


class ReportSource:
    """A source of reports; may be used by several threads at once."""

    def __init__(
        self,
        template: Template,
        transport: Transport,
        *,
        clock: Clock = utc_now,
        monotonic: Monotonic = time.monotonic,
        sleep: Sleep = time.sleep,
        chance: Chance = CHANCE,
    ) -> None:
        self.template, self._transport = template, transport
        self._clock, self._monotonic, self._sleep, self._chance = clock, monotonic, sleep, chance
        self.breaker = Breaker(monotonic=monotonic)

    def ask(self, asked: Sequence[Lack], *, deadline: FetchDeadline) -> FetchedReading:
        """What the source has of the things asked for, in one call. Raises: FetchFailed.

        All of one kind, if the template tells the kinds apart.
        """
        stations = tuple(dict.fromkeys(each.icao for each in asked))
        address = self.template.address(stations=stations, kind=KIND_WORDS[asked[0].kind])
        started_s = self._monotonic()
        try:
            content = self._content(address, deadline)
        except FetchFailed as failure:
            self._log(stations, failure.reason, started_s)
            raise
        reading = read(content, asked=self._answered_by(asked), received_at=self._clock())
        self._log(stations, "answered", started_s, reading.set_aside)
        return reading

    def _answered_by(self, asked: Sequence[Lack]) -> Sequence[Lack]:
        """What the answer is good for: both kinds, if the template does not tell them apart."""
        if self.template.by_kind:
            return asked
        return [Lack(icao=each.icao, kind=kind) for each in asked for kind in KIND_WORDS]

    def _content(self, address: str, deadline: FetchDeadline) -> bytes:
        with span("fetch"), self.breaker.guard():
            return with_retries(
                lambda: self._transport.get(address, deadline=deadline),
                deadline=deadline,
                sleep=self._sleep,
                chance=self._chance,
            )

    def close(self) -> None:
        """Give the connections back."""
        self._transport.close()

    def _log(
        self, stations: Sequence[str], outcome: str, started_s: float, set_aside: Sequence[str] = ()
    ) -> None:
        """One line; of the address only the host, of foreign text only a harmless beginning."""
        shown = (self.template.without_secrets(each) for each in set_aside[:LINES_SHOWN])
        fields = {
            "host": self.template.host,
            "stations": list(stations),
            "outcome": outcome,
            "ms": round((self._monotonic() - started_s) * MS_PER_S, 1),
            "breaker": self.breaker.state,
            "set_aside": len(set_aside),
            "set_aside_first": [each[:LINE_LENGTH] for each in shown],
        }
        LOG.info("weather.fetch", extra={"fields": fields})
