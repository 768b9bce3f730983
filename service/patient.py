"""The worker of the server: it collects whole requests before a thread has to do with them.

gunicorn's threaded worker gives every new connection to one of its few threads, which then wait for
what the caller sends; a few callers who send nothing, or a byte at a time, so stop all others. Here
the loop that waits for connections also collects what they send, with deadlines and a bound on
connections of one address, and a thread gets a request when it is whole. Signs of life have a
thread of their own.
"""

from __future__ import annotations

import re
import socket
import struct
import time
from collections import Counter
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from email.utils import formatdate
from functools import partial
from selectors import EVENT_READ
from typing import Any, Final
from urllib.parse import urlsplit

from gunicorn import util
from gunicorn.http.errors import InvalidHeader
from gunicorn.http.unreader import SocketUnreader
from gunicorn.workers.gthread import TConn, ThreadWorker

from service.arriving import CONTINUE, Arriving, Progress
from service.streams.link import ENVIRON, TAKEN, StreamLink, StreamPlace, head_of

PIECE_BYTES: Final = 65_536
SEND_S: Final = 30  # [ASSUMED] without a byte taken by the caller
READ_S: Final = 5  # of what is read beyond a request that was collected
KEPT_MOST: Final = 4  # largest bodies that all connections together may have collected
OK: Final = "200 "
TOO_SLOW: Final = b"408 Request Timeout"
TOO_MANY: Final = b"503 Service Unavailable"
HOST: Final = "HOST"
HOST_SINCE: Final = (1, 1)
NAME: Final = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._~-]+)(:[0-9]{1,5})?")
ABSOLUTE: Final = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")  # of the target: a scheme begins it
REFUSED: Final = b"HTTP/1.1 %b\r\nConnection: close\r\nRetry-After: 1\r\nContent-Length: 0\r\n\r\n"


class HandedOver(StopIteration):
    """A connection has been handed over: another process answers, and goes on answering."""


class Collected(SocketUnreader):
    """What was collected of a request, then what the caller still sends."""

    def __init__(self, sock: socket.socket, arriving: Arriving) -> None:
        super().__init__(sock)
        self._pieces = arriving.pieces()
        self.is_framed = arriving.is_framed

    def chunk(self, size_hint: int | None = None) -> bytes:
        """The next piece."""
        piece = next(self._pieces, b"")
        if piece:
            return piece
        more: bytes = super().chunk(size_hint)
        return more


class PatientConnection(TConn):
    """A connection with the request that is on its way over it."""

    def __init__(self, cfg: Any, sock: socket.socket, client: Any, server: Any) -> None:  # noqa: ANN401 - gunicorn's own
        super().__init__(cfg, sock, client, server)
        self.arriving: Arriving | None = None
        self._handed_over: Arriving | None = None
        self.behind = b""
        self.data_ready = True  # no thread waits for it
        self.is_elsewhere = False  # another process answers over it

    def hand_over(self) -> None:
        """Have the parser read what was collected. In the thread that handles it."""
        self.init()
        if self.arriving is not None:
            self.parser.unreader = Collected(self.sock, self.arriving)
            self.arriving, self._handed_over = None, self.arriving

    def close(self, graceful: bool = False) -> None:
        """As before; but what another process has is not shut down, only our part of it."""
        if self.is_elsewhere:
            util.close(self.sock)
        else:
            super().close(graceful)

    def let_go(self) -> None:
        """Give up what was collected."""
        for each in (self.arriving, self._handed_over):
            if each is not None:
                each.close()
        self.arriving = self._handed_over = None


