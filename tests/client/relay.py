"""A relay in front of a real service that does to single requests what networks do to them."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

PASS, DROP, CUT = "pass", "drop", "cut"
HOPS = frozenset({"Transfer-Encoding", "Connection", "Content-Length", "Server", "Date"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """An answer of the relay's own."""

    status: int
    headers: Mapping[str, str] = field(default_factory=dict)
    content: bytes = b""


@dataclass(kw_only=True)
class Relay:
    """Where it listens, what it does to the next requests, and what it has seen."""

    address: str
    deeds: list[str | Refusal] = field(default_factory=list)
    connections: int = 0
    seen: list[tuple[str, str, Mapping[str, str]]] = field(default_factory=list)

    def headers(self, name: str) -> list[str | None]:
        """One header of every request."""
        return [headers.get(name) for _, _, headers in self.seen]


class _Handler(BaseHTTPRequestHandler):
    relay: Relay
    port: int
    protocol_version = "HTTP/1.1"

    def setup(self) -> None:
        super().setup()
        self.relay.connections += 1

    def log_message(self, *_: Any) -> None:
        pass

    def _relay(self) -> None:
        content = self.rfile.read(int(self.headers.get("Content-Length", 0)))
        self.relay.seen.append((self.command, self.path, dict(self.headers.items())))
        deed = self.relay.deeds.pop(0) if self.relay.deeds else PASS
        if isinstance(deed, Refusal):
            self._answer(deed.status, deed.headers, deed.content, len(deed.content))
            return
        service = HTTPConnection("127.0.0.1", self.port, timeout=30)
        if deed == CUT:  # packed, the first line would be nearly all of it
            del self.headers["Accept-Encoding"]
        service.request(self.command, self.path, content, dict(self.headers.items()))
        answer = service.getresponse()
        told = answer.read()
        service.close()
        if deed == DROP:
            self.close_connection = True
            return
        kept = {name: value for name, value in answer.getheaders() if name not in HOPS}
        cut = told[: len(told) * 7 // 8] if deed == CUT else told
        self._answer(answer.status, kept, cut, len(told))
        self.close_connection = deed == CUT

    def _answer(self, status: int, headers: Mapping[str, str], content: bytes, length: int) -> None:
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name, value)
        self.send_header("Content-Length", str(length))
        self.end_headers()
        self.wfile.write(content)

    do_GET = do_POST = _relay  # noqa: N815 - the library's names


@contextmanager
def relayed(port: int) -> Iterator[Relay]:
    """A relay in front of a port of this machine."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Handler)
    relay = Relay(address=f"http://127.0.0.1:{server.server_port}")
    own = {"relay": relay, "port": port}
    server.RequestHandlerClass = type("_Own", (_Handler,), own)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,))
    thread.start()
    try:
        yield relay
    finally:
        server.shutdown()
        server.server_close()
        thread.join(10)
