"""`python -m service.healthcheck`: exit 0 if the service on this machine is ready, else 1."""

from __future__ import annotations

import os
import sys
from typing import Final

from service.client import is_ready
from service.settings import settings_from

TIMEOUT_S: Final = 3.0


def main() -> int:
    """The exit code."""
    port = settings_from(os.environ).port
    return 0 if is_ready(f"http://127.0.0.1:{port}", timeout_s=TIMEOUT_S) else 1


if __name__ == "__main__":
    sys.exit(main())
