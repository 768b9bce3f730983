"""The window of weather that an approach is judged by."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from decision.attempt.arrival import window_of_approach

AT = datetime(2026, 3, 14, 6, 40, tzinfo=UTC)


def test_an_approach_is_judged_by_the_quarter_of_an_hour_from_its_minimum() -> None:
    """Decision semantics, section 3: operating minima over [ETA, ETA + 15 min]."""
    window = window_of_approach(AT)
    assert (window.start_at, window.end_at) == (AT, AT + timedelta(minutes=15))
