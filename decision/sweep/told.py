"""What a sweep tells: a row for each flight, shift and failure, and a summary of each flight."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Annotated

from msgspec import Struct

from decision.answer import RowTold
from decision.fields import about, sized
from decision.sweep.asked import Shift
from decision.systems import Failure


class NoneLeft(StrEnum):
    """Why there is no diversion."""

    BROKEN = "broken"  # every one of them breaks a rule
    NOT_KNOWN = "not_known"  # of one at least something is not known


class WouldFail(Struct, frozen=True, kw_only=True, gc=False):
    """A failure that has not happened."""

    id: Annotated[str, about("Id of the profile's failure catalogue.")]
    detent: Annotated[str | None, about("Where the flaps would be jammed.")]
    position: Annotated[str | None, about("Where the slats would be jammed.")]


class Shifted(Struct, frozen=True, kw_only=True, gc=False):
    """How the flight is other than it was given."""

    delay_min: Annotated[float, about("A hold besides the planned one.", unit="min")]
    headwind_kt: Annotated[float, about("Headwind more, on every diversion.", unit="kt")]
    fuel_kg: Annotated[float, about("Fuel more on board.", unit="kg")]


def would_fail(failure: Failure) -> WouldFail:
    """A failure as it is told."""
    return WouldFail(id=failure.id, detent=failure.detent, position=failure.position)


def shift_told(shift: Shift | None) -> Shifted | None:
    """A shift as it is told; None: there is none."""
    if shift is None:
        return None
    return Shifted(delay_min=shift.delay_min, headwind_kt=shift.headwind_kt, fuel_kg=shift.fuel_kg)


class SweepRow(Struct, frozen=True, kw_only=True, gc=False):
    """One flight with one failure, or two."""

    flight: Annotated[int, about("Number of the flight in the request, from 0.", low=0)]
    flight_id: Annotated[str, about("As in the case.")]
    failures: Annotated[tuple[WouldFail, ...], about("What would fail, besides what has failed.")]
    shift: Annotated[Shifted | None, about("Null: the flight as it is given.")]
    row: Annotated[
        RowTold | None,
        about("What a batch tells of the same case as a row; null: `contradicted` says why."),
    ]
    none_left: Annotated[
        NoneLeft | None, about("Why no diversion is left now; null: there is one.")
    ]
    only_place: Annotated[
        str | None, about("The one place that is left to divert to; null: more, or none.")
    ]
    from_minute: Annotated[
        int | None,
        about(
            "Minutes of continuing after which the failure would leave no diversion: then none is"
            " left, a minute earlier one was. Null: not asked, or at no minute that was looked at.",
            unit="min",
        ),
    ]
    from_because: Annotated[NoneLeft | None, about("Why there is none then.")]
    looked_to_minute: Annotated[
        int | None,
        about(
            "How far it was looked ahead: to the approach, at most an hour; null: not asked.",
            unit="min",
        ),
    ]
    contradicted: Annotated[
        str | None, about("Why the flight cannot have these failures; null: it can.")
    ]

    @property
    def named(self) -> str:
        """The failures by their ids."""
        return " + ".join(each.id for each in self.failures)


class FailureFrom(Struct, frozen=True, kw_only=True, gc=False):
    """A failure that would leave no diversion."""

    failures: Annotated[tuple[str, ...], about("Ids of what would fail.")]
    shift: Annotated[Shifted | None, about("Null: the flight as it is given.")]
    from_minute: Annotated[
        int | None, about("Minutes of continuing; 0: now. Null: not asked.", unit="min")
    ]
    because: Annotated[NoneLeft, about("Why.")]


class OnlyPlace(Struct, frozen=True, kw_only=True, gc=False):
    """A place on which a flight depends, should one of these fail now."""

    aerodrome: Annotated[str, about("The one place that is left to divert to.")]
    failures: Annotated[
        tuple[tuple[str, ...], ...], about("Ids of what would fail, the flight as it is given.")
    ]


class FlightSummary(Struct, frozen=True, kw_only=True, gc=False):
    """What of a flight needs a look, soonest first."""

    summary: Annotated[bool, about("true: a summary and no row.")] = True
    flight: Annotated[int, about("Number of the flight in the request, from 0.", low=0)]
    flight_id: Annotated[str, about("As in the case.")]
    rows: Annotated[int, about("How many rows it has.", low=0)]
    contradicted: Annotated[int, about("Of them those that its state contradicts.", low=0)]
    first_minute: Annotated[
        int | None,
        about("The soonest of `leave_none`; null: no failure of them leaves none.", unit="min"),
    ]
    leave_none: Annotated[
        tuple[FailureFrom, ...], sized("Failures that leave no diversion, the soonest first.")
    ]
    only_place: Annotated[tuple[OnlyPlace, ...], about("Places that would be the only one.")]


def summary_of(rows: Sequence[SweepRow]) -> FlightSummary:
    """Of all rows of one flight, at least one."""
    leaving = [_leaving(each) for each in rows]
    leave_none = sorted(filter(None, leaving), key=_soonest)
    return FlightSummary(
        flight=rows[0].flight,
        flight_id=rows[0].flight_id,
        rows=len(rows),
        contradicted=sum(each.contradicted is not None for each in rows),
        first_minute=min((each.from_minute or 0 for each in leave_none), default=None),
        leave_none=tuple(leave_none),
        only_place=tuple(_only_places(rows)),
    )


def _leaving(row: SweepRow) -> FailureFrom | None:
    because = row.none_left or row.from_because
    if because is None:
        return None
    return FailureFrom(
        failures=tuple(each.id for each in row.failures),
        shift=row.shift,
        from_minute=0 if row.none_left is not None else row.from_minute,
        because=because,
    )


def _soonest(found: FailureFrom) -> tuple[int, bool]:
    return found.from_minute or 0, found.because is NoneLeft.NOT_KNOWN


def _only_places(rows: Sequence[SweepRow]) -> list[OnlyPlace]:
    found: dict[str, list[tuple[str, ...]]] = {}
    for row in rows:
        if row.only_place is not None and row.shift is None:
            found.setdefault(row.only_place, []).append(tuple(each.id for each in row.failures))
    return [OnlyPlace(aerodrome=icao, failures=tuple(each)) for icao, each in found.items()]
