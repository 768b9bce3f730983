"""`python -m service.watching --parent NUMBER`: the watcher of an instance, begun by its server.

It ends with that process, or when it is told to (SIGTERM).
"""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Sequence

from service.companions import is_orphan, parent_in
from service.observing import log_to
from service.settings import settings_from
from service.watching.watcher import Watcher


def main(arguments: Sequence[str]) -> int:
    """Watch until told to stop; the exit code."""
    parent, ended = parent_in(arguments), threading.Event()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # of a terminal: the server tells it to end
    signal.signal(signal.SIGTERM, lambda *_: ended.set())
    settings = settings_from(os.environ)
    log_to(level=settings.log_level)
    threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
    Watcher(settings, goes_on=lambda: not ended.is_set()).run()
    return 0


def _end_with(parent: int) -> None:
    """End at once when the server has ended without a word: nobody would end it."""
    while not is_orphan(parent):
        time.sleep(0.2)
    os._exit(1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
