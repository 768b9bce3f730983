"""A service in this process, its store, and looks at watches that are done when a test says so."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy import Engine, select

from decision.case import installed_library
from service.app import create_app
from service.engine import installed_engine
from service.settings import settings_from
from service.store import SqlDecisionLog
from service.store.engines import engine_for, reading
from service.store.leases import claim
from service.store.owners import Owners, owners_for
from service.store.tables import EVENTS
from service.store.watching import SqlWatches
from service.watching.crew import Looked, look_at
from service.watching.look import Looker
from tests.case.builders import demo

START = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)  # the moment of the demo cases
FOG = "SPECI XKAL 140613Z 26004KT 0300 R27R/0300N FG VV001 08/08 Q1013"
FINE = "METAR XKAL 140612Z 26008KT 9999 FEW040 08/02 Q1013"


@dataclass(slots=True)
class Standing:
    """A clock that stands until it is put on."""

    at: datetime = START

    def __call__(self) -> datetime:
        return self.at

    def put_on(self, minutes: float) -> None:
        self.at += timedelta(minutes=minutes)


@dataclass(slots=True, kw_only=True)
class World:
    """What a test has at hand."""

    client: FlaskClient
    clock: Standing
    store: Engine
    owners: Owners
    looker: Looker
    owner: str = "process 1 1 nowhere"
    seen: list[Mapping[str, Any]] = field(default_factory=list)

    def decided(self, name: str = "clean", **changes: Any) -> Any:
        """A recorded decision."""
        answer = self.client.post("/v1/decisions", json=demo(name) | changes)
        assert answer.status_code == 201, answer.text
        return answer.get_json()

    def watched(self, name: str = "clean", *, hours: float = 2, **more: Any) -> Any:
        """A decision under watch, looked at once, without an event."""
        until = (self.clock() + timedelta(hours=hours)).isoformat().replace("+00:00", "Z")
        body = {"decision_id": self.decided(name)["id"], "until": until, **more}
        answer = self.client.post("/v1/watches", json=body)
        assert answer.status_code == 201, answer.text
        self.look()
        assert self.events() == []
        return answer.get_json()

    def report(self, *texts: str) -> Any:
        """Hand in reports; what has come of them."""
        answer = self.client.post("/v1/reports", json={"reports": texts})
        assert answer.status_code == 202, answer.text
        return answer.get_json()

    def claimed(self, *, owner: str | None = None) -> list[str]:
        """What is due, claimed."""
        who = self.owner if owner is None else owner
        return claim(self.store, self.owners, owner=who, at=self.clock(), limit=100)

    def look(self) -> Counter[str]:
        """Look at all that is due; how many of each outcome."""
        return self.look_at(self.claimed()).outcomes

    def look_at(self, ids: list[str], *, owner: str | None = None) -> Looked:
        """Look at watches that were claimed."""
        who = self.owner if owner is None else owner
        return look_at(ids, owner=who, store=self.store, sign=None, looker=self.looker)

    def watch(self, identity: str) -> Any:
        """A watch as it is told."""
        return self.client.get(f"/v1/watches/{identity}").get_json()

    def events(self) -> list[Any]:
        """The events that were written since the last time they were asked for."""
        with reading(self.store) as connection:
            found = connection.scalars(select(EVENTS.c.body).order_by(EVENTS.c.sequence)).all()
        new = [json.loads(each) for each in found][len(self.seen) :]
        self.seen += new
        return new


@contextmanager
def opened(address: str, *, most_watches: int = 1000, **more: str) -> Iterator[World]:
    """A service on a store, and looks with the real engine."""
    clock = Standing()
    settings = settings_from(
        {
            "APPROACH_STORE": address,
            "APPROACH_BATCH_PROCESSES": "1",
            "APPROACH_MOST_WATCHES": str(most_watches),
            **more,
        }
    )
    log = SqlDecisionLog.open(address, timeout_s=5)
    store = engine_for(address, timeout_s=5)
    app = create_app(settings, clock=clock, log=log, watches=SqlWatches(store))
    owners = owners_for(store)
    library = installed_library()
    looker = Looker(engine=installed_engine(library), library=library, clock=clock)
    try:
        yield World(
            client=app.test_client(), clock=clock, store=store, owners=owners, looker=looker
        )
    finally:
        owners.close()
        store.dispose()
        log.close()
