"""How a worker hands a connection over to the process of streams.

Both have an end of a pair of sockets that is made before either begins; nobody else can reach it.
Over it a worker sends what is asked for, with one end of a pair of its own. Over that one the
process says whether it has room; then comes the head of the answer, with the connection itself.
Until then the worker can still answer in its own words.
"""

from __future__ import annotations

import select
import socket
import struct
import threading
from collections.abc import Iterable
from enum import Enum
from typing import Final

import msgspec
from msgspec import Struct

ENVIRON: Final = "approach.streams"
"""Where the environment of a request has the link, under a server that has one."""
TAKEN: Final = "approach.streams.taken"
"""Where a view leaves the place that it has got for the connection."""
CHILD_FD: Final = 3
"""The number of the process's end in that process."""
SEND_S: Final = 2  # [ASSUMED] until the process has read what others have asked before
ANSWER_S: Final = 10.0  # [ASSUMED] the process may have to begin first: a second, on a busy machine
TURN_S: Final = 1.0  # [ASSUMED] for others, while one waits for that
MOST_ASKED_BYTES: Final = 65_536  # of what is asked for; a request line has 4,094
MOST_HEAD_BYTES: Final = 65_536  # of an answer, which has a tenth


class Room(Enum):
    """What the process says."""

    YES = b"+"
    FULL = b"-"
    BLIND = b"?"  # it cannot read the store


class StreamAsked(Struct, frozen=True, kw_only=True):
    """What a caller asks for. No flights and no watches: everything."""

    flights: frozenset[str] = frozenset()
    watches: frozenset[str] = frozenset()
    last_event_id: str | None = None


class NoRoom(Exception):
    """The process takes no more, or does not answer (`reason` is None)."""

    def __init__(self, reason: Room | None) -> None:
        self.reason = reason
        super().__init__(reason)


class StreamPlace:
    """A place for one stream; it is given up unless a connection is put into it."""

    def __init__(self, own: socket.socket) -> None:
        self._own = own

    def give(self, connection: socket.socket, head: bytes) -> None:
        """Hand a connection over, with the head to be written first. Raises: OSError."""
        with self._own:
            if socket.send_fds(self._own, [head], [connection.fileno()]) != len(head):
                raise OSError("the head of an answer was cut")

    def give_up(self) -> None:
        """Let another stream have it."""
        self._own.close()


class StreamLink:
    """Both ends, as the server's first process makes them."""

    def __init__(self) -> None:
        self._workers, self._process = socket.socketpair(socket.AF_UNIX, socket.SOCK_DGRAM)
        # All workers share this description, so it has no mode of its own but a time-out.
        wait = struct.pack("ll", SEND_S, 0)
        self._workers.setsockopt(socket.SOL_SOCKET, socket.SO_SNDTIMEO, wait)
        self._turn = threading.Lock()

    @property
    def process_fd(self) -> int:
        """The descriptor of the process's end."""
        return self._process.fileno()

    def is_called(self) -> bool:
        """Whether somebody has asked, and nobody has read it yet."""
        poll = select.poll()
        poll.register(self._process, select.POLLIN)
        return bool(poll.poll(0))

    def ask(self, asked: StreamAsked) -> StreamPlace:
        """A place in the process. Raises: NoRoom.

        One thread of a worker waits at a time, so that a process that does not answer holds up one.
        """
        if not self._turn.acquire(timeout=TURN_S):
            raise NoRoom(None)
        try:
            return self._asked(asked)
        finally:
            self._turn.release()

    def _asked(self, asked: StreamAsked) -> StreamPlace:
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            with theirs:
                socket.send_fds(self._workers, [msgspec.json.encode(asked)], [theirs.fileno()])
            ours.settimeout(ANSWER_S)
            said = ours.recv(1)
        except OSError:
            ours.close()
            raise NoRoom(None) from None
        if said != Room.YES.value:
            ours.close()
            raise NoRoom(Room(said) if said else None)
        return StreamPlace(ours)

    def close(self) -> None:
        """Close both ends."""
        self._workers.close()
        self._process.close()


def asked_over(link: socket.socket) -> tuple[StreamAsked, socket.socket] | None:
    """What somebody has asked, and the socket to answer over; None: nothing that can be read."""
    try:
        content, fds, _, _ = socket.recv_fds(link, MOST_ASKED_BYTES, 1)
    except OSError:
        return None
    found = _sockets(fds)
    if not found:  # too many descriptors are open
        return None
    try:
        return msgspec.json.decode(content, type=StreamAsked), found[0]
    except msgspec.DecodeError:
        found[0].close()
        return None


def connection_over(own: socket.socket) -> tuple[bytes, socket.socket] | None:
    """The head and the connection; None: the place was given up. Raises: BlockingIOError."""
    content, fds, _, _ = socket.recv_fds(own, MOST_HEAD_BYTES, 1)
    found = _sockets(fds)
    return (content, found[0]) if found else None


def head_of(status: str, headers: Iterable[tuple[str, str]], *, date: str) -> bytes:
    """The head of an answer that ends with its connection."""
    lines = [f"HTTP/1.1 {status}", f"Date: {date}", "Connection: close"]
    lines += [f"{name}: {value}" for name, value in headers if name.lower() not in OF_THE_HOP]
    return "\r\n".join([*lines, "", ""]).encode("latin-1")


OF_THE_HOP: Final = frozenset({"content-length", "connection", "date", "transfer-encoding"})


def _sockets(fds: Iterable[int]) -> list[socket.socket]:
    return [socket.socket(fileno=each) for each in fds]
