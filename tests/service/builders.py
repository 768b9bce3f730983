"""Requests, answers and collaborators for the tests of the service."""

from __future__ import annotations

import itertools
import lzma
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from flask import Flask
from werkzeug.serving import make_server

from service.engine import Engine, told_of
from service.metrics import tally_of
from service.settings import Settings, settings_from
from service.store import DecisionLog

STORES = Path(__file__).parent / "stores"
T0 = datetime(2026, 1, 31, 6, 0, tzinfo=UTC)

BODY: dict[str, Any] = {
    "flight_id": "XA 101",
    "as_of": "2026-01-31T06:00:00Z",
    "aircraft": {"profile": "xtj150", "mass_kg": 60000, "pressure_altitude_ft": 20000},
    "fuel": {"on_board_kg": 6000},
    "failures": [],
    "destination": "XAAA",
    "alternates": ["XBBB"],
    "weather": {"reports": []},
}


def body(**changes: Any) -> dict[str, Any]:
    """A request body of the right shape, with members replaced."""
    return deepcopy(BODY) | changes


def service_settings(folder: Path, **environment: str) -> Settings:
    """Settings with a store in a folder."""
    given = {"APPROACH_STORE": f"sqlite:///{folder / 'decisions.sqlite3'}"}
    return settings_from(given | environment)


@contextmanager
def listening(app: Flask) -> Iterator[str]:
    """The application behind a real socket; its address."""
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        thread.join(10)
        server.server_close()


def ticking_clock(start: datetime = T0) -> Callable[[], datetime]:
    """A clock that moves on by a second whenever it is read."""
    seconds = itertools.count()
    return lambda: start + timedelta(seconds=next(seconds))


def counting_entropy() -> Callable[[int], bytes]:
    """Entropy that can be predicted: 1, 2, 3 ..."""
    numbers = itertools.count(1)
    return lambda length: next(numbers).to_bytes(length)


def plain_answer(request: Mapping[str, Any]) -> dict[str, Any]:
    """A small answer: what the HTTP side needs of one, whatever the rules say."""
    return {
        "id": None,
        "flight_id": request["flight_id"],
        "as_of": request["as_of"],
        "verdict": "NO_GO",
        "headline": "Divert now & stay clean <before> extension",
        "fuel_state": "NORMAL",
        "courses": [{"breaks": [{"rule": "FU-01"}], "open": []}],
        "provenance": {"rulebook": {"id": "icao"}},
        "disclaimer": "Advice only.",
    }


def plain_engine(
    decide: Callable[[Mapping[str, Any]], Mapping[str, Any]] = plain_answer,
) -> Engine:
    """An engine that answers at once."""
    return Engine(
        decide=lambda body: told_of(answer := decide(body), tally_of(answer)),
        whole=decide,
        sent=dict,
        brief=lambda answer: f"{answer['verdict']}: {answer['headline']}\n",
        row=decide,
        tried=lambda body, inputs, _turns_of: (
            decide(body),
            [{"row": decide(body)} for _ in inputs],
        ),
    )


def stored_request(log: DecisionLog, identity: str) -> bytes:
    """The body that a recorded decision answered."""
    told = log.told(identity)
    assert told is not None
    return told.request


def old_file(folder: Path) -> Path:
    """The SQLite file of a store of before the revisions, in a folder."""
    file = folder / "decisions.sqlite3"
    file.write_bytes(lzma.decompress((STORES / "first.sqlite3.xz").read_bytes()))
    return file
