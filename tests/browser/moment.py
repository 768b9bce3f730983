"""`python -m tests.browser.moment`: the service, its clock set to the day of the demo cases.

Everything else is the service's own: server, workers, settings from the environment. The page of a
decision says when it ran out, so that what is seen depends on the clock; it goes on from the moment
that the environment names (RFC 3339) at its own pace, and then stands still, or what is seen late
in a long run would have run out.
"""

from __future__ import annotations

import os
import sys
from datetime import datetime, timedelta
from typing import Final

from flask import Flask

from service.app import create_app
from service.clock import Clock, utc_now
from service.door.opening import prepare
from service.observing import log_to
from service.settings import settings_from
from service.shared_counts import make_shared

MOMENT: Final = "TEST_MOMENT"
GOES_ON: Final = timedelta(minutes=2)  # the first of the demo cases runs out half a minute later
SERVER: Final = (
    "-m",
    "gunicorn",
    "--config",
    "python:service.server",
    "tests.browser.moment:application()",
)


def from_moment(begun: datetime) -> Clock:
    """A clock that shows a moment now and goes on from there, but not for long."""
    ahead = begun - utc_now()
    return lambda: min(utc_now() + ahead, begun + GOES_ON)


def application() -> Flask:
    """The application as `service.wsgi` makes it, with that clock."""
    settings = settings_from(os.environ)
    log_to(level=settings.log_level)
    prepare(settings)
    return create_app(settings, clock=from_moment(datetime.fromisoformat(os.environ[MOMENT])))


if __name__ == "__main__":
    make_shared()
    os.execv(sys.executable, (sys.executable, *SERVER))  # noqa: S606 - no shell, fixed arguments
