"""How a figure and a moment are published: to a thousandth of the unit, to the second."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Final, overload

DECIMALS: Final = 3


@overload
def number(value: float) -> float: ...


@overload
def number(value: float | None) -> float | None: ...


def number(value: float | None) -> float | None:
    """A figure to a thousandth, without a decimal point where it is whole.

    Raises: ValueError on a figure that is not finite, which JSON would write as null.
    """
    if value is None:
        return None
    if not math.isfinite(value):
        raise ValueError(f"not a finite number: {value}")
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


@overload
def instant(at: datetime) -> datetime: ...


@overload
def instant(at: datetime | None) -> datetime | None: ...


def instant(at: datetime | None) -> datetime | None:
    """To the second, like every time that is published."""
    return None if at is None else at.replace(microsecond=0)
