"""Whom to tell what: air traffic control, the cabin, dispatch, in the order of talking to them.

The first message to air traffic control has the order of the distress and urgency message of
[ICAO-ANNEX10-2] 5.3.2: identification, nature, intention, position, level, heading, then the rest.
Endurance, persons on board, and who is told what besides are common practice [PRACTICE]. The crew
adds what only they know.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from decision.answer.headline import GO_BASES
from decision.answer.types import Ask, Message, Whom
from decision.answer.words import (
    clock_up,
    first_place,
    joined,
    landing_text,
    minutes_up,
    place_text,
    sentence,
)
from decision.course import Course
from decision.decide.decision import Basis, Decision, Distress, Do, Emergency, FuelState
from decision.decide.measures import minutes_left
from decision.flight.situation import Situation
from decision.flight.tracks import to_run_nm
from decision.quantities import Position
from decision.rules.finding import shown_down
from decision.systems import Capability
from decision.windows import minutes_between

PREFIX: Final = {
    Distress.DISTRESS: "MAYDAY MAYDAY MAYDAY",
    Distress.URGENCY: "PAN PAN, PAN PAN, PAN PAN",
}
FT_PER_LEVEL: Final = 100.0
LEVEL_NAMES_FROM_FT: Final = 10_000.0  # below it a level is said as an altitude [PRACTICE]


@dataclass(frozen=True, slots=True, kw_only=True)
class Talk:
    """What there is to tell."""

    situation: Situation
    decision: Decision
    emergency: Emergency
    state: FuelState
    asks: tuple[Ask, ...]

    @property
    def course(self) -> Course:
        """What will be done."""
        return self.decision.chosen.course

    @property
    def left(self) -> Capability:
        """What works."""
        return self.situation.capability

    @property
    def declared(self) -> bool:
        """Whether urgency or distress is declared."""
        return self.emergency.level is not Distress.NONE

    @property
    def here(self) -> str:
        """The destination."""
        return self.situation.case.destination.aerodrome.icao


Sayings = Callable[[Talk], Iterator[str]]


def messages_of(talk: Talk) -> tuple[Message, ...]:
    """A message to each who needs one; to nobody an empty one."""
    said = ((whom, " ".join(sayings(talk))) for whom, sayings in TOLD)
    return tuple(Message(to=whom, text=text) for whom, text in said if text)


def phrase_of(talk: Talk) -> str:
    """The call itself: its prefix, who calls, and why; empty where there is none."""
    callsign, level = talk.situation.case.flight_id, talk.emergency.level
    if talk.state is FuelState.MAYDAY_FUEL:
        return ", ".join([f"{PREFIX[Distress.DISTRESS]} FUEL", callsign, *_nature(talk)])
    fuel = ["MINIMUM FUEL"] if talk.state is FuelState.MINIMUM_FUEL else []
    if level is Distress.NONE:
        return ", ".join([callsign, *fuel]) if fuel else ""
    return ", ".join([PREFIX[level], callsign, *_nature(talk), *fuel])


def _nature(talk: Talk) -> list[str]:
    """What has happened, in the words of the failures; without one, why it is declared."""
    if talk.left.natures:
        return [*talk.left.natures]
    if talk.situation.case.fuel.leak_kg_per_h > 0.0:
        return ["fuel leak"]
    if talk.state is FuelState.MAYDAY_FUEL or not talk.decision.chosen.breaches:
        return []
    words = talk.decision.chosen.breaches[0].breach.nature
    return [words] if words else []


def _air_traffic_control(talk: Talk) -> Iterator[str]:
    """Who, what, what is intended, where; then what the others must reckon with."""
    called = phrase_of(talk)
    yield f"{called or talk.situation.case.flight_id}."
    if talk.left.natures and not called:
        yield sentence(joined(talk.left.natures))
    yield INTENTIONS[talk.decision.do](talk)
    if talk.declared:
        yield _where(talk)
    yield from _on_the_runway(talk)
    if talk.declared:
        yield from _endurance(talk)
        yield "Request rescue and fire services on stand-by."
    yield from (f"Request {each.what}." for each in talk.asks if CONTROL in each.whom)


CONTROL: Final = "air traffic control"


def _where(talk: Talk) -> str:
    """Position, level and heading, as far as they are given."""
    aircraft = talk.situation.case.aircraft
    parts = [_position(talk), _level(aircraft.pressure_altitude_ft)]
    if aircraft.heading_true_deg is not None:
        parts.append(f"heading {aircraft.heading_true_deg:03.0f} true")
    return f"{', '.join(parts)}."


def _position(talk: Talk) -> str:
    position = talk.situation.case.aircraft.position
    if position is not None:
        return f"Position {_coordinates(position)}"
    miles = to_run_nm(talk.situation.case)
    return (
        "Position: crew to add" if miles is None else f"Position {miles:.0f} miles from {talk.here}"
    )


def _coordinates(position: Position) -> str:
    """Degrees and minutes, as they are said."""
    north = _degrees(position.latitude_deg, "NS", 2)
    return f"{north} {_degrees(position.longitude_deg, 'EW', 3)}"


def _degrees(value_deg: float, sides: str, digits: int) -> str:
    minutes = round(abs(value_deg) * 60.0)
    side = sides[0] if value_deg >= 0.0 else sides[1]
    return f"{minutes // 60:0{digits}d}{minutes % 60:02d}{side}"


def _level(pressure_altitude_ft: float) -> str:
    """Levels are given as pressure altitudes, of which low ones are not called flight levels."""
    if pressure_altitude_ft < LEVEL_NAMES_FROM_FT:
        return f"{round(pressure_altitude_ft / FT_PER_LEVEL) * FT_PER_LEVEL:.0f} feet"
    return f"flight level {round(pressure_altitude_ft / FT_PER_LEVEL):03d}"


def _endurance(talk: Talk) -> Iterator[str]:
    """Minutes to empty tanks, where fuel is known; and who is on board."""
    minutes, left_min = talk.course.time_min, minutes_left(talk.course)
    if minutes is not None and left_min is not None and not talk.course.unknown:
        yield f"Endurance {shown_down(max(0.0, minutes + left_min), 'min')}."
    persons = talk.situation.case.aircraft.persons_on_board
    yield f"Persons on board: {'crew to add' if persons is None else persons}."


def _on_the_runway(talk: Talk) -> Iterator[str]:
    """What the landing leaves behind on the runway, but for what was said as the reason."""
    for hazard in talk.left.landing_hazards:
        if hazard.text != talk.emergency.reason:
            yield hazard.text
    if talk.left.blocks_runway:
        yield "The aircraft will stop on the runway and block it until it is towed."


def _cabin(talk: Talk) -> Iterator[str]:
    """How long until the landing, what has happened, and what kind of landing it will be."""
    special = talk.declared or talk.decision.do is not Do.APPROACH or talk.left.natures
    if not special:
        return
    if talk.decision.basis is Basis.MISSING or talk.decision.do is Do.HOLD:
        yield "The crew is waiting for information and says later where and when the landing is."
    else:
        yield from _landing_for_the_cabin(talk)
    yield from talk.left.cabin_lines
    if talk.left.landing_hazards:
        yield "Prepare the cabin for an emergency landing; the crew says when to brace."
    elif talk.declared:
        yield "The crew says how to prepare."


def _landing_for_the_cabin(talk: Talk) -> Iterator[str]:
    """Where and when a landing is hoped for: at the first approach, if there are two."""
    course = talk.course
    first = course.attempts[0].icao if course.attempts else course.icao
    at = course.arrive_at if first == course.icao else course.missed_at
    if at is not None:
        minutes = minutes_between(talk.situation.case.as_of, at)
        yield f"Landing at {first} in about {minutes_up(minutes)}."


def _dispatch(talk: Talk) -> Iterator[str]:
    """Where the aircraft will be, with how much fuel, and what it needs there."""
    if talk.decision.basis in GO_BASES and not talk.left.natures:
        return
    for ask in talk.asks:
        yield f"Send {ask.what}."
    yield DEEDS[talk.decision.do](talk)
    if talk.left.natures:
        yield sentence(joined(talk.left.natures))
    yield from talk.left.dispatch_lines
    if talk.left.blocks_runway and not any(TOWING in each for each in talk.left.dispatch_lines):
        yield "Towing is needed on the runway."


TOWING: Final = "owing"


def _arrival(course: Course) -> str:
    if course.arrive_at is None:
        return "the figures for it are not known"
    return f"landing {clock_up(course.arrive_at)} with {landing_text(course)}"


def _approach(talk: Talk) -> str:
    course = talk.course
    if course.icao == talk.here:
        return f"Intend to approach {place_text(course)}."
    return f"Intend to approach {first_place(course)}; after a missed approach, {course.icao}."


def _divert(talk: Talk) -> str:
    return f"Request diversion to {place_text(talk.course)}."


def _hold(talk: Talk) -> str:
    minutes = talk.course.hold_min
    length = f" for {minutes_up(minutes)}" if minutes > 0.0 else ""
    return f"Request to hold{length}, then to approach {first_place(talk.course)}."


def _commit(talk: Talk) -> str:
    return (
        f"Intend to land at {place_text(talk.course)}; a missed approach leaves no diversion, "
        "request that the runway is kept free."
    )


INTENTIONS: Final[dict[Do, Callable[[Talk], str]]] = {
    Do.APPROACH: _approach,
    Do.DIVERT: _divert,
    Do.HOLD: _hold,
    Do.COMMIT: _commit,
}
DEEDS: Final[dict[Do, Callable[[Talk], str]]] = {
    Do.APPROACH: lambda talk: (
        f"Approaching {first_place(talk.course)}; after a missed approach {talk.course.icao}, "
        f"{_arrival(talk.course)}."
        if talk.course.icao != talk.here
        else f"Approaching {first_place(talk.course)}, {_arrival(talk.course)}."
    ),
    Do.DIVERT: lambda talk: f"Diverting to {place_text(talk.course)}, {_arrival(talk.course)}.",
    Do.HOLD: lambda talk: f"Holding, then approaching {first_place(talk.course)}.",
    Do.COMMIT: lambda talk: (
        f"Landing is committed at {place_text(talk.course)}, {_arrival(talk.course)}."
    ),
}
TOLD: Final[tuple[tuple[Whom, Sayings], ...]] = (
    (Whom.AIR_TRAFFIC_CONTROL, _air_traffic_control),
    (Whom.CABIN, _cabin),
    (Whom.DISPATCH, _dispatch),
)
