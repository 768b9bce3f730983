"""What `service/run.sh` needs done in Python, so that it needs neither curl nor netcat.

`check-port PORT`, `wait ADDRESS PID`, `post ADDRESS FILE`; exit 0 on success, 1 otherwise.
"""

from __future__ import annotations

import os
import socket
import sys
import urllib.error
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

from service.alive import post_case, wait_until_ready

START_S: Final = 60.0


def check_port(port: str) -> int:
    """0 if nothing listens on the port of this machine."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", int(port)))
        except (OSError, OverflowError):
            return 1
    return 0


def wait(address: str, process: str) -> int:
    """0 once the service is ready; 1 if its process ends first or it takes too long."""
    return 0 if wait_until_ready(address, seconds=START_S, alive=_alive(int(process))) else 1


def post(address: str, file: str) -> int:
    """Post a case and print the brief."""
    try:
        print(post_case(address, Path(file).read_bytes(), accept="text/plain"), end="")
    except urllib.error.HTTPError as error:
        print(error.read().decode(), file=sys.stderr)
        return 1
    return 0


def _alive(process: int) -> Callable[[], bool]:
    def alive() -> bool:
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return False
        return True

    return alive


VERBS: Final[Mapping[str, Callable[..., int]]] = {
    "check-port": check_port,
    "wait": wait,
    "post": post,
}


def main(arguments: Sequence[str]) -> int:
    """Run a verb; the exit code."""
    verb, *rest = arguments
    return VERBS[verb](*rest)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
