"""`python -m service.healthcheck`: exit 0 if the service on this machine is ready, else 1.

Where a key is asked for, it has that of the settings; without one, or with one that has been taken
back since, it sees only whether the service answers.
"""

from __future__ import annotations

import os
import sys
from http import HTTPStatus
from typing import Final

from service.alive import status_of
from service.settings import Settings, settings_from

TIMEOUT_S: Final = 3.0
NOT_OPENED: Final = frozenset({401, 403})


def main() -> int:
    """The exit code."""
    settings = settings_from(os.environ)
    opened = settings.stands_open or settings.admin_key is not None
    status = _status(settings, "/readyz" if opened else "/healthz")
    if status in NOT_OPENED:
        status = _status(settings, "/healthz")
    return 0 if status == HTTPStatus.OK else 1


def _status(settings: Settings, path: str) -> int | None:
    return status_of(
        f"http://127.0.0.1:{settings.port}",
        path=path,
        host=next(iter(settings.accepted_hosts), None),
        timeout_s=TIMEOUT_S,
        key=None if settings.admin_key is None else settings.admin_key.text,
    )


if __name__ == "__main__":
    sys.exit(main())
