"""What the routes need of a store, and nothing more: no SQL, no engine, no HTTP.

A record is append-only: it is never changed, so its bytes can be handed out for ever. An
idempotency key is reserved *before* the work and completed with it; a check followed by an insert
would let two concurrent requests both decide.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Protocol

FORMAT: Final = 2
"""The version of the format in which answers are told now."""


class StoreUnavailable(Exception):
    """The store cannot be reached or refused the work; the request may be repeated later."""


class StoreNotUnderstood(StoreUnavailable):
    """The store answers, but its tables are not those of this version."""


class StoreDamaged(Exception):
    """What the store has is not what was put there; it is not handed out."""


class Purged(Exception):
    """The decision was recorded, and its bodies have been removed since."""


class KeyReused(Exception):
    """The idempotency key belongs to another request body."""


class KeyInProgress(Exception):
    """A request with the same idempotency key has not ended yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A decision about to be recorded. `response` is the exact answer, `request` the exact body.

    `format` is the version of the answer's format, `whole` the answer with all that was computed,
    `caller` who asked: empty where nobody has to say.
    """

    decision_id: str
    flight_id: str
    as_of: str
    verdict: str
    created_at: datetime
    request: bytes
    response: bytes
    whole: bytes | None = None
    format: int = FORMAT
    caller: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A recorded decision as it is read back; `digest` is the SHA-256 of the response."""

    decision_id: str
    response: bytes
    digest: str
    format: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredDecision:
    """A recorded decision with the body that it answered.

    `whole` is the answer with all that was computed: None where it is not kept, and in lists.
    """

    decision_id: str
    created_at: str
    request: bytes
    response: bytes
    whole: bytes | None
    format: int

    @property
    def fullest(self) -> bytes:
        """The whole answer, where it is kept; else what was sent of it."""
        return self.response if self.whole is None else self.whole


@dataclass(frozen=True, slots=True, kw_only=True)
class DamagedDecision:
    """A recorded decision that cannot be handed out, and why."""

    decision_id: str
    created_at: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reservation:
    """Leave to do the work for a key; `decision_id` is the identifier to do it under."""

    key: str
    decision_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """The work for a key has been done already."""

    record: Record


Kept = StoredDecision | DamagedDecision
"""What is listed: one record that is damaged does not hide the others."""


class DecisionLog(Protocol):
    """An append-only log of decisions. Every method may raise StoreUnavailable."""

    def reserve(
        self, *, key: str, request: bytes, decision_id: str, at: datetime
    ) -> Reservation | Replay:
        """Claim a key for a body. Raises: KeyReused, KeyInProgress."""

    def release(self, reservation: Reservation) -> None:
        """Give a key back, since its request came to nothing."""

    def record(self, draft: Draft, reservation: Reservation | None = None) -> Record:
        """Append a decision. Raises: KeyInProgress if the reservation was lost to another."""

    def find(self, decision_id: str) -> Record | None:
        """The decision of that identifier, or None. Raises: StoreDamaged, Purged."""

    def told(self, decision_id: str) -> StoredDecision | None:
        """The decision of that identifier with all that is kept of it, or None.

        Raises: StoreDamaged, Purged.
        """

    def of_flight(self, flight_id: str, *, limit: int, before: str | None = None) -> list[Kept]:
        """The newest decisions of a flight, the last recorded first; only those that were recorded
        before the one of the id `before`.
        """

    def latest(
        self, first: str, *, since: datetime, verdict: str | None, limit: int, most: int
    ) -> Mapping[str, Sequence[Kept]]:
        """The newest decisions of each flight, at most so many, newest first, as are the flights:
        those of which the newest one has an id from the first on and was recorded since then; only
        of a verdict, where that is the newest one's.
        """

    def check(self) -> None:
        """Return if the store answers and takes what is written. Raises: StoreNotUnderstood."""


def digest(content: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()
