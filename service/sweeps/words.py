"""What a person at a terminal reads of a sweep: the flights that need a look, soonest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

from decision.sweep.told import FailureFrom, FlightSummary, NoneLeft, Shifted

MOST_FLIGHTS: Final = 10
MOST_MOMENTS: Final = 4
MOST_NAMED: Final = 3
NOTHING: Final = "nothing at all"
WHY: Final = {
    NoneLeft.BROKEN: "every diversion breaks a rule",
    NoneLeft.NOT_KNOWN: "of a diversion something is not known",
}


def words_of(summaries: Sequence[FlightSummary]) -> Iterator[str]:
    """The flights with a failure that leaves no diversion, each with the moments from which on."""
    leaving = [each for each in summaries if each.leave_none]
    for summary in leaving[:MOST_FLIGHTS]:
        yield f"{summary.flight_id}: no diversion is left"
        yield from _moments(summary.leave_none)
    if len(leaving) > MOST_FLIGHTS:
        yield f"and {_flights(len(leaving) - MOST_FLIGHTS)} more, in the summary"
    yield f"{_flights(len(summaries))}, {len(leaving)} of them with a failure that leaves none"


def _flights(count: int) -> str:
    return "1 flight" if count == 1 else f"{count} flights"


def _moments(leave_none: Sequence[FailureFrom]) -> Iterator[str]:
    """A line for each minute and reason; they stand in that order."""
    groups = [
        (minute, because, [*found])
        for (minute, because), found in groupby(
            leave_none, key=lambda each: (each.from_minute or 0, each.because)
        )
    ]
    for minute, because, found in groups[:MOST_MOMENTS]:
        when = f"from minute {minute}" if minute else "now"
        yield f"  {when} after {_named(found)} ({WHY[because]})"
    later = sum(len(found) for *_, found in groups[MOST_MOMENTS:])
    if later:
        yield f"  later after {later} more"


def _named(found: Sequence[FailureFrom]) -> str:
    names = ", ".join(map(_name, found[:MOST_NAMED]))
    more = len(found) - MOST_NAMED
    return f"{names} and {more} more" if more > 0 else names


def _name(each: FailureFrom) -> str:
    return (" + ".join(each.failures) or NOTHING) + _shifted(each.shift)


def _shifted(shift: Shifted | None) -> str:
    if shift is None:
        return ""
    told = {
        "min of delay": shift.delay_min,
        "kt of headwind": shift.headwind_kt,
        "kg of fuel": shift.fuel_kg,
    }
    return "".join(f" {value:+g} {unit}" for unit, value in told.items() if value)
