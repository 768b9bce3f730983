"""Minutes as pages count them, by the service's clock; `script/clock.js` counts alike."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil, floor
from typing import Final

HOURS_FROM_MIN: Final = 180
DAYS_FROM_H: Final = 48
MINUTES_PER_HOUR: Final = 60
HOURS_PER_DAY: Final = 24


def left_min(at: datetime, now: datetime) -> int:
    """Whole minutes until then, never more than there are."""
    return max(0, floor((at - now) / timedelta(minutes=1)))


def passed_min(at: datetime, now: datetime) -> int:
    """Whole minutes since then, never fewer than have passed."""
    return max(0, ceil((now - at) / timedelta(minutes=1)))


def span(minutes: int) -> tuple[str, str]:
    """A number of minutes as a figure and its unit; of long ago in hours or days."""
    if minutes < HOURS_FROM_MIN:
        return str(minutes), "min"
    hours = minutes // MINUTES_PER_HOUR
    if hours < DAYS_FROM_H:
        return str(hours), "h"
    return str(hours // HOURS_PER_DAY), "days"
