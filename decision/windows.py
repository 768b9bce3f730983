"""Half-open intervals of time, [start, end), in aware UTC, and the algebra on them.

Adjacent windows merge, an empty result is the empty tuple, and nothing here reads a clock.
A set of windows is a tuple sorted by start with no overlaps, as `union` returns it.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import Instant, about

UTC_OFFSET: Final = timedelta(0)
MINUTE: Final = timedelta(minutes=1)


def minutes_between(start_at: datetime, end_at: datetime) -> float:
    """Minutes from one instant to another; negative if the second comes first."""
    return (end_at - start_at) / MINUTE


def instant_text(at: datetime) -> str:
    """An instant in UTC as RFC 3339 text, to the second."""
    return at.strftime("%Y-%m-%dT%H:%M:%SZ")


def clock_text(at: datetime) -> str:
    """Hour and minute in UTC, as a crew reads them; `strftime` takes ten times as long."""
    return f"{at.hour:02d}:{at.minute:02d}Z"


class Window(
    Struct, frozen=True, order=True, gc=False, rename={"start_at": "start", "end_at": "end"}
):
    """A span of time that excludes its end. Raises ValueError if empty or not in aware UTC."""

    start_at: Annotated[Instant, about("First instant.")]
    end_at: Annotated[Instant, about("End, not included.")]

    def __post_init__(self) -> None:
        if self.start_at.utcoffset() != UTC_OFFSET or self.end_at.utcoffset() != UTC_OFFSET:
            raise ValueError("a window needs aware UTC instants")
        if self.start_at >= self.end_at:
            raise ValueError(f"a window must not be empty: {self.start_at} to {self.end_at}")

    def __contains__(self, at: datetime) -> bool:
        return self.start_at <= at < self.end_at

    def __and__(self, other: Window) -> Window | None:
        """The common part, or None."""
        start_at, end_at = max(self.start_at, other.start_at), min(self.end_at, other.end_at)
        return Window(start_at, end_at) if start_at < end_at else None

    def overlaps(self, other: Window) -> bool:
        """Whether there is a common part."""
        return self.start_at < other.end_at and other.start_at < self.end_at

    @property
    def duration(self) -> timedelta:
        """Length of the window."""
        return self.end_at - self.start_at


def around(at: datetime, *, before_min: float, after_min: float) -> Window:
    """The window from `before_min` before an instant to `after_min` after it."""
    return Window(at - timedelta(minutes=before_min), at + timedelta(minutes=after_min))


def union(windows: Iterable[Window]) -> tuple[Window, ...]:
    """All time covered by any window, merged and sorted."""
    merged: list[Window] = []
    for window in sorted(windows):
        if merged and window.start_at <= merged[-1].end_at:
            last = merged.pop()
            merged.append(Window(last.start_at, max(last.end_at, window.end_at)))
        else:
            merged.append(window)
    return tuple(merged)


def gaps(windows: Iterable[Window], within: Window) -> tuple[Window, ...]:
    """The parts of `within` that no window covers."""
    left: list[Window] = []
    cursor_at = within.start_at
    for window in union(windows):
        common = window & within
        if common is None:
            continue
        if cursor_at < common.start_at:
            left.append(Window(cursor_at, common.start_at))
        cursor_at = common.end_at
    if cursor_at < within.end_at:
        left.append(Window(cursor_at, within.end_at))
    return tuple(left)


def covers(windows: Iterable[Window], within: Window) -> bool:
    """Whether the windows together leave no gap in `within`."""
    return not gaps(windows, within)
