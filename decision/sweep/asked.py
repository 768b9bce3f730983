"""What a sweep asks: which failures, which shifts, and from when on."""

from __future__ import annotations

from typing import Annotated, Any, Final

from msgspec import Struct

from decision.fields import about, sized
from decision.systems import Failure
from decision.what_if.vary import DELAY_TRIED, HEADWIND_TRIED

MOST_FLIGHTS: Final = 1000  # [ASSUMED] of one request; the command takes any number
MOST_SHIFTS: Final = 8  # [ASSUMED]
LONGEST_MIN: Final = 60  # of continuing; what is further off will be asked again before


class Shift(Struct, frozen=True, kw_only=True, gc=False):
    """How the flights are other than they are given: all of it at once."""

    delay_min: Annotated[DELAY_TRIED, about("A hold besides the planned one.")] = 0.0
    headwind_kt: Annotated[
        HEADWIND_TRIED, about("Headwind more than is known, on every diversion.")
    ] = 0.0
    fuel_kg: Annotated[
        float,
        about("Fuel more on board, and that much heavier.", low=-20_000, high=20_000, unit="kg"),
    ] = 0.0


class SweepScope(Struct, frozen=True, kw_only=True, gc=False):
    """What each flight of a sweep is asked with."""

    failures: Annotated[
        tuple[Annotated[Failure, about("a failure")], ...],
        sized(
            "Failures that each flight is asked with, one at a time, besides those that it has."
            " None: every failure of its profile, flaps and slats jammed where they are.",
            longest=200,
        ),
    ] = ()
    as_it_is: Annotated[bool, about("true: a row of the flight without any of them, first.")] = (
        False
    )
    pairs: Annotated[bool, about("true: every two of them together as well.")] = False
    shifts: Annotated[
        tuple[Annotated[Shift, about("a shift")], ...],
        sized(
            "Each flight is asked as it is, and as it is with each of these.", longest=MOST_SHIFTS
        ),
    ] = ()
    from_minute: Annotated[
        bool,
        about(
            "true: from which minute on of continuing a failure would leave no diversion, to"
            f" {LONGEST_MIN}."
        ),
    ] = False


class SweepAsked(SweepScope, frozen=True, kw_only=True, gc=False):
    """Many flights, each with failures that have not happened."""

    flights: Annotated[
        tuple[Annotated[dict[str, Any], about("a case, as it is decided by itself")], ...],
        sized("The flights as they are now.", shortest=1, longest=MOST_FLIGHTS),
    ]
