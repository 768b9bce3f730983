"""The WSGI entry: `service.wsgi:application()` for any server."""

from __future__ import annotations

import os

from flask import Flask

from service.app import create_app
from service.door.opening import prepare
from service.observing import log_to
from service.settings import settings_from
from service.spans import begin_spans


def application() -> Flask:
    """An application made from the environment, logging to standard output.

    Raises: SettingsError, also where nobody could call; StoreUnavailable, DataError.
    """
    settings = settings_from(os.environ)
    log_to(level=settings.log_level)
    begin_spans(os.environ)
    prepare(settings)
    return create_app(settings)
