"""Leaving later: the clean diversions of an aircraft that flew on as planned, or held here.

Whoever flies on burns fuel, comes lower and gets away from where it could turn; whoever holds only
burns. On the way along the approach track the miles to each alternate are taken between those from
the present and those from the last clean point, evenly with the miles flown [ASSUMED]. The answers
are ways like any other, so that the rules judge what they lead to; everything flown is remembered,
so that a search for the last legal moment asks cheaply.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import Final

from msgspec.structs import replace

from decision.flight.approach import (
    HOLDING,
    WAITING,
    ApproachFlight,
    Departure,
    lowest_ft,
    present_flight,
)
from decision.flight.physics import holding_flow_kg_per_h
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, State, between, descended, held
from decision.flight.tracks import en_route_deviation_degc, from_present_nm, onward_by, to_run_nm
from decision.flight.ways import Ending, LegAndMiles, Origin, leave
from decision.performance import CALM_STANDARD, Step
from decision.performance.diversion import EXTRA_TRACK
from decision.windows import minutes_between

SAME_MIN: Final = 1e-5  # moments are kept to the microsecond
STANDING: Final = frozenset({HOLDING, WAITING, EXTRA_TRACK})  # steps that bring nothing nearer


def leave_after(situation: Situation, departure: Departure, minutes: float) -> tuple[Ending, ...]:
    """The clean diversions after so many minutes of flying on as planned, before any step for good.

    At the latest from the last clean point, in the air from there; none where the way to run is
    not known, or where no such point is ahead.
    """
    flight, track_nm = _ahead(departure), to_run_nm(situation.case)
    if flight is None or track_nm is None:
        return ()
    on, to_go_nm = flown_on(departure.present, flight, minutes, track_nm=track_nm)
    onward = miles_onward(situation, flight, to_go_nm, track_nm=track_nm)
    origin = Origin.LAST_CLEAN_POINT if on is flight.last_clean else Origin.PRESENT
    return leave(situation, on, onward, origin=origin)


def longest_fly_on_min(departure: Departure) -> float:
    """Minutes to the last clean point; 0 where none is ahead."""
    flight = _ahead(departure)
    if flight is None:
        return 0.0
    return minutes_between(departure.present.state.at, flight.last_clean.state.at)


def lowered(situation: Situation, present: Flight) -> Flight:
    """Down to a level where the aircraft may stay; nothing is credited for the miles."""
    destination = situation.case.destination
    level_ft = lowest_ft(destination)
    return descended(situation, present, CALM_STANDARD, miles=0.0, lowest_ft=level_ft).flight


def present_flow_kg_per_h(situation: Situation) -> float:
    """Flow of a hold in the present configuration, with the leak. Raises OutOfTable.

    At the present level, or at the one that the aircraft may stay at below it.
    """
    at = lowered(situation, present_flight(situation)).state
    return situation.case.fuel.leak_kg_per_h + holding_flow_kg_per_h(
        situation.case.aircraft.profile,
        configuration=situation.configurations.present,
        mass_kg=at.mass_kg,
        pressure_altitude_ft=at.pressure_altitude_ft,
        isa_deviation_degc=en_route_deviation_degc(situation.case, at.pressure_altitude_ft),
    )


def _ahead(departure: Departure) -> ApproachFlight | None:
    """The approach flight, if its last clean point is ahead and can be reached."""
    flight = departure.approach
    if flight is None or flight.passed or flight.last_clean.stopped is not None:
        return None
    return flight


def hold_then_leave(
    situation: Situation, departure: Departure, minutes: float
) -> tuple[Ending, ...]:
    """The clean diversions after holding here for so many minutes, in the present configuration.

    Above a level limit the descent to it begins the hold, over the same place.
    """
    start = departure.present if minutes == 0.0 else lowered(situation, departure.present)
    spent_min = minutes_between(departure.present.state.at, start.state.at)
    waited = held(
        situation,
        start,
        max(0.0, minutes - spent_min),
        configuration=situation.configurations.present,
        name=HOLDING,
    )
    case = situation.case
    onward = [(leg, from_present_nm(case, leg)) for leg in case.alternates]
    return leave(situation, waited, onward, origin=Origin.PRESENT, hold_min=minutes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """The end of a step: minutes from the start, the state then, and the miles left to run."""

    minutes: float
    state: State
    to_go_nm: float


def flown_on(
    present: Flight, flight: ApproachFlight, minutes: float, *, track_nm: float
) -> tuple[Flight, float]:
    """The flight to a moment on the way to the last clean point, and what is then left to run.

    Inside a step mass, level and miles change evenly with time.
    """
    marks = marks_of(present, flight, track_nm=track_nm)
    steps = flight.last_clean.steps
    for i, (before, after) in enumerate(pairwise(marks)):
        if after.minutes > minutes and marks[-1].minutes - minutes > SAME_MIN:
            share = (minutes - before.minutes) / (after.minutes - before.minutes)
            state = between(before.state, after.state, share)
            part = _part(steps[i], share, level_ft=state.pressure_altitude_ft)
            flown = steps[:i] if share == 0.0 else (*steps[:i], part)
            to_go_nm = before.to_go_nm + (after.to_go_nm - before.to_go_nm) * share
            return replace(present, state=state, steps=flown), to_go_nm
    return flight.last_clean, flight.extension_nm


def marks_of(present: Flight, flight: ApproachFlight, *, track_nm: float) -> list[Mark]:
    """The ends of the steps to the last clean point; standing still brings it no nearer."""
    marks = [Mark(minutes=0.0, state=present.state, to_go_nm=track_nm)]
    for step in flight.last_clean.steps:
        last = marks[-1]
        flown_nm = 0.0 if step.name in STANDING else step.distance_nm
        marks.append(
            Mark(
                minutes=last.minutes + step.time_min,
                state=State(
                    at=last.state.at + timedelta(minutes=step.time_min),
                    mass_kg=last.state.mass_kg - step.fuel_kg,
                    usable_kg=last.state.usable_kg - step.fuel_kg,
                    pressure_altitude_ft=step.pressure_altitude_ft,
                ),
                to_go_nm=max(flight.extension_nm, last.to_go_nm - flown_nm),
            )
        )
    return marks


def _part(step: Step, share: float, *, level_ft: float) -> Step:
    return replace(
        step,
        distance_nm=step.distance_nm * share,
        time_min=step.time_min * share,
        fuel_kg=step.fuel_kg * share,
        pressure_altitude_ft=level_ft,
    )


def miles_onward(
    situation: Situation, flight: ApproachFlight, to_go_nm: float, *, track_nm: float
) -> Sequence[LegAndMiles]:
    """Miles to each alternate, evenly between the present and the last clean point [ASSUMED]."""
    case, way_nm = situation.case, track_nm - flight.extension_nm
    share = 0.0 if way_nm <= 0.0 else (track_nm - to_go_nm) / way_nm
    return [
        (leg, _evenly(from_present_nm(case, leg), there_nm, share))
        for leg, there_nm in onward_by(case, flight.extension_nm)
    ]


def _evenly(here_nm: float | None, there_nm: float | None, share: float) -> float | None:
    """Between two distances; at either end the other need not be known."""
    if share in (0.0, 1.0):
        return there_nm if share else here_nm
    if here_nm is None or there_nm is None:
        return None
    return here_nm + (there_nm - here_nm) * share
