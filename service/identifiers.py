"""Decision identifiers: time-ordered random UUIDs (RFC 9562, version 7)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Final
from uuid import UUID

RANDOM_BYTES: Final = 10
EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
MILLISECOND: Final = timedelta(milliseconds=1)
VERSION: Final = 7
VARIANT: Final = 0b10


def earliest_id(at: datetime) -> str:
    """What every identifier made at or after that moment is not before, as text."""
    return decision_id(at=at, random=bytes(RANDOM_BYTES))


def decision_id(*, at: datetime, random: bytes) -> str:
    """A version 7 UUID: 48 bits of Unix milliseconds, then 74 bits of the ten random bytes.

    Identifiers made in later milliseconds sort later as text. Raises: ValueError unless
    exactly ten bytes are given.
    """
    if len(random) != RANDOM_BYTES:
        raise ValueError(f"needs {RANDOM_BYTES} random bytes, got {len(random)}")
    milliseconds = (at - EPOCH) // MILLISECOND  # whole: a float would lose some
    high = int.from_bytes(random[:2]) & 0xFFF  # 12 bits beside the version
    low = int.from_bytes(random[2:]) & ((1 << 62) - 1)  # 62 bits beside the variant
    return str(UUID(int=milliseconds << 80 | VERSION << 76 | high << 64 | VARIANT << 62 | low))
