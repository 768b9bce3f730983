"""The application, composed: the only place where the parts of the service meet."""

from __future__ import annotations

import os
import time

from flask import Flask

from decision.case import Library
from service.aerodromes.folder import library_from, loaded_of
from service.bounds import Turnstile
from service.clock import Clock, Entropy, utc_now
from service.collaborators import Collaborators, WatchDesk
from service.counted import CountedLog
from service.door.door import Door
from service.door.limits import Seconds
from service.door.opening import opened_access
from service.door.origins import watch_origins
from service.engine import Engine, installed_engine
from service.fetching.fetcher import Fetcher, opened_fetcher
from service.jsontext import StrictJsonProvider
from service.lines import BatchLimits
from service.many import Crew
from service.metrics import Metrics
from service.observing import observe_requests
from service.problems import BASE, register_problem_handlers
from service.representation import write_out_controls
from service.resources import VIEWS
from service.routing import register
from service.settings import Settings
from service.store import DecisionLog, SqlDecisionLog
from service.store.engines import engine_for
from service.store.watching import SqlWatches
from service.wire import prepare_answers


def create_app(
    settings: Settings,
    *,
    clock: Clock = utc_now,
    entropy: Entropy = os.urandom,
    library: Library | None = None,
    engine: Engine | None = None,
    log: DecisionLog | None = None,
    fetcher: Fetcher | None = None,
    watches: SqlWatches | None = None,
    seconds: Seconds = time.monotonic,
) -> Flask:
    """A WSGI application. Raises: StoreUnavailable, DataError if it could not work."""
    shelf = library_from(settings.aerodromes) if library is None else library
    counts = Metrics()
    collaborators = Collaborators(
        engine=installed_engine(shelf, seconds=settings.decision_cpu_s)
        if engine is None
        else engine,
        library=shelf,
        log=CountedLog(_log(settings) if log is None else log, counts),
        door=Door(
            settings=settings,
            access=opened_access(settings),
            clock=clock,
            entropy=entropy,
            seconds=seconds,
        ),
        clock=clock,
        entropy=entropy,
        fetcher=_fetcher(settings, clock) if fetcher is None else fetcher,
        metrics=counts,
        batch=_limits(settings),
        crew=_crew(settings, shelf) if library is None and engine is None else None,
        gate=Turnstile(settings.dear_at_once),
        watches=WatchDesk(
            kept=_watches(settings) if watches is None else watches,
            most=settings.most_watches,
            webhook_hosts=settings.webhook_hosts if settings.webhook_key else (),
        ),
    )
    app = Flask(__name__, static_folder=None)
    app.json = StrictJsonProvider(app)
    write_out_controls(app)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    app.config[BASE] = settings.public_address
    app.url_map.strict_slashes = False
    app.url_map.merge_slashes = False  # a flight may have two of them in its name
    observe_requests(app, entropy=entropy)
    collaborators.metrics.observe(app)
    watch_origins(app, settings)
    prepare_answers(app, VIEWS)
    register_problem_handlers(app)
    register(app, VIEWS, collaborators)
    return app


def _log(settings: Settings) -> DecisionLog:
    return SqlDecisionLog.open(
        settings.store, timeout_s=settings.store_timeout_s, signing_key=settings.signing_key
    )


def _watches(settings: Settings) -> SqlWatches:
    return SqlWatches(engine_for(settings.store, timeout_s=settings.store_timeout_s))


def _limits(settings: Settings) -> BatchLimits:
    return BatchLimits(
        body_bytes=settings.batch_max_bytes,
        line_bytes=settings.max_body_bytes,
        lines=settings.batch_max_lines,
        seconds=settings.batch_timeout_s,
    )


def _crew(settings: Settings, library: Library) -> Crew | None:
    """The processes for batches, which have the installed engine; None when one is enough."""
    if settings.batch_processes == 1:
        return None
    return Crew(
        processes=settings.batch_processes,
        log_level=settings.log_level,
        decision_cpu_s=settings.decision_cpu_s,
        aerodromes=loaded_of(settings.aerodromes, library),
    )


def _fetcher(settings: Settings, clock: Clock) -> Fetcher | None:
    """What fetches reports; None when no source is set up."""
    if settings.weather_url is None:
        return None
    return opened_fetcher(
        settings.weather_url,
        hosts=settings.weather_hosts,
        deadline_s=settings.weather_deadline_s,
        clock=clock,
    )
