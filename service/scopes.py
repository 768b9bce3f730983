"""What an address asks of whoever calls it; each says so in its declaration."""

from __future__ import annotations

from enum import StrEnum


class Scope(StrEnum):
    """What a caller must be let in for; none includes another."""

    OPEN = "open"
    """Nothing."""
    READ = "read"
    """To see what is recorded, loaded, counted and written, and to use the tools."""
    DECIDE = "decide"
    """To have something decided."""
    ADMIN = "admin"
    """To see who did what."""
