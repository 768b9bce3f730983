"""Settings of the gunicorn server, read by `gunicorn --config python:service.server`.

The application itself knows no server; any WSGI server can run `service.wsgi:application()`.
"""

from __future__ import annotations

import gc
import os
from pathlib import Path
from typing import Any

from service.companions import Companion, Companions
from service.patient import PatientWorker, look_at
from service.settings import settings_from
from service.shared_counts import forget_shared
from service.streams.link import CHILD_FD, StreamLink

_settings = settings_from(os.environ)
_links: list[StreamLink] = []  # to the process of streams, if there is one
_beside: list[Companions] = []
_memory = Path("/dev/shm")  # noqa: S108  # a memory file system; heartbeats on a disk can stall

bind = f"{_settings.host}:{_settings.port}"
workers = _settings.workers
threads = _settings.threads
worker_class = "service.patient.PatientWorker"
worker_tmp_dir = str(_memory) if _memory.is_dir() else None
reuse_port = True  # one shared socket can pin every long-lived connection to one worker
control_socket_disable = True  # it would be opened in a home directory that may not exist
preload_app = True  # loaded once, before the workers, which share what none of them changes
timeout = 60
graceful_timeout = 25  # below the 30 s that orchestrators usually wait
keepalive = 5
errorlog = "-"
loglevel = _settings.log_level.lower()
logconfig_dict = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"json": {"()": "service.observing.JsonLines"}},
    "handlers": {
        "out": {
            "class": "logging.StreamHandler",
            "formatter": "json",
            "stream": "ext://sys.stdout",
        }
    },
    "root": {"level": _settings.log_level, "handlers": ["out"]},
    "loggers": {
        "gunicorn.error": {"level": _settings.log_level, "handlers": ["out"], "propagate": False},
    },
}


def when_ready(server: Any) -> None:  # noqa: ANN401 - gunicorn's own
    """Called by the master process before the first worker: begin what runs beside them."""
    companions = []
    if _settings.event_streams:
        link = StreamLink()
        _links.append(link)
        given = {CHILD_FD: link.process_fd}
        companions.append(Companion(module="service.streams", wanted=link.is_called, given=given))
    if _settings.most_watches:
        companions.append(Companion(module="service.watching"))
    beside = Companions(companions, withheld=lambda: [each.fileno() for each in server.LISTENERS])
    beside.start()
    _beside.append(beside)


def pre_fork(_server: object, _worker: object) -> None:
    """Called by the master process before each worker: what is loaded is never garbage.

    A collection writes into every object that it looks at; a page written into is shared no more.
    """
    gc.collect()
    gc.freeze()


def post_worker_init(worker: PatientWorker) -> None:
    """Called in each worker before it takes connections."""
    worker.most_bytes = max(_settings.batch_max_bytes, _settings.max_body_bytes)
    worker.of_one_address = _settings.connections_of_one_address
    worker.link = next(iter(_links), None)


def pre_request(_worker: object, request: object) -> None:
    """Called by a worker before each request."""
    look_at(request)


def on_exit(_server: object) -> None:
    """Called by the master process when it ends."""
    for each in _beside:
        each.stop()
    forget_shared()
