"""Whole decisions: what they cost beside the part that is only reading the request.

Each call decides the flight at another mass, or it would time what is remembered of the last one.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from typing import Final

from decision.case import Case, case_from_mapping
from decision.case.types import MAX_ALTERNATES, MAX_APPROACHES, MAX_REPORTS
from decision.course import Course
from decision.decide.afterwards import fully_sampled
from decision.flight.ways import Origin
from decision.performance import Configuration, Flown, Track, fly_diversions, need_spread
from decision.recommend import recommend, recommend_mapping
from tests.bench.measure import Comparison, Way
from tests.case.builders import demo
from tests.case.flights import EVERYTHING, five_alternates, large
from tests.changing import replace

FLIGHT: Final = demo("gear-stuck")
CASE: Final = case_from_mapping(FLIGHT)
FIVE: Final = case_from_mapping(five_alternates())
FLIPS: Final = replace(CASE, include=("flip_points",))
BOOKS: Final = replace(CASE, compare_rulebooks=True)
LARGEST: Final = case_from_mapping(
    large(
        alternates=MAX_ALTERNATES,
        approaches=MAX_APPROACHES,
        number=MAX_REPORTS,
        include=EVERYTHING,
        compare_rulebooks=True,
    )
)
FEW: Final = 3  # rounds of what takes seconds
STEP_KG: Final = 0.731  # no mass comes twice in a run
_turns: Final = count()


def another(case: Case) -> Case:
    """The flight a little heavier than the last time."""
    mass_kg = case.aircraft.mass_kg + STEP_KG * next(_turns)
    return replace(case, aircraft=replace(case.aircraft, mass_kg=mass_kg))


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where the diversions of one kind begin, and where they go."""

    configuration: Configuration
    mass_kg: float
    start_ft: float
    tracks: tuple[Track, ...]


def starts_of(case: Case) -> tuple[Start, ...]:
    """The three kinds of diversion of a case, each to every alternate: now, at the last clean
    point, after a miss.
    """
    found: dict[Origin, list[Course]] = {}
    for judged in recommend(case).courses:
        if judged.course.diversion is not None:
            found.setdefault(judged.course.origin, []).append(judged.course)
    return tuple(
        Start(
            configuration=courses[0].configuration,
            mass_kg=first.mass_kg,
            start_ft=first.start_pressure_altitude_ft,
            tracks=tuple(each.diversion.track for each in courses if each.diversion is not None),
        )
        for courses in found.values()
        if (first := courses[0].diversion) is not None
    )


def fly(case: Case, starts: tuple[Start, ...], *, spread: bool) -> None:
    """Every diversion at masses not flown before, with how sure its fuel is if that is wanted."""
    profile, less_kg = case.aircraft.profile, STEP_KG * next(_turns)
    for start in starts:
        mass_kg = start.mass_kg - less_kg
        flights = fly_diversions(
            profile,
            configuration=start.configuration,
            mass_kg=mass_kg,
            start_pressure_altitude_ft=start.start_ft,
            tracks=start.tracks,
        )
        for track, flown in zip(start.tracks, flights, strict=True):
            if spread and isinstance(flown, Flown):
                need_spread(
                    profile,
                    configuration=start.configuration,
                    flown=flown,
                    mass_kg=mass_kg,
                    start_pressure_altitude_ft=start.start_ft,
                    air=track.air,
                )


def one_by_one(starts: tuple[Start, ...]) -> tuple[Start, ...]:
    """The same diversions, each on its own."""
    return tuple(replace(start, tracks=(track,)) for start in starts for track in start.tracks)


STARTS: Final = starts_of(FIVE)
ALONE: Final = one_by_one(STARTS)
ANSWER: Final = recommend(CASE)
CHOSEN: Final = ANSWER.decision.chosen.course

COMPARISONS: Final = (
    Comparison(
        title="15 diversions, level and speed",
        ours=Way(label="together", call=lambda: fly(FIVE, STARTS, spread=False)),
        yardstick=Way(label="one by one", call=lambda: fly(FIVE, ALONE, spread=False)),
    ),
    Comparison(
        title="15 diversions and spreads",
        ours=Way(label="together", call=lambda: fly(FIVE, STARTS, spread=True)),
        yardstick=Way(label="one by one", call=lambda: fly(FIVE, ALONE, spread=True)),
    ),
    Comparison(
        title="uncertainty of one course",
        ours=Way(
            label="20,000 flown samples",
            call=lambda: fully_sampled(CASE.aircraft.profile, CHOSEN),
        ),
        yardstick=Way(label="recommend two", call=lambda: recommend(another(CASE))),
    ),
    Comparison(
        title="decision, two alternates",
        ours=Way(label="answer", call=lambda: recommend_mapping(another(CASE))),
        yardstick=Way(label="case_from_mapping", call=lambda: case_from_mapping(FLIGHT)),
        target="4,500 us",
    ),
    Comparison(
        title="decision, five alternates",
        ours=Way(label="answer", call=lambda: recommend_mapping(another(FIVE))),
        yardstick=Way(label="two alternates", call=lambda: recommend_mapping(another(CASE))),
        target="8,000 us",
    ),
    Comparison(
        title="ten flip points",
        ours=Way(label="answer with them", call=lambda: recommend_mapping(another(FLIPS))),
        yardstick=Way(label="without", call=lambda: recommend_mapping(another(CASE))),
        rounds=FEW,
        target="100,000 us",
    ),
    Comparison(
        title="three rulebooks compared",
        ours=Way(label="answer with them", call=lambda: recommend_mapping(another(BOOKS))),
        yardstick=Way(label="without", call=lambda: recommend_mapping(another(CASE))),
    ),
    Comparison(
        title="the largest case, everything",
        ours=Way(label="answer", call=lambda: recommend_mapping(another(LARGEST))),
        yardstick=Way(label="five alternates", call=lambda: recommend_mapping(another(FIVE))),
        rounds=FEW,
        target="2,000,000 us",
    ),
)
