"""How many cases a property is tried on: some in the quick tier, many in the long one.

`PROPERTY_CASES` says how many stand for the hundred of the quick tier. A count that a test states
of its own accord (`@settings(max_examples=...)`) grows and shrinks with it; the others are those
of the hypothesis profile.
"""

from __future__ import annotations

import os
from typing import Any, Final

import pytest
from hypothesis import settings

QUICK: Final = 100
PROPERTY_CASES: Final = int(os.environ.get("PROPERTY_CASES", QUICK))
long_tier: Final = pytest.mark.skipif(
    PROPERTY_CASES <= QUICK, reason="asks an index: the long tier"
)
ATTRIBUTE: Final = "_hypothesis_internal_use_settings"  # where the library keeps them; tested


def in_proportion(stated: int, *, cases: int = PROPERTY_CASES) -> int:
    """What a test that states so many in the quick tier gets, and never less than one."""
    return max(1, stated * cases // QUICK)


def follow(test: Any, *, cases: int = PROPERTY_CASES) -> None:
    """Give a law that states its own count what the tier asks for."""
    own = getattr(test, ATTRIBUTE, None)
    usual = settings.default.max_examples if settings.default is not None else None
    if own is not None and own.max_examples != usual:
        most = in_proportion(own.max_examples, cases=cases)
        setattr(test, ATTRIBUTE, settings(own, max_examples=most))
