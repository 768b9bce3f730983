"""`python -m service.healthcheck`: exit 0 if the service on this machine is ready, else 1.

Where a key is asked for, it has none, and sees only whether the service answers.
"""

from __future__ import annotations

import os
import sys
from typing import Final

from service.alive import answers
from service.settings import settings_from

TIMEOUT_S: Final = 3.0


def main() -> int:
    """The exit code."""
    settings = settings_from(os.environ)
    fine = answers(
        f"http://127.0.0.1:{settings.port}",
        path="/readyz" if settings.stands_open else "/healthz",
        host=next(iter(settings.accepted_hosts), None),
        timeout_s=TIMEOUT_S,
    )
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
