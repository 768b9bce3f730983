"""What the service adds to a decision, and what several processes give back."""

from __future__ import annotations

import atexit
import json
import os
import time
import tomllib
from collections.abc import Callable
from functools import cache
from io import BytesIO
from itertools import count
from tempfile import TemporaryDirectory
from typing import Any, Final

from flask import Flask, Response
from werkzeug.test import run_wsgi_app

from decision.case import CASE
from service.app import create_app
from service.engine import installed_engine
from service.incoming import json_body
from service.jsontext import write_json
from service.many import AskedLine, Crew, decide_many
from service.settings import ROOT, settings_from
from tests.bench.measure import Comparison, Way
from tests.case.builders import demo

BATCH: Final = 64
PROCESSES: Final = os.cpu_count() or 1
LIKE: Final = "XTOR"
NUMBERS: Final = count()


def five_alternates() -> dict[str, Any]:
    """The demo flight with five alternates, each with its reports, and nothing extra asked."""
    body = demo("gear-stuck")
    described = tomllib.loads((ROOT / f"decision/data/aerodromes/{LIKE}.toml").read_text("utf-8"))
    described = {key: value for key, value in described.items() if key not in {"source", "version"}}
    leg = {"minimum_level_ft": 3000}
    for number in range(3):
        icao = f"XZ{number:02d}"
        tracks = {"track_nm": 100 + 5 * number, "track_from_present_nm": 110 + 5 * number}
        body["alternates"].append({**described, **leg, **tracks, "icao": icao})
    body["weather"]["reports"] += [
        report.replace(LIKE, alternate["icao"])
        for report in body["weather"]["reports"]
        for alternate in body["alternates"][2:]
        if LIKE in report
    ]
    body["include"] = []
    return body


FIVE: Final = five_alternates()
FOLDER: Final = TemporaryDirectory(prefix="approach-bench-")  # deleted when the process ends


def another() -> bytes:
    """The case with fuel that no case before had, so that nothing is known from it already."""
    spent_kg = next(NUMBERS) % 5000 / 10
    fuel = {**FIVE["fuel"], "on_board_kg": FIVE["fuel"]["on_board_kg"] + spent_kg}
    aircraft = {**FIVE["aircraft"], "mass_kg": FIVE["aircraft"]["mass_kg"] + spent_kg}
    return json.dumps({**FIVE, "fuel": fuel, "aircraft": aircraft}).encode()


# --- one request ---


@cache
def application() -> Flask:
    """The service with one route more, which does all that is not deciding."""
    app = create_app(settings_from({"APPROACH_STORE": f"sqlite:///{FOLDER.name}/d.sqlite3"}))

    @app.post("/echo")
    def echo() -> Response:
        return Response(write_json(json_body(CASE)), mimetype="application/json")

    return app


def posted(path: str, query: str = "") -> Callable[[], object]:
    """A call of the application as a server makes it."""

    def call() -> object:
        body = another()
        environ: dict[str, object] = {
            "REQUEST_METHOD": "POST",
            "PATH_INFO": path,
            "QUERY_STRING": query,
            "SERVER_NAME": "127.0.0.1",
            "SERVER_PORT": "8080",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "CONTENT_TYPE": "application/json",
            "CONTENT_LENGTH": str(len(body)),
            "wsgi.input": BytesIO(body),
            "wsgi.url_scheme": "http",
            "wsgi.errors": None,
        }
        content, status, _ = run_wsgi_app(application(), environ)
        if status != "200 OK":
            raise RuntimeError(b"".join(content).decode())
        return content

    return call


def decided() -> bytes:
    """The same decision without HTTP."""
    return ENGINE.decide(json.loads(another())).content


# --- many ---

ENGINE: Final = installed_engine()
CREW: Final = Crew(processes=PROCESSES, log_level="ERROR")
atexit.register(CREW.close)


def batch(crew: Crew | None) -> Callable[[], None]:
    """A batch decided in processes, or in this one."""

    def call() -> None:
        asked = (AskedLine(number=number, content=another()) for number in range(BATCH))
        for _, result in decide_many(asked, engine=ENGINE, crew=crew):
            if not hasattr(result, "response"):
                raise RuntimeError(result)

    return call


COMPARISONS: Final = (
    Comparison(
        title="request, not recorded",
        ours=Way(label="decide", call=posted("/v1/decisions", "record=false")),
        yardstick=Way(label="validate and echo", call=posted("/echo")),
    ),
    Comparison(
        title="request, what HTTP adds",
        ours=Way(label="decide over WSGI", call=posted("/v1/decisions", "record=false")),
        yardstick=Way(label="decide without", call=decided),
    ),
    Comparison(
        title="batch, five alternates",
        ours=Way(label=f"{PROCESSES} processes", call=batch(CREW), items=BATCH),
        yardstick=Way(label="this process", call=batch(None), items=BATCH),
        clock_s=time.perf_counter,  # the processor time of others is not ours
    ),
)
