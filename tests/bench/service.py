"""What the service adds to a decision, and what several processes give back."""

from __future__ import annotations

import atexit
import json
import os
import time
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
from service.many import AskedLine, Crew, DecidedLine, LineView, decide_many
from service.settings import settings_from
from tests.bench.measure import Comparison, Way
from tests.case.builders import demo
from tests.case.flights import FIVE, each_failure

FEW: Final = 3  # rounds of what takes seconds
PROCESSES: Final = os.cpu_count() or 1
NUMBERS: Final = count()
FOLDER: Final = TemporaryDirectory(prefix="approach-bench-")  # deleted when the process ends


def heavier() -> Callable[[dict[str, Any]], bytes]:
    """Cases with fuel that no case before had, so that nothing is known from them already."""
    more_kg = next(NUMBERS) % 5000 / 10

    def sent(body: dict[str, Any]) -> bytes:
        fuel = {**body["fuel"], "on_board_kg": body["fuel"]["on_board_kg"] + more_kg}
        aircraft = {**body["aircraft"], "mass_kg": body["aircraft"]["mass_kg"] + more_kg}
        return json.dumps({**body, "fuel": fuel, "aircraft": aircraft}).encode()

    return sent


def another() -> bytes:
    """The case with five alternates as nobody had it before."""
    return heavier()(FIVE)


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


def batch(flight: dict[str, Any], view: LineView, crew: Crew | None) -> Way:
    """A flight with each of its failures in sequence, heavier each time, in processes or here."""
    failures = list(each_failure({**flight, "include": []}))

    def call() -> None:
        asked = (
            AskedLine(number=number, content=content, view=view)
            for number, content in enumerate(map(heavier(), failures))
        )
        for _, result in decide_many(asked, engine=ENGINE, crew=crew):
            if not isinstance(result, DecidedLine):
                raise TypeError(result)

    label = "this process" if crew is None else f"{crew.processes} processes"
    return Way(label=label, call=call, items=len(failures))


def in_batch(flight: dict[str, Any], title: str, view: LineView, *, target: str) -> Comparison:
    """The batch in all processes beside the same in one."""
    return Comparison(
        title=f"batch, {title}",
        ours=batch(flight, view, CREW),
        yardstick=batch(flight, view, None),
        clock_s=time.perf_counter,  # the processor time of others is not ours
        rounds=FEW,
        target=target,
    )


COMPARISONS: Final = (
    Comparison(
        title="request, not recorded",
        ours=Way(label="decide", call=posted("/v1/decisions", "record=false")),
        yardstick=Way(label="validate and echo", call=posted("/echo")),
        target="ratio 0.10",
    ),
    Comparison(
        title="request, what HTTP adds",
        ours=Way(label="decide over WSGI", call=posted("/v1/decisions", "record=false")),
        yardstick=Way(label="decide without", call=decided),
    ),
    in_batch(demo("gear-stuck"), "default answers", LineView.ANSWERS, target="4,000 us"),
    in_batch(demo("gear-stuck"), "rows", LineView.ROWS, target="2,500 us"),
)
