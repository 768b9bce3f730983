"""The approach ban against a slow reading of the same generated groups, minute by minute.

The minimum is a visibility, so that nothing is converted; the oracle knows the groups, the rule the
text. Written from the words of the semantics: what is reported decides in windows that begin within
an hour of it; later the prevailing forecast, too; a bar stands until a named group improves on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Final

from hypothesis import given
from hypothesis import strategies as st

from decision.rules.approach import approach_ban, barred, may_be_barred
from decision.rules.finding import Outcome
from decision.weather.use import Reading
from decision.windows import Window
from tests.changing import replace
from tests.rules.builders import PROCEDURE, attempt, context, drawn
from tests.weather.conditions_builders import see
from tests.weather.test_conditions_oracle import (
    NOW,
    STEP,
    Group,
    Seen,
    forecasts,
    heard,
    names,
    near_windows,
    observed,
    prevailing,
    raw,
)

BY_READING: Final = {Reading.PERSISTENT: "easa", Reading.CONDITIONAL: "faa-121"}
OVERLAYS: Final = ("TEMPO", "PROB30", "PROB30 TEMPO")


def minutes(over: Window) -> list[timedelta]:
    return [STEP * each for each in range((over.end_at - over.start_at) // STEP)]


def governs(groups: Sequence[Group], over: Window) -> float:
    """The least prevailing visibility of a window."""
    return min(
        float(group.visibility or 0)
        for after in minutes(over)
        for group in prevailing(groups, over.start_at + after, "visibility")
    )


def outcome(seen: Seen, groups: Sequence[Group], over: Window, limit_m: float) -> tuple[str, bool]:
    """What the ban finds, and whether the report alone decides."""
    speaks = heard(seen, groups, over, "visibility")
    reported_low = speaks and float(seen.body.visibility or 0) < limit_m
    on_report = speaks and over.start_at <= seen.at + timedelta(hours=1)
    if on_report:
        return ("FAIL" if reported_low else "PASS"), True
    return ("FAIL" if reported_low or governs(groups, over) < limit_m else "PASS"), False


def perhaps(groups: Sequence[Group], over: Window, limit_m: float, *, on_report: bool) -> set[str]:
    """The groups under the minimum that bar nothing."""
    said = set()
    for after in minutes(over):
        t = over.start_at + after
        told = [each for each in groups if each.kind in OVERLAYS and each.start <= t < each.end]
        told += prevailing(groups, t, "visibility") if on_report else []
        said |= {
            each.text
            for each in told
            if names(each, "visibility") and float(each.visibility or 0) < limit_m
        }
    return said


@given(forecasts(), near_windows(), st.sampled_from(Reading), observed(trends=False))
def test_the_ban_is_what_a_slow_reading_finds(
    groups: list[Group], over: Window, reading: Reading, seen: Seen
) -> None:
    where = context(BY_READING[reading])
    told = see(seen.text, raw(groups), as_of=NOW, over=over, reading=reading)
    procedure = replace(PROCEDURE, rvr_m=None, visibility_m=1500.0)
    at = drawn(attempt(approach=procedure, weather=told, window=over, at=over.start_at), where)
    assert at.minima is not None
    limit_m = at.minima.visibility_m
    assert limit_m is not None
    expected, on_report = outcome(seen, groups, over, limit_m)
    judged = approach_ban(at, where)
    assert judged.outcome is Outcome(expected)
    assert barred(at, where) is (expected == "FAIL")
    said = {each.text for each in may_be_barred(at, where)}
    low = perhaps(groups, over, limit_m, on_report=on_report) if expected == "PASS" else set()
    assert said == low
