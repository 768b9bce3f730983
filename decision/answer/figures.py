"""How a figure and a moment are published: to a thousandth of the unit, to the second."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Final, overload

DECIMALS: Final = 3
THOUSAND: Final = 10**DECIMALS
NEAR_HALF: Final = 0.49  # beyond it from a thousandth the next one may be as near: left to `round`
EXACT_BELOW: Final = 1e9  # below it a product with a thousand is off by less than NEAR_HALF allows


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
    if -EXACT_BELOW < value < EXACT_BELOW:  # in a third of the time of `round`
        thousandths = value * THOUSAND
        nearest = round(thousandths)
        if -NEAR_HALF < thousandths - nearest < NEAR_HALF:
            return nearest / THOUSAND if nearest % THOUSAND else nearest // THOUSAND
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
    return at if at is None or not at.microsecond else at.replace(microsecond=0)
