"""Idempotency keys: claimed before the work, completed with it, taken over from the dead.

A key is claimed in a transaction of its own. Whoever finds it claimed asks who holds it: a process
that lives keeps it, however long it takes; of one that is dead, or that has given up on it without
being able to say so, it is taken over.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy import ColumnElement, Connection, Engine, delete, insert, select, update

from service.clock import rfc3339
from service.store.engines import AlreadyThere, writing
from service.store.owners import Owners
from service.store.port import KeyInProgress, KeyReused, Record, Replay, Reservation, digest
from service.store.tables import KEYS

ABANDONED_AFTER: Final = timedelta(minutes=2)
"""[ASSUMED] A reservation this old, of an owner of whom nobody can say whether it lives, is taken
over: far above the longest request."""

_worked_on: Final[set[tuple[str, str, str]]] = set()
"""What this process works on: store, key, decision. What it holds besides was left behind by a
request that could not give it back."""
_lock: Final = threading.Lock()

Found = Callable[[Connection, str], Record | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Keys:
    """The keys of one store; `find` looks for the decision of an id."""

    engine: Engine
    owners: Owners
    find: Found

    def reserve(
        self, *, key: str, request: bytes, decision_id: str, at: datetime
    ) -> Reservation | Replay:
        """Claim a key for a body, or hand back what was recorded under it.

        Raises: KeyReused, KeyInProgress, StoreUnavailable.
        """
        claim = Reservation(key=key, decision_id=decision_id)
        row = {
            "key": key,
            "request_digest": digest(request),
            "decision_id": decision_id,
            "reserved_at": rfc3339(at),
            "owner": self.owners.me(),
        }
        self._begin(claim)
        try:
            try:
                with writing(self.engine) as connection:
                    connection.execute(insert(KEYS).values(**row))
            except AlreadyThere:
                with writing(self.engine) as connection:
                    done = self._taken_over(connection, row)
                if done is not None:
                    self.end(claim)
                    return done
        except BaseException:
            self.end(claim)
            raise
        return claim

    def release(self, reservation: Reservation) -> None:
        """Give a key back, unless it has been taken over. Raises: StoreUnavailable."""
        self.end(reservation)
        with writing(self.engine) as connection:
            connection.execute(delete(KEYS).where(*_held_by(reservation)))

    def confirm(self, connection: Connection, reservation: Reservation) -> None:
        """Lock the key's row and be sure that nobody has taken it over in the meantime.

        Raises: KeyInProgress.
        """
        held = connection.execute(
            update(KEYS).where(*_held_by(reservation)).values(decision_id=reservation.decision_id)
        )
        if held.rowcount != 1:
            raise KeyInProgress(reservation.key)

    def end(self, reservation: Reservation) -> None:
        """Nobody in this process works on it any more."""
        with _lock:
            _worked_on.discard(self._place(reservation))

    def _begin(self, reservation: Reservation) -> None:
        with _lock:
            _worked_on.add(self._place(reservation))

    def _place(self, reservation: Reservation) -> tuple[str, str, str]:
        return str(self.engine.url), reservation.key, reservation.decision_id

    def _taken_over(self, connection: Connection, claim: dict[str, Any]) -> Replay | None:
        """What was recorded under a key; None: it is the claimant's now. Raises as `reserve`."""
        held = connection.execute(
            select(KEYS).where(KEYS.c.key == claim["key"]).with_for_update()
        ).first()
        if held is None:  # released between the two transactions
            raise KeyInProgress(claim["key"])
        if held.request_digest != claim["request_digest"]:
            raise KeyReused(claim["key"])
        done = self.find(connection, held.decision_id)
        if done is not None:
            return Replay(record=done)
        if not self._is_left(connection, held, claim):
            raise KeyInProgress(claim["key"])
        connection.execute(update(KEYS).where(KEYS.c.key == claim["key"]).values(**claim))
        return None

    def _is_left(self, connection: Connection, held: Any, claim: dict[str, Any]) -> bool:  # noqa: ANN401 - a row
        """Whether nobody works any more under a key that is held."""
        if held.owner == claim["owner"]:
            place = self._place(Reservation(key=held.key, decision_id=held.decision_id))
            with _lock:
                return place not in _worked_on
        dead = self.owners.is_dead(held.owner, connection)
        if dead is None:
            at = datetime.fromisoformat(claim["reserved_at"])
            return bool(held.reserved_at <= rfc3339(at - ABANDONED_AFTER))
        return dead


def _held_by(reservation: Reservation) -> tuple[ColumnElement[bool], ...]:
    return (KEYS.c.key == reservation.key, KEYS.c.decision_id == reservation.decision_id)
