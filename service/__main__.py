"""`python -m service`: check the settings, then become the server."""

from __future__ import annotations

import os
import sys
import tempfile
from typing import Final, NoReturn

from service.metrics import FOLDER_PREFIX, SHARED_FOLDER
from service.settings import SettingsError, settings_from

BAD_SETTINGS: Final = 2
SERVER: Final = (
    "-m",
    "gunicorn",
    "--config",
    "python:service.server",
    "service.wsgi:application()",
)


def main() -> NoReturn:
    """Replace this process by the server, or exit 2 with every wrong setting named."""
    try:
        settings_from(os.environ)
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        sys.exit(BAD_SETTINGS)
    if SHARED_FOLDER not in os.environ:
        os.environ[SHARED_FOLDER] = tempfile.mkdtemp(prefix=FOLDER_PREFIX)
    os.execv(sys.executable, (sys.executable, *SERVER))  # noqa: S606  # no shell, fixed arguments


if __name__ == "__main__":
    main()
