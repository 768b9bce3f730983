"""All streams, in one loop: who has asked, what each has been told, who is too slow.

A stream is either live, then it is told what the one reader of the store finds, as all others are;
or it catches up, then it is told page by page what it missed, as quickly as it reads. Who does not
read as quickly as there is news goes back to catching up, so that what waits for one caller has a
bound; who reads nothing for a while is closed, and can come back with the id that it was told last.
"""

from __future__ import annotations

import asyncio
import logging
import random
import socket
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor
from functools import partial
from typing import Any, Final, TypeVar

from service.store.journal import SqlJournal, WatchEvent
from service.store.port import StoreDamaged, StoreUnavailable
from service.streams.link import Room, StreamAsked, asked_over, connection_over
from service.streams.wire import (
    RESET,
    event_block,
    heartbeat_block,
    opening_block,
    sequence_in,
)

LOOK_EACH_S: Final = 0.2
HEARTBEAT_S: Final = 15.0  # [ASSUMED] below the time after which proxies close what is silent
LONGEST_S: Final = 900.0  # [ASSUMED] then the caller comes back, and its key is looked at again
SPREAD: Final = 0.8  # of that at least, so that those who came together do not come back together
STALLED_S: Final = 30.0  # [ASSUMED] as long as an answer waits for its caller
PLACE_S: Final = 10.0  # [ASSUMED] from a place to its connection
BLIND_S: Final = 15.0  # [ASSUMED] without the store; then silence would be taken for no news
PAGE: Final = 200
WAITING_BYTES: Final = 262_144  # [ASSUMED] for one caller, beside what the system takes
SENT_BYTES: Final = 65_536  # [ASSUMED] by a caller who has nothing more to say
UNREADABLE: Final = (StoreUnavailable, StoreDamaged)
LOG: Final = logging.getLogger("service.streams")
CHANCE: Final = random.SystemRandom().random
_T = TypeVar("_T")


class Stream(asyncio.Protocol):
    """One connection, as far as it was told."""

    def __init__(self, asked: StreamAsked, *, ended: Callable[[Stream], None]) -> None:
        self.asked, self._ended = asked, ended
        self.position = 0
        self.ends_s = self.wrote_s = 0.0
        self.task: asyncio.Task[None] | None = None
        self._transport: asyncio.Transport | None = None
        self._room = asyncio.Event()
        self._room.set()
        self._sent_bytes = 0

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """It is ours now."""
        assert isinstance(transport, asyncio.Transport)  # noqa: S101 - of a socket
        transport.set_write_buffer_limits(high=WAITING_BYTES)
        self._transport = transport

    def data_received(self, data: bytes) -> None:
        """Nothing is expected; who sends on and on is cut off."""
        self._sent_bytes += len(data)
        if self._sent_bytes > SENT_BYTES:
            self.abort()

    def pause_writing(self) -> None:
        """The caller reads too slowly."""
        self._room.clear()

    def resume_writing(self) -> None:
        """It has caught up with most."""
        self._room.set()

    def connection_lost(self, exc: Exception | None) -> None:
        """The caller has gone, or was let go."""
        del exc
        self._room.set()
        self._transport = None
        self._ended(self)

    @property
    def is_open(self) -> bool:
        """Whether there is a connection."""
        return self._transport is not None and not self._transport.is_closing()

    @property
    def has_room(self) -> bool:
        """Whether as much is waiting as may."""
        return self._room.is_set()

    async def room(self) -> None:
        """Wait until more can be written. Raises: TimeoutError."""
        async with asyncio.timeout(STALLED_S):
            await self._room.wait()

    def write(self, content: bytes) -> None:
        """Send, now or as the caller reads."""
        if content and self._transport is not None:
            self._transport.write(content)
            self.wrote_s = asyncio.get_running_loop().time()

    def close(self) -> None:
        """Let the caller go when it has read what was written."""
        if self._transport is not None:
            self._transport.close()

    def abort(self) -> None:
        """Let the caller go at once."""
        if self._transport is not None:
            self._transport.abort()


