"""Which key, or session, a secret belongs to: asked of the store, and remembered for some seconds.

While it is remembered, that a key was taken back is not seen yet; that it has ended is.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from hmac import compare_digest
from typing import Final

from service.clock import rfc3339
from service.door.limits import Seconds
from service.keytext import KeyText, digest_of
from service.store.access import USED_EACH, Secret, SqlAccess
from service.store.port import StoreUnavailable

REMEMBERED_S: Final = 5.0  # [ASSUMED] as long as a key that was taken back may go on
MOST_REMEMBERED: Final = 1_024  # [ASSUMED] more than a service has keys and sessions in use
NO_DIGEST: Final = digest_of("")  # of no key: its text has a form


@dataclass(slots=True)
class KnownSecrets:
    """What one process remembers of secrets."""

    access: SqlAccess
    seconds: Seconds
    _found: OrderedDict[str, tuple[float, Secret]] = field(default_factory=OrderedDict)
    _used: dict[str, float] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def of_key(self, key: KeyText) -> Secret | None:
        """The secret that a key has, whether or not it still opens anything; None: no such key."""
        return self._remembered(key.digest, lambda: self._looked_up(key))

    def of_session(self, token: str) -> Secret | None:
        """The secret that a session was begun with; None: no such session."""
        digest = digest_of(token)
        return self._remembered(digest, lambda: self.access.of_session(digest))

    def forget(self, token: str) -> None:
        """Ask the store the next time."""
        with self._lock:
            self._found.pop(digest_of(token), None)

    def used(self, secret: Secret, at: datetime) -> None:
        """Note that a key was used: from this process once a minute. A store that fails does not
        keep anybody out who is known.
        """
        now_s = self.seconds()
        with self._lock:
            last_s = self._used.get(secret.identifier)
            if last_s is not None and now_s - last_s < USED_EACH.total_seconds():
                return
            self._used[secret.identifier] = now_s
        with suppress(StoreUnavailable):
            self.access.used(secret.identifier, at=at)

    def _remembered(self, digest: str, look: Callable[[], Secret | None]) -> Secret | None:
        now_s = self.seconds()
        with self._lock:
            until_s, found = self._found.get(digest, (now_s, None))
        if found is not None and now_s < until_s:
            return found
        found = look()
        with self._lock:
            self._found.pop(digest, None)
            if found is not None:
                self._found[digest] = (now_s + REMEMBERED_S, found)
            if len(self._found) > MOST_REMEMBERED:
                self._found.popitem(last=False)
        return found

    def _looked_up(self, key: KeyText) -> Secret | None:
        """Every secret of the key is compared, and one of no key: the time tells nothing."""
        found = None
        compare_digest(NO_DIGEST, key.digest)
        for each in self.access.secrets_of(key.identifier):
            if compare_digest(each.digest, key.digest):
                found = each
        return found


def has_ended(secret: Secret, at: datetime) -> bool:
    """Whether a secret opens nothing any more by an instant, taken back or not."""
    return secret.ends_at is not None and secret.ends_at <= rfc3339(at)
