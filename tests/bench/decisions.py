"""Whole decisions: what they cost beside the part that is only reading the request.

Each call decides the flight at another mass, or it would time what is remembered of the last one.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import Final

from decision.case import Case, case_from_mapping
from decision.recommend import recommend
from tests.bench.measure import Comparison, Way
from tests.case.builders import demo

FLIGHT: Final = demo("gear-stuck")
CASE: Final = case_from_mapping(FLIGHT)


def five_alternates(case: Case) -> Case:
    """The same flight with five alternates, all alike but for name and distance."""
    first = case.alternates[0]
    more = [
        replace(
            first,
            aerodrome=replace(first.aerodrome, icao=f"XZ{number:02d}"),
            track_nm=100.0 + 5 * number,
            track_from_present_nm=110.0 + 5 * number,
        )
        for number in range(3)
    ]
    return replace(case, alternates=(*case.alternates, *more))


FIVE: Final = five_alternates(CASE)
STEP_KG: Final = 0.731  # no mass comes twice in a run
_turns: Final = count()


def another(case: Case) -> Case:
    """The flight a little heavier than the last time."""
    mass_kg = case.aircraft.mass_kg + STEP_KG * next(_turns)
    return replace(case, aircraft=replace(case.aircraft, mass_kg=mass_kg))


COMPARISONS: Final = (
    Comparison(
        title="decision, two alternates",
        ours=Way(label="recommend", call=lambda: recommend(another(CASE))),
        yardstick=Way(label="case_from_mapping", call=lambda: case_from_mapping(FLIGHT)),
    ),
    Comparison(
        title="decision, five alternates",
        ours=Way(label="recommend five", call=lambda: recommend(another(FIVE))),
        yardstick=Way(label="recommend two", call=lambda: recommend(another(CASE))),
    ),
)
