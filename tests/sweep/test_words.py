"""What the command says of a sweep: soonest first, grouped, and nothing left uncounted."""

from __future__ import annotations

from decision.sweep.told import FailureFrom, FlightSummary, NoneLeft, Shifted
from service.sweeps.words import MOST_FLIGHTS, MOST_MOMENTS, words_of


def leaving(
    *names: str, minute: int | None, because: NoneLeft = NoneLeft.BROKEN, fuel_kg: float = 0.0
) -> FailureFrom:
    shift = Shifted(delay_min=0.0, headwind_kt=0.0, fuel_kg=fuel_kg) if fuel_kg else None
    return FailureFrom(failures=names, shift=shift, from_minute=minute, because=because)


def summary(*leave_none: FailureFrom, flight_id: str = "VENTO 1") -> FlightSummary:
    return FlightSummary(
        flight=0,
        flight_id=flight_id,
        rows=86,
        contradicted=0,
        first_minute=leave_none[0].from_minute if leave_none else None,
        leave_none=leave_none,
        only_place=(),
    )


def test_failures_stand_by_the_minute_and_the_reason_and_those_beyond_three_are_counted() -> None:
    of = summary(
        leaving("a", minute=0),
        leaving("b", "c", minute=0),
        leaving("d", minute=0, because=NoneLeft.NOT_KNOWN),
        *(leaving(f"e{number}", minute=23, fuel_kg=-300.0) for number in range(5)),
    )
    assert list(words_of([of])) == [
        "VENTO 1: no diversion is left",
        "  now after a, b + c (every diversion breaks a rule)",
        "  now after d (of a diversion something is not known)",
        "  from minute 23 after e0 -300 kg of fuel, e1 -300 kg of fuel, e2 -300 kg of fuel"
        " and 2 more (every diversion breaks a rule)",
        "1 flight, 1 of them with a failure that leaves none",
    ]


def test_what_was_not_looked_ahead_for_is_now_and_a_flight_as_it_is_has_no_failure() -> None:
    of = summary(leaving(minute=None))
    assert "  now after nothing at all (every diversion breaks a rule)" in words_of([of])


def test_later_moments_and_further_flights_are_counted_and_flights_without_any_not_named() -> None:
    late = summary(*(leaving(f"f{number}", minute=number) for number in range(MOST_MOMENTS + 3)))
    told = list(words_of([late] * (MOST_FLIGHTS + 2) + [summary(flight_id="VENTO 9")]))
    assert told[MOST_MOMENTS + 1] == "  later after 3 more"
    assert told[-2] == "and 2 flights more, in the summary"
    assert (
        told[-1]
        == f"{MOST_FLIGHTS + 3} flights, {MOST_FLIGHTS + 2} of them with a failure that leaves none"
    )
    assert not any("VENTO 9" in each for each in told)