class PatientWorker(ThreadWorker):
    """The worker; both bounds come from the settings."""

    most_bytes = 64_000_000  # of a body
    of_one_address = 256  # connections
    link: StreamLink | None = None  # to the process of streams

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - gunicorn's own
        super().__init__(*args, **kwargs)
        self._waiting: set[PatientConnection] = set()
        self._by_address: Counter[str] = Counter()
        self._health = ThreadPoolExecutor(max_workers=1)

    # --- in the loop ---

    def accept(self, listener: socket.socket) -> None:
        """Take a connection and begin to collect."""
        try:
            sock, client = listener.accept()
        except (BlockingIOError, ConnectionAbortedError, InterruptedError):
            return
        self.nr_conns += 1
        conn = PatientConnection(self.cfg, sock, client, listener.getsockname())
        address = _address(client)
        self._by_address[address] += 1
        if self._by_address[address] > self.of_one_address:
            self._refuse(conn, TOO_MANY)
            return
        _bound(sock)
        self.enqueue_req(conn)

    def enqueue_req(self, conn: PatientConnection) -> None:
        """Collect the next request of a connection; what came behind the last one is its begin."""
        conn.arriving = Arriving(most_bytes=self.most_bytes, now_s=time.monotonic())
        conn.timeout = time.monotonic() + self.cfg.keepalive  # for the first byte
        conn.sock.setblocking(False)
        self._waiting.add(conn)
        self.poller.register(conn.sock, EVENT_READ, partial(self._on_data, conn))
        if conn.behind:
            behind, conn.behind = conn.behind, b""
            self._take_in(conn, behind)

    def finish_request(self, conn: PatientConnection, fs: Future[Any]) -> None:
        """A request has been answered: the next one may be here already."""
        conn.let_go()
        done = not fs.cancelled() and fs.exception() is None and bool(fs.result())
        if done:
            conn.behind = conn.parser.unreader.take_buffered() + conn.behind
        if done and conn.behind:
            self.enqueue_req(conn)
            return
        open_before = self.nr_conns
        super().finish_request(conn, fs)
        if self.nr_conns < open_before:
            self._forget(conn)

    def murder_keepalived(self, force: bool = False) -> None:
        """Close what was idle for too long."""
        before = list(self.keepalived_conns)
        super().murder_keepalived(force)
        left = set(self.keepalived_conns)
        for conn in before:
            if conn not in left:
                self._forget(conn)

    def murder_pending(self) -> None:
        """Close what arrives too slowly, or has sent nothing."""
        super().murder_pending()
        now_s = time.monotonic()
        for conn in tuple(self._waiting):
            arriving = conn.arriving
            if arriving is None or arriving.stage is Progress.SILENT:
                if now_s > conn.timeout:
                    self._close(conn)
            elif arriving.is_late(now_s=now_s):
                self._refuse(conn, TOO_SLOW)

    def set_accept_enabled(self, enabled: bool) -> None:
        """As before; at the end who has come is still taken in, and nobody is let in any more.

        A listener that stayed open until the last answer would take connections that nobody serves.
        """
        stopping = not enabled and not self.alive
        if stopping and not self._accepting:
            super().set_accept_enabled(True)
        super().set_accept_enabled(enabled)
        if stopping:
            self._take_who_came()
            for listener in self.sockets:
                listener.close()

    def _cap_keepalive(self, deadline: float) -> None:
        """Called when stopping: who has sent nothing by then is not waited for."""
        super()._cap_keepalive(deadline)
        for conn in self._waiting:
            conn.timeout = min(conn.timeout, deadline)

    def _take_who_came(self) -> None:
        for listener in self.sockets:
            with suppress(OSError):
                listener.setblocking(False)
                while self.nr_conns < self.worker_connections:
                    before = self.nr_conns
                    self.accept(listener)
                    if self.nr_conns == before:
                        break

    def _on_data(self, conn: PatientConnection, _sock: object) -> None:
        try:
            data = conn.sock.recv(PIECE_BYTES)
        except (BlockingIOError, InterruptedError):
            return
        except OSError:
            self._close(conn)
            return
        self._take_in(conn, data)

    def _take_in(self, conn: PatientConnection, data: bytes) -> None:
        arriving = conn.arriving
        if arriving is None:
            return
        if data:
            arriving.feed(data, now_s=time.monotonic())
        elif arriving.stage is Progress.SILENT:
            self._close(conn)
            return
        else:
            arriving.end()
        if arriving.wants_continue:
            arriving.wants_continue = False
            with suppress(OSError):
                conn.sock.send(CONTINUE)
        if arriving.stage is Progress.WHOLE:
            conn.behind = arriving.behind
            self._leave_poller(conn)
            pool = self._health if arriving.is_health else self.tpool
            done = pool.submit(self.handle, conn)
            done.add_done_callback(partial(self.method_queue.defer, self.finish_request, conn))
        elif self._collected() > KEPT_MOST * self.most_bytes:
            self._refuse(conn, TOO_MANY)

    def _collected(self) -> int:
        return sum(each.arriving.size for each in self._waiting if each.arriving is not None)

    def _leave_poller(self, conn: PatientConnection) -> None:
        self._waiting.discard(conn)
        with suppress(OSError, KeyError, ValueError):
            self.poller.unregister(conn.sock)

    def _refuse(self, conn: PatientConnection, status: bytes) -> None:
        with suppress(OSError):
            conn.sock.send(REFUSED % status)
        self._close(conn)

    def _close(self, conn: PatientConnection) -> None:
        self._leave_poller(conn)
        conn.let_go()
        self.nr_conns -= 1
        self._forget(conn)
        conn.close()

    def _forget(self, conn: PatientConnection) -> None:
        address = _address(conn.client)
        self._by_address[address] -= 1
        if self._by_address[address] <= 0:
            del self._by_address[address]

    # --- in a thread ---

    def handle(self, conn: PatientConnection) -> Any:  # noqa: ANN401 - gunicorn's own
        """Handle the request that was collected."""
        try:
            conn.hand_over()
        except OSError:  # the caller has gone
            return False
        return super().handle(conn)

    def load_wsgi(self) -> None:
        """As before; an application may have a connection handed over."""
        super().load_wsgi()
        self.wsgi = partial(self._called, self.app.wsgi())

    def handle_request(self, req: Any, conn: PatientConnection) -> Any:  # noqa: ANN401 - gunicorn's own
        """As before; of a connection that was handed over only our part is closed."""
        try:
            return super().handle_request(req, conn)
        except HandedOver:
            conn.is_elsewhere = True
            return False

    def _called(self, app: Any, environ: dict[str, Any], start_response: Any) -> Any:  # noqa: ANN401 - WSGI
        """Call the application. Raises: HandedOver."""
        environ[ENVIRON] = self.link
        head: list[Any] = []

        def begin(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:  # noqa: ANN401
            head[:] = (status, headers)
            return start_response(status, headers, *more)

        answer = app(environ, begin)
        place: StreamPlace | None = environ.get(TAKEN)
        if place is None:
            return answer
        if not head[0].startswith(OK):  # something went wrong after the view
            place.give_up()
            return answer
        answer.close()
        place.give(environ["gunicorn.socket"], head_of(*head, date=formatdate(usegmt=True)))
        raise HandedOver


def look_at(req: Any) -> None:  # noqa: ANN401 - gunicorn's own
    """What a request must be besides what the parser asks; called before each.

    It has one name (RFC 9112, section 3.2), which is that of its target where the target has one:
    a proxy in front may have gone by either. Where its end is not known, nothing follows it.
    Raises: InvalidHeader, which is answered with 400.
    """
    if not req.unreader.is_framed:
        req.force_close()
    names = [value for name, value in req.headers if name == HOST]
    optional = req.version < HOST_SINCE and not names
    target = urlsplit(req.uri).netloc.lower() if ABSOLUTE.match(req.uri) else None
    fine = len(names) == 1 and NAME.fullmatch(names[0]) and target in {None, names[0].lower()}
    if not (optional or fine):
        raise InvalidHeader(HOST, req=req)


def _address(client: Any) -> str:  # noqa: ANN401 - of any family
    return str(client[0]) if isinstance(client, tuple) else ""


def _bound(sock: socket.socket) -> None:
    """No single read or write of a thread waits for longer than this."""
    for option, seconds in ((socket.SO_SNDTIMEO, SEND_S), (socket.SO_RCVTIMEO, READ_S)):
        sock.setsockopt(socket.SOL_SOCKET, option, struct.pack("ll", seconds, 0))
