"""Who holds an idempotency key, and whether that process is known to be dead.

On one machine a process is known by its number and the moment at which it began: the number alone
is given to another one day. On a server of a database it is known by a lock of a session that it
keeps open, which ends with it. A process that is merely stopped is alive, and keeps what it holds.
"""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Protocol

from sqlalchemy import Connection, Engine, func, select
from sqlalchemy.exc import SQLAlchemyError

from service.store.engines import named_failures

PROC: Final = Path("/proc")
BEGAN: Final = 19  # of the fields after the command in /proc/PID/stat (proc_pid_stat(5), field 22)
PROCESS: Final = "process"
SESSION: Final = "session"
HIGHEST_LOCK: Final = 2**63 - 1


class Owners(Protocol):
    """Names owners, and tells which are dead."""

    def me(self) -> str:
        """The name of this process. Raises: StoreUnavailable."""

    def is_dead(self, owner: str | None, connection: Connection) -> bool | None:
        """Whether an owner is known to be dead; None where nobody can say."""

    def close(self) -> None:
        """Give up what was kept open to be known as alive."""


class Processes:
    """Owners on this machine."""

    def me(self) -> str:
        """Number, beginning and place of this process."""
        return _named(os.getpid())

    def is_dead(self, owner: str | None, connection: Connection) -> bool | None:
        """Whether no process of that number began then; unknown for what runs elsewhere."""
        del connection
        kind, _, rest = (owner or "").partition(" ")
        words = rest.split(" ")
        if kind != PROCESS or len(words) != 3 or words[2] != _place():  # noqa: PLR2004
            return None
        number, began = int(words[0]), words[1]
        return _began(number) != began

    def close(self) -> None:
        """Nothing is kept open."""


@cache
def _named(number: int) -> str:
    """A process by its number: another one after a fork."""
    return f"{PROCESS} {number} {_began(number)} {_place()}"


def _began(number: int) -> str:
    """The moment at which a process began, in ticks of the kernel; empty without such a process.

    Without the file system of processes only that it is there.
    """
    try:
        stat = (PROC / str(number) / "stat").read_text(encoding="ascii", errors="replace")
    except OSError:
        return "" if PROC.joinpath("self").exists() or not _is_there(number) else "there"
    fields = stat.rpartition(")")[2].split()
    return "" if fields[0] in {"Z", "X"} else fields[BEGAN]  # of a dead one only its entry is left


def _is_there(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except OSError:  # of another user
        return True
    return True


@cache
def _place() -> str:
    """The present start of the machine, and which numbers of processes are meant."""
    try:
        boot = PROC.joinpath("sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
        return f"{boot}/{(PROC / 'self/ns/pid').readlink()}"
    except OSError:
        return os.uname().nodename


@dataclass(slots=True)
class _Kept:
    """A session that is kept open, by which process, and the number of its lock."""

    connection: Connection
    process: int
    number: int


class Sessions:
    """Owners on a PostgreSQL server: each keeps a session with an advisory lock of its own."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._kept: _Kept | None = None
        self._lock = threading.Lock()

    def me(self) -> str:
        """The number of the lock that this process holds, taken anew if its session has ended."""
        with self._lock, named_failures():
            kept = self._kept
            if kept is None or kept.process != os.getpid() or not _answers(kept.connection):
                self._kept = kept = self._begun(kept)
            return f"{SESSION} {kept.number}"

    def is_dead(self, owner: str | None, connection: Connection) -> bool | None:
        """Whether nobody has the owner's lock; it is given back with the transaction."""
        kind, _, number = (owner or "").partition(" ")
        if kind != SESSION:
            return None
        return bool(connection.scalar(select(func.pg_try_advisory_xact_lock(int(number)))))

    def close(self) -> None:
        """End the session, and with it the lock."""
        with self._lock:
            kept, self._kept = self._kept, None
        if kept is not None and kept.process == os.getpid():
            kept.connection.invalidate()
            kept.connection.close()

    def _begun(self, before: _Kept | None) -> _Kept:
        """A new session; with the same number where it follows one of this process."""
        same = before is not None and before.process == os.getpid()
        number = before.number if same and before is not None else _number()
        connection = self._engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        connection.execute(select(func.pg_advisory_lock(number)))
        return _Kept(connection=connection, process=os.getpid(), number=number)


def _number() -> int:
    return int.from_bytes(os.urandom(8)) & HIGHEST_LOCK


def _answers(connection: Connection) -> bool:
    try:
        connection.execute(select(1))
    except SQLAlchemyError:
        connection.invalidate()
        connection.close()
        return False
    return True


def owners_for(engine: Engine) -> Owners:
    """The owners of a store."""
    return Processes() if engine.dialect.name == "sqlite" else Sessions(engine)
