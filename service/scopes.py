"""What a key may be used for: every address says in its declaration which of these it asks for."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum
from typing import Final


class Scope(StrEnum):
    """What an address asks of whoever calls it; none includes another."""

    OPEN = "open"
    """Nothing: no key carries it."""
    READ = "read"
    """To see what is recorded, loaded, counted and written, and to use the tools."""
    DECIDE = "decide"
    """To have something decided."""
    ADMIN = "admin"
    """To see who did what."""


GIVEN: Final = (Scope.DECIDE, Scope.READ, Scope.ADMIN)
"""Those that a key can have."""


def scopes_text(scopes: Collection[Scope]) -> str:
    """Scopes in one text, in the order of `GIVEN`, as the store keeps them."""
    return " ".join(each.value for each in GIVEN if each in scopes)


def scopes_of(text: str) -> frozenset[Scope]:
    """Scopes from text, with spaces or commas between. Raises: ValueError naming what is none."""
    known = {each.value: each for each in GIVEN}
    words = text.replace(",", " ").split()
    wrong = [word for word in words if word not in known]
    if wrong or not words:
        raise ValueError(f"must be of {', '.join(known)}")
    return frozenset(known[word] for word in words)
