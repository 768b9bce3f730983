"""Events written into a real store, and callers who read them from a stream."""

from __future__ import annotations

import itertools
import json
import socket
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import TracebackType
from urllib.parse import urlencode

from sqlalchemy import Engine, insert

from service.clock import rfc3339
from service.store.engines import engine_for, writing
from service.store.events import NewEvent, SendFirst, write_events
from service.store.tables import WATCHES

NUMBERS = itertools.count(1)
PATIENCE_S = 20.0


@contextmanager
def store_of(address: str) -> Iterator[Engine]:
    """The engine of a store that is there."""
    engine = engine_for(address, timeout_s=5)
    try:
        yield engine
    finally:
        engine.dispose()


def written(engine: Engine, *, flight: str = "XA 101", watch: str = "w-1", size: int = 0) -> str:
    """Write one event; its id."""
    return write_many(engine, 1, flight=flight, watch=watch, size=size)[0]


def write_many(
    engine: Engine,
    number: int,
    *,
    flight: str = "XA 101",
    watch: str = "w-1",
    size: int = 0,
    at: datetime | None = None,
) -> list[str]:
    """Write some events in one transaction; their ids."""
    events = []
    for _ in range(number):
        name = f"event-{next(NUMBERS)}"
        body = json.dumps({"event_id": name, "filling": "x" * size})
        events.append(
            NewEvent(
                event_id=name,
                at=datetime.now(UTC) if at is None else at,
                watch_id=watch,
                flight_id=flight,
                kind="changed",
                body=body,
                urgency=SendFirst.OTHER,
            )
        )
    with writing(engine) as connection:
        write_events(connection, events)
    return [each.event_id for each in events]


def watched(engine: Engine, watch: str, *, flight: str, ended: bool = False) -> None:
    """Put a watch into the store, as whoever looks after watches does."""
    now = rfc3339(datetime.now(UTC))
    with writing(engine) as connection:
        connection.execute(
            insert(WATCHES).values(
                watch_id=watch,
                decision_id=f"decision-of-{watch}",
                flight_id=flight,
                caller="",
                created_at=now,
                until_at=now,
                due_because="begun",
                standing=json.dumps({"verdict": "GO"}),
                request_digest="",
                ended_at=now if ended else None,
                ended_because="deleted" if ended else None,
            )
        )


@dataclass(frozen=True, kw_only=True)
class Block:
    """What stands between two empty lines; a comment is a field without a name."""

    fields: tuple[tuple[str, str], ...]

    def get(self, name: str) -> str | None:
        """All lines of a field, as one text."""
        found = [value for each, value in self.fields if each == name]
        return "\n".join(found) if found else None

    @property
    def is_event(self) -> bool:
        """Whether a browser would tell it."""
        return self.get("data") is not None


@dataclass
class Listener:
    """A caller who reads a stream block by block, and knows the id that it was told last."""

    connection: socket.socket
    head: str = ""
    last_id: str | None = None
    _rest: bytes = field(default=b"", repr=False)

    @classmethod
    def at(
        cls,
        port: int,
        query: Mapping[str, str | Sequence[str]],
        *,
        last_id: str | None = None,
    ) -> Listener:
        """One who has asked, and was answered."""
        named = {"Host": "x", "Accept": "text/event-stream"}
        if last_id is not None:
            named["Last-Event-ID"] = last_id
        asked = urlencode(query, doseq=True)
        lines = [f"GET /v1/events?{asked} HTTP/1.1", *(f"{n}: {v}" for n, v in named.items())]
        connection = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S)
        connection.sendall("\r\n".join([*lines, "", ""]).encode())
        return cls.over(connection)

    @classmethod
    def over(cls, connection: socket.socket) -> Listener:
        """One who reads what comes over a connection."""
        made = cls(connection)
        made.head = made._until(b"\r\n\r\n").decode()
        return made

    def __enter__(self) -> Listener:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        where: TracebackType | None,
    ) -> None:
        self.connection.close()

    @property
    def status(self) -> int:
        """The status of the answer."""
        return int(self.head.split(" ")[1])

    def block(self) -> Block:
        """The next one. Raises: EOFError when the stream has ended."""
        lines = self._until(b"\n\n").decode().splitlines()
        found = Block(fields=tuple(_field(each) for each in lines))
        self.last_id = found.get("id") or self.last_id
        return found

    def event(self) -> Block:
        """The next that is an event."""
        while not (found := self.block()).is_event:
            pass
        return found

    def ids(self, number: int) -> list[str]:
        """The ids in the bodies of the next events."""
        return [json.loads(self.event().get("data") or "")["event_id"] for _ in range(number)]

    def begun(self) -> Listener:
        """The same, when it has been told from where on it is told."""
        while self.last_id is None:
            self.block()
        return self

    def ends(self, *, within_s: float = PATIENCE_S) -> float:
        """Read on until the other side has ended it; how long that took."""
        begun_s = time.monotonic()
        self.connection.settimeout(within_s)
        try:
            while True:
                self.block()
        except (EOFError, ConnectionError):
            return time.monotonic() - begun_s

    def _until(self, end: bytes) -> bytes:
        while end not in self._rest:
            came = self.connection.recv(65_536)
            if not came:
                raise EOFError
            self._rest += came
        found, _, self._rest = self._rest.partition(end)
        return found


def _field(line: str) -> tuple[str, str]:
    name, _, value = line.partition(":")
    return name, value.removeprefix(" ")
