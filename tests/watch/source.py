"""A source of reports on loopback that plays a day: at each moment it has what was issued by then.

The day may be an archived one: its reports get other places and the present date, and keep their
hour and minute. It answers over a real socket, as `APPROACH_WEATHER_URL` asks.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, Final
from urllib.parse import parse_qs, urlsplit

STAMP: Final = re.compile(r"\b(?P<station>[A-Z][A-Z0-9]{3}) \d\d(?P<time>\d{4})Z")


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A report of the day: when it is issued, of which place, and its text."""

    at: datetime
    station: str
    text: str


def played(texts: Sequence[str], *, station: str, day: datetime) -> list[Played]:
    """Archived observations of one day, as if issued that day at a place; in their order."""
    found = []
    for text in texts:
        stamp = STAMP.search(text)
        assert stamp is not None, text
        hour, minute = int(stamp["time"][:2]), int(stamp["time"][2:])
        at = day.replace(hour=hour, minute=minute, second=0, microsecond=0)
        moved = STAMP.sub(f"{station} {at:%d%H%M}Z", text, count=1)
        found.append(Played(at=at, station=station, text=moved))
    return sorted(found, key=lambda each: each.at)


@dataclass(slots=True, kw_only=True)
class Day:
    """What the source has at a moment: of each place the newest report that was issued by then."""

    reports: Sequence[Played]
    clock: Callable[[], datetime]
    asked: list[str] = field(default_factory=list)

    def newest(self, station: str) -> str | None:
        """The newest report of a place; None: there is none yet."""
        now = self.clock()
        issued = [each for each in self.reports if each.station == station and each.at <= now]
        return issued[-1].text if issued else None

    def answer(self, stations: Sequence[str]) -> str:
        """What is answered for places."""
        self.asked += stations
        texts = (self.newest(each) for each in stations)
        return "".join(f"{text}\n" for text in texts if text is not None)


@contextmanager
def source_of(day: Day) -> Iterator[str]:
    """The source on a port of this machine; its address as the setting has it."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked = parse_qs(urlsplit(self.path).query)
            stations = asked.get("stations", [""])[0].split(",")
            content = day.answer(stations if asked.get("kind") == ["metar"] else ()).encode()
            self.send_response(200)
            self.send_header("Content-Type", "text/plain")
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, format: str, *args: Any) -> None:
            """Nothing is logged."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/?stations={{stations}}&kind={{kind}}"
    finally:
        server.shutdown()
        thread.join(10)
        server.server_close()


def hours(start: datetime, count: int, *, each_min: int = 30) -> list[datetime]:
    """Moments of a day, one after the other."""
    return [start + timedelta(minutes=number * each_min) for number in range(count)]
