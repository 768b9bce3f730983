"""What the functions of `decision` remember: how many values each keeps, and how many it may.

They are found by looking through the modules that are loaded, so that `decision` knows nothing of
being counted. What has no bound must be a table that is read once.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Final

ROOM: Final = "decision"
KEEPER: Final = type(lru_cache(maxsize=1)(lambda: None))

Keeper = Any
"""A function that remembers: what `lru_cache` and `cache` make of one."""


@cache
def keepers() -> tuple[Keeper, ...]:
    """Every function that remembers, once, however many modules it stands in."""
    loaded = sorted(name for name in sys.modules if name.startswith(f"{ROOM}."))
    standing = (value for module in loaded for value in vars(sys.modules[module]).values())
    return tuple({id(value): value for value in standing if isinstance(value, KEEPER)}.values())


def name_of(keeper: Keeper) -> str:
    """The function of which values are kept, with its module."""
    return f"{keeper.__module__.removeprefix(f'{ROOM}.')}.{keeper.__qualname__}"


@cache
def _bounded() -> tuple[tuple[str, Keeper], ...]:
    bounded = [each for each in keepers() if each.cache_parameters()["maxsize"] is not None]
    return tuple((name_of(keeper), keeper) for keeper in bounded)


@dataclass(slots=True, kw_only=True)
class Remembered:
    """What a function has remembered: values at present, and how often one was asked for that was
    known, or new.
    """

    values: int = 0
    known: int = 0
    new: int = 0


def kept() -> Mapping[str, Remembered]:
    """What each function remembers, where a bound ends it.

    Two may keep values of the same function, one behind the other.
    """
    found: dict[str, Remembered] = {}
    for name, keeper in _bounded():
        info, seen = keeper.cache_info(), found.setdefault(name, Remembered())
        seen.values += info.currsize
        seen.known += info.hits
        seen.new += info.misses
    return found
