"""A process beside others, for `test_companions`: says who it is over descriptor 3, and waits.

With `STUBBORN` in its environment it does not end when it is told to.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

from service.companions import is_orphan, parent_in


def name_of(descriptor: int) -> str:
    """What a descriptor is; empty: none is open."""
    try:
        return str(Path(f"/proc/self/fd/{descriptor}").readlink())
    except OSError:
        return ""


if __name__ == "__main__":
    parent = parent_in(sys.argv[1:])
    if "STUBBORN" in os.environ:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
    links = [name_of(each) for each in range(64)]
    sockets = [each for each in links if each.startswith("socket:")]
    os.write(3, f"{os.getpid()} {','.join(sockets)}\n".encode())
    while not is_orphan(parent):
        time.sleep(0.02)
