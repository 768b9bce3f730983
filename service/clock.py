"""The only clock and the only source of chance in the project, passed in by `create_app`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]
Entropy = Callable[[int], bytes]


def utc_now() -> datetime:
    """The present moment, aware, in UTC."""
    return datetime.now(UTC)


def rfc3339(at: datetime) -> str:
    """An instant as fixed-width RFC 3339 text in UTC, so that text order is time order."""
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
