"""How many cases a property is tried on: some in the quick tier, many in the long one.

`PROPERTY_CASES` is how many seeded cases each property from outside has; 100 in the quick tier.
Laws that draw their own have the count of the hypothesis profile, and a count that one states of
its own accord (`@settings(max_examples=...)`) grows and shrinks with that: it is what the quick
tier has.
"""

from __future__ import annotations

import os
from typing import Any, Final

import pytest
from hypothesis import settings

QUICK: Final = 100
PROPERTY_CASES: Final = int(os.environ.get("PROPERTY_CASES", QUICK))
ROUNDS: Final = 6 if PROPERTY_CASES <= QUICK else 120  # in which processes are killed
ROUNDS_OF_ANOTHER: Final = 2 if PROPERTY_CASES <= QUICK else 60  # of them on another database
GENERATED: Final = 8 if PROPERTY_CASES <= QUICK else 5_600  # requests over the whole document
GUESSES: Final = 50 if PROPERTY_CASES <= QUICK else 20_000  # of keys
LOAD_S: Final = 1.0 if PROPERTY_CASES <= QUICK else 60.0  # of each kind of load
IS_LONG: Final = PROPERTY_CASES > QUICK
long_tier: Final = pytest.mark.skipif(
    PROPERTY_CASES <= QUICK, reason="asks an index: the long tier"
)
takes_long: Final = pytest.mark.skipif(
    PROPERTY_CASES <= QUICK, reason="takes long beside what it adds: the long tier"
)
ATTRIBUTE: Final = "_hypothesis_internal_use_settings"  # where the library keeps them; tested


def of_profile() -> int:
    """How many cases a law without a count of its own has."""
    return QUICK if settings.default is None else settings.default.max_examples


def in_proportion(stated: int, *, usual: int | None = None) -> int:
    """What a law that states so many in the quick tier gets, and never less than one.

    `usual`: how many laws without a count of their own get, where that is not by the profile.
    """
    return max(1, stated * (of_profile() if usual is None else usual) // QUICK)


def follow(test: Any, *, usual: int | None = None) -> None:
    """Give a law that states its own count what the tier asks for: by the profile, or `usual`."""
    own = getattr(test, ATTRIBUTE, None)
    if own is not None and own.max_examples != of_profile():
        most = in_proportion(own.max_examples, usual=usual)
        setattr(test, ATTRIBUTE, settings(own, max_examples=most))
