"""A PostgreSQL server of the tests' own, on a socket in a temporary folder; or the one named."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

START_TRIES = 10
SERVER_USERS = ("postgres", "nobody")


def binaries() -> Path | None:
    """The folder with initdb and pg_ctl, if PostgreSQL is installed."""
    found = shutil.which("pg_ctl")
    folders = [Path(found).parent] if found and shutil.which("initdb") else []
    folders += sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    return next((each for each in folders if (each / "initdb").exists()), None)


@contextmanager
def running() -> Iterator[str | None]:
    """The address of a database for SQLAlchemy, or None if there can be none."""
    named, folder = os.environ.get("APPROACH_TEST_POSTGRES"), binaries()
    if named or folder is None:
        yield named
        return
    with tempfile.TemporaryDirectory(prefix="pg-", ignore_cleanup_errors=True) as name:
        data = Path(name) / "data"
        user = _server_user(Path(name))
        _run(folder, user, "initdb", "-D", data, "-U", "tester", "-A", "trust", "--no-sync")
        start(data)
        try:
            yield f"postgresql+psycopg://tester@/postgres?host={name}"
        finally:
            _run(folder, user, "pg_ctl", "-D", data, "-m", "immediate", "stop")


def start(data: Path) -> None:
    """Start the server of a folder of data, on a socket beside it.

    After a kill what belonged to the server before may still be ending; then it is tried again.
    """
    folder, name = binaries(), data.parent
    assert folder is not None
    options = f"-k {name} -c listen_addresses= -c fsync=off"
    arguments = ("-D", data, "-w", "-o", options, "-l", f"{name}/log", "start")
    for _ in range(START_TRIES - 1):
        try:
            _run(folder, _server_user(name), "pg_ctl", *arguments)
        except subprocess.CalledProcessError:
            time.sleep(1.0)
        else:
            return
    _run(folder, _server_user(name), "pg_ctl", *arguments)


def kill(data: Path) -> None:
    """Kill the server of a folder of data with all that belongs to it, at once."""
    first = int((data / "postmaster.pid").read_text().split()[0])
    children = Path(f"/proc/{first}/task/{first}/children").read_text().split()
    for each in (first, *map(int, children)):
        with suppress(ProcessLookupError):
            os.kill(each, signal.SIGKILL)


def _server_user(folder: Path) -> str | None:
    """The server refuses to run as root: then it gets a user of its own, who owns the folder."""
    if os.geteuid() != 0:
        return None
    import pwd

    known = {entry.pw_name for entry in pwd.getpwall()}
    user = next(each for each in SERVER_USERS if each in known)
    shutil.chown(folder, user)
    return user


def _run(folder: Path, user: str | None, command: str, *arguments: object) -> None:
    subprocess.run(
        [folder / command, *map(str, arguments)],
        user=user,
        check=True,
        stdout=subprocess.DEVNULL,
        cwd="/",
        timeout=60,
    )
