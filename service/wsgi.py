"""The WSGI entry: `service.wsgi:application()` for any server."""

from __future__ import annotations

import os
import sys
from typing import Final

from flask import Flask

from decision.errors import DataError
from decision.legible import on_one_line
from service.app import create_app
from service.door.opening import prepare
from service.observing import log_to
from service.settings import settings_from
from service.spans import begin_spans


def application() -> Flask:
    """An application made from the environment, logging to standard output.

    Data that are wrong end the process with 2 and the file, the key and the problem: an operator's
    aerodromes, say. Raises: SettingsError, also where nobody could call; StoreUnavailable.
    """
    settings = settings_from(os.environ)
    log_to(level=settings.log_level)
    begin_spans(os.environ)
    prepare(settings)
    try:
        return create_app(settings)
    except DataError as error:
        print(on_one_line(str(error)), file=sys.stderr)
        sys.exit(WRONG_DATA)


WRONG_DATA: Final = 2  # as settings that are wrong
