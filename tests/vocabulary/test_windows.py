"""Window algebra against a set of minutes, the slow and obvious oracle."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.windows import (
    Window,
    around,
    clock_text,
    covers,
    gaps,
    instant_text,
    minutes_between,
    union,
)

T0 = datetime(2026, 3, 14, 6, 0, tzinfo=UTC)
DAY_MIN = 200


def at(minute: int) -> datetime:
    return T0 + timedelta(minutes=minute)


@st.composite
def windows(draw: st.DrawFn) -> Window:
    start = draw(st.integers(0, DAY_MIN - 1))
    return Window(at(start), at(draw(st.integers(start + 1, DAY_MIN))))


def minutes(*spans: Window) -> set[int]:
    return {minute for span in spans for minute in range(DAY_MIN) if at(minute) in span}


def test_a_window_excludes_its_end() -> None:
    window = Window(at(0), at(10))
    assert at(0) in window
    assert at(10) not in window


def test_windows_that_only_touch_do_not_overlap() -> None:
    early, late = Window(at(0), at(5)), Window(at(5), at(9))
    assert not early.overlaps(late)
    assert not late.overlaps(early)
    assert early.overlaps(Window(at(4), at(9)))


def test_minutes_between_instants_have_their_direction() -> None:
    assert minutes_between(at(10), at(25)) == 15.0
    assert minutes_between(at(25), at(10)) == -15.0


def test_an_instant_is_told_to_the_second_and_as_a_crew_reads_it() -> None:
    assert instant_text(at(65)) == "2026-03-14T07:05:00Z"
    assert clock_text(at(65)) == "07:05Z"


def test_adjacent_windows_merge() -> None:
    assert union([Window(at(5), at(9)), Window(at(0), at(5))]) == (Window(at(0), at(9)),)


def test_a_window_around_an_instant_spans_both_sides() -> None:
    assert around(at(30), before_min=10, after_min=5) == Window(at(20), at(35))
    assert around(at(30), before_min=10, after_min=5).duration == timedelta(minutes=15)


@pytest.mark.parametrize(
    ("start", "end"),
    [
        pytest.param(at(5), at(5), id="empty"),
        pytest.param(at(6), at(5), id="backwards"),
        pytest.param(at(0).replace(tzinfo=None), at(5), id="naive start"),
        pytest.param(at(0), at(5).astimezone(timezone(timedelta(hours=1))), id="other zone"),
    ],
)
def test_an_impossible_window_cannot_be_built(start: datetime, end: datetime) -> None:
    with pytest.raises(ValueError, match="window"):
        Window(start, end)


@given(windows(), windows())
def test_windows_overlap_where_they_have_a_common_part(one: Window, other: Window) -> None:
    assert one.overlaps(other) == ((one & other) is not None)


@given(windows(), windows())
def test_the_common_part_is_the_common_minutes(one: Window, other: Window) -> None:
    common = one & other
    assert (set() if common is None else minutes(common)) == minutes(one) & minutes(other)


@given(st.lists(windows(), max_size=6))
def test_a_union_has_the_same_minutes_in_order_and_apart(spans: list[Window]) -> None:
    merged = union(spans)
    assert minutes(*merged) == minutes(*spans)
    assert all(a.end_at < b.start_at for a, b in pairwise(merged))


@given(st.lists(windows(), max_size=6), windows())
def test_gaps_are_the_minutes_that_nothing_covers(spans: list[Window], within: Window) -> None:
    left = gaps(spans, within)
    assert minutes(*left) == minutes(within) - minutes(*spans)
    assert covers(spans, within) == (not left)