class Hub:
    """Those of one process. `opened` is told how many there are whenever that changes."""

    def __init__(
        self,
        journal: SqlJournal,
        *,
        most: int,
        readers: Executor,
        opened: Callable[[int], object] = lambda _number: None,
    ) -> None:
        self._journal, self._most, self._readers = journal, most, readers
        self._opened = opened
        self._places = 0
        self._streams: set[Stream] = set()
        self._live: set[Stream] = set()
        self._position = 0  # up to which the live ones have been told
        self._seen_s = 0.0  # when the store was read last
        self._tasks: set[asyncio.Task[Any]] = set()

    # --- who comes ---

    def called(self, link: socket.socket) -> None:
        """Somebody asks for a place; called by the loop when the link can be read."""
        asked = asked_over(link)
        if asked is not None:
            self._keep(asyncio.get_running_loop().create_task(self._answer(*asked)))

    async def _answer(self, asked: StreamAsked, own: socket.socket) -> None:
        loop = asyncio.get_running_loop()
        has_room = len(self._streams) + self._places < self._most
        self._places += 1
        try:
            with own:
                own.setblocking(False)
                room = (
                    (Room.YES if await self._can_see() else Room.BLIND) if has_room else Room.FULL
                )
                async with asyncio.timeout(PLACE_S):
                    await loop.sock_sendall(own, room.value)
                    given = await _given(own) if room is Room.YES else None
            if given is not None:
                await self._open(asked, *given)
        except (OSError, TimeoutError) as error:
            LOG.info("nobody came to a place: %s", error)
        finally:
            self._places -= 1

    async def _open(self, asked: StreamAsked, head: bytes, connection: socket.socket) -> None:
        """Take a connection. Raises: OSError."""
        loop = asyncio.get_running_loop()
        connection.setblocking(False)
        stream = Stream(asked, ended=self._forget)
        stream.ends_s = loop.time() + LONGEST_S * (SPREAD + (1.0 - SPREAD) * CHANCE())
        self._streams.add(stream)
        await loop.connect_accepted_socket(lambda: stream, connection)
        self._opened(len(self._streams))
        stream.write(head)
        stream.task = self._keep(loop.create_task(self._begin(stream)))

    async def _can_see(self) -> bool:
        if self._live and self._sees:
            return True
        try:
            await self._read(self._journal.head)
        except UNREADABLE:
            return False
        return True

    def _forget(self, stream: Stream) -> None:
        self._live.discard(stream)
        self._streams.discard(stream)
        self._opened(len(self._streams))
        if stream.task is not None:
            stream.task.cancel()

    def close(self) -> None:
        """Let all go."""
        for stream in tuple(self._streams):
            stream.close()

    # --- what each is told ---

    async def _begin(self, stream: Stream) -> None:
        """From where the caller was, or from now; then on with all others."""
        try:
            last = stream.asked.last_event_id
            if last is None:
                stream.position = await self._read(self._journal.head)
                stream.write(opening_block(sequence=stream.position))
            elif await self._is_known(last):
                stream.position = int(last)
                stream.write(opening_block(sequence=stream.position))
            else:
                stream.write(opening_block(sequence=None))
                asked = {"flights": stream.asked.flights, "watches": stream.asked.watches}
                stream.position, state = await self._read(partial(self._journal.present, **asked))
                stream.write(event_block(sequence=stream.position, kind=RESET, body=state))
            await self._catch_up(stream)
        except UNREADABLE as error:
            LOG.warning("a stream ends, the store cannot be read: %s", error)
            stream.close()

    async def _is_known(self, last: str) -> bool:
        """Whether all that came behind an id can still be told."""
        sequence = sequence_in(last)
        return sequence is not None and await self._read(self._journal.keeps_after, sequence)

    async def _catch_up(self, stream: Stream) -> None:
        """Tell page by page what was missed, until the stream is where the live ones are.

        Raises: StoreUnavailable.
        """
        while stream.is_open:
            try:
                await stream.room()
            except TimeoutError:
                stream.abort()
                return
            before = self._position
            page = await self._page(stream.position)
            stream.write(_told(page, stream.asked))
            stream.position = page[-1].sequence if page else max(stream.position, before)
            if len(page) < PAGE and stream.has_room and self._joined(stream):
                return

    def _joined(self, stream: Stream) -> bool:
        """Whether a stream is where the live ones are; then it is one of them."""
        if not stream.is_open:
            return True
        if not self._live:
            self._position = stream.position
            self._seen_s = asyncio.get_running_loop().time()
        if stream.position < self._position:
            return False
        self._live.add(stream)
        return True

    def _fall_back(self, stream: Stream) -> None:
        self._live.discard(stream)
        stream.task = self._keep(asyncio.get_running_loop().create_task(self._again(stream)))

    async def _again(self, stream: Stream) -> None:
        try:
            await self._catch_up(stream)
        except UNREADABLE:
            stream.close()

    # --- the one reader, and the time ---

    async def follow(self) -> None:
        """Tell the live ones what is new, for ever."""
        while True:
            await asyncio.sleep(LOOK_EACH_S)
            if self._live:
                await self._look()
            self._pass_time()

    async def _look(self) -> None:
        try:
            while page := await self._page(self._position):
                self._tell(page)
                if len(page) < PAGE:
                    break
        except UNREADABLE as error:
            LOG.warning("the store cannot be read: %s", error)
            return
        self._seen_s = asyncio.get_running_loop().time()

    def _tell(self, page: Sequence[WatchEvent]) -> None:
        """Tell each live stream what it asked for; those who asked alike get the same bytes."""
        reached = page[-1].sequence
        made: dict[tuple[StreamAsked, int], bytes] = {}
        for stream in tuple(self._live):
            alike = _what(stream.asked), stream.position
            if alike not in made:
                made[alike] = _told((e for e in page if e.sequence > stream.position), alike[0])
            stream.write(made[alike])
            stream.position = max(stream.position, reached)
            if not stream.has_room:
                self._fall_back(stream)
        self._position = max(self._position, reached)

    @property
    def _sees(self) -> bool:
        return asyncio.get_running_loop().time() - self._seen_s < BLIND_S

    def _pass_time(self) -> None:
        """Signs of life, and the end of what has been open for long or would be silent blindly."""
        now_s = asyncio.get_running_loop().time()
        blind = not self._sees
        for stream in tuple(self._live):
            if blind or now_s > stream.ends_s:
                stream.close()
                self._live.discard(stream)
            elif now_s - stream.wrote_s >= HEARTBEAT_S:
                stream.write(heartbeat_block(sequence=stream.position))
                if not stream.has_room:
                    self._fall_back(stream)

    async def _page(self, position: int) -> Sequence[WatchEvent]:
        return await self._read(partial(self._journal.after, position, limit=PAGE))

    async def _read(self, asked: Callable[..., _T], *given: object) -> _T:
        return await asyncio.get_running_loop().run_in_executor(self._readers, asked, *given)

    def _keep(self, task: asyncio.Task[_T]) -> asyncio.Task[_T]:
        """Hold a task, or it could be collected while it runs."""
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task


def _what(asked: StreamAsked) -> StreamAsked:
    """What is asked for, without where the caller was."""
    return StreamAsked(flights=asked.flights, watches=asked.watches)


def _told(events: Iterable[WatchEvent], asked: StreamAsked) -> bytes:
    return b"".join(
        event_block(sequence=each.sequence, kind=each.kind, body=each.body)
        for each in events
        if _is_for(each, asked)
    )


def _is_for(event: WatchEvent, asked: StreamAsked) -> bool:
    everything = not asked.flights and not asked.watches
    return everything or event.flight_id in asked.flights or event.watch_id in asked.watches


async def _given(own: socket.socket) -> tuple[bytes, socket.socket] | None:
    """The head and the connection, when they come; None: the place was given up."""
    loop, ready = asyncio.get_running_loop(), asyncio.Event()
    loop.add_reader(own, ready.set)
    try:
        await ready.wait()
        return connection_over(own)
    finally:
        loop.remove_reader(own)
