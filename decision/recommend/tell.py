"""Whom to tell what: air traffic control, the cabin, dispatch, in the order of talking to them.

The order of the first message (identification, nature, intention) follows the distress and urgency
message of [ICAO-ANNEX10-2] 5.3.2 and 5.3.3; endurance, persons on board, and who is told what
besides are common practice [PRACTICE]. The crew adds what only they know.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from decision.course import Course
from decision.courses.margin import minutes_left
from decision.courses.situation import Situation
from decision.recommend.answer import Basis, Decision, Distress, Do, Emergency, Message, Whom
from decision.recommend.headline import Reason
from decision.recommend.words import sentence
from decision.rules import LANDING_CODES
from decision.rules.finding import shown_down
from decision.systems import Capability
from decision.windows import clock_text, minutes_between

GO_BASES: Final = frozenset({Basis.ESCAPE_KEPT, Basis.ONE_WAY_OUT, Basis.ESCAPE_THIN})


@dataclass(frozen=True, slots=True, kw_only=True)
class Talk:
    """What there is to tell. `lacking`: places of which too little is known to decide."""

    situation: Situation
    decision: Decision
    emergency: Emergency
    lacking: tuple[str, ...]

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


Sayings = Callable[[Talk], Iterator[str]]


def messages_of(
    situation: Situation,
    decision: Decision,
    reasons: Sequence[Reason],
    emergency: Emergency,
) -> tuple[Message, ...]:
    """A message to each who needs one; to nobody an empty one."""
    talk = Talk(
        situation=situation,
        decision=decision,
        emergency=emergency,
        lacking=_lacking(situation, reasons) if decision.basis is Basis.MISSING else (),
    )
    said = ((whom, " ".join(sayings(talk))) for whom, sayings in TOLD)
    return tuple(Message(to=whom, text=text) for whom, text in said if text)


def _lacking(situation: Situation, reasons: Sequence[Reason]) -> tuple[str, ...]:
    """Places of which somebody can tell more: how an unsafe landing stops, nobody there knows."""
    unproven = bool(situation.capability.unproven_landing)
    open_ = (each for each, _ in reasons if not (unproven and each.rule in LANDING_CODES))
    return tuple(dict.fromkeys(each.at for each in open_))


def _air_traffic_control(talk: Talk) -> Iterator[str]:
    """Who, what, and what is intended; then what the others on the frequency must reckon with."""
    yield f"{talk.emergency.phrase or talk.situation.case.flight_id}."
    if talk.declared:
        yield sentence(talk.emergency.reason)
    if talk.lacking:
        yield f"Request the present weather and runway state of {', '.join(talk.lacking)}."
    else:
        yield INTENTIONS[talk.decision.do](talk)
    yield from _on_the_runway(talk)
    if talk.declared:
        minutes = talk.course.time_min
        endurance = minutes_left(talk.course)
        if minutes is not None and endurance is not None:
            total = shown_down(max(0.0, minutes + endurance), "min")
            yield f"Endurance {total}; persons on board: crew to add."
        yield "Request rescue and fire services on stand-by."


def _on_the_runway(talk: Talk) -> Iterator[str]:
    """What the landing leaves behind on the runway, but for what was said as the reason."""
    for hazard in talk.left.landing_hazards:
        if hazard.text != talk.emergency.reason:
            yield hazard.text
    if talk.left.blocks_runway:
        yield "The aircraft will stop on the runway and block it until it is towed."


def _cabin(talk: Talk) -> Iterator[str]:
    """How long until the landing and what kind of one; only where it is not an ordinary one."""
    if talk.lacking:
        return  # nothing is decided yet
    special = talk.declared or talk.decision.do is not Do.APPROACH or talk.left.blocks_runway
    place, at = _expected_landing(talk.course)
    if not special or at is None:
        return
    minutes = minutes_between(talk.situation.case.as_of, at)
    yield f"Landing at {place} in about {shown_down(minutes, 'min')}."
    if talk.left.landing_hazards:
        yield "Prepare the cabin for an emergency landing; the crew says when to brace."
    elif talk.left.blocks_runway:
        yield "The aircraft stays on the runway after landing; the crew says whether to evacuate."
    elif talk.declared:
        yield "The crew says how to prepare."
    else:
        yield "An ordinary landing is expected; the crew says if that changes."


def _expected_landing(course: Course) -> tuple[str, datetime | None]:
    """Where and when a landing is hoped for: at the first approach, if there are two."""
    first = course.attempts[0].icao if course.attempts else course.icao
    return (course.icao, course.arrive_at) if first == course.icao else (first, course.missed_at)


def _dispatch(talk: Talk) -> Iterator[str]:
    """Where the aircraft will be, with how much fuel, and what it needs there."""
    course, ledger = talk.course, talk.course.ledger
    if talk.decision.basis in GO_BASES and not talk.left.lost:
        return
    if talk.lacking:
        yield "Send what is listed as not known; nothing is decided yet."
        return
    if ledger is None or course.arrive_at is None:
        yield f"{DONE[talk.decision.do]} {course.icao}; the figures for it are not known."
    else:
        landing = shown_down(ledger.landing_kg, "kg")
        at = clock_text(course.arrive_at)
        yield f"{DONE[talk.decision.do]} {course.icao}, landing {at} with {landing}."
    if talk.left.blocks_runway:
        yield "Towing is needed on the runway."


def _approach(talk: Talk) -> str:
    course = talk.course
    here = talk.situation.case.destination.aerodrome.icao
    runway = _runway(course, here)
    if course.icao == here:
        return f"Intend to approach {here}{runway}."
    return f"Intend to approach {here}{runway}; after a miss, request {course.icao}."


def _divert(talk: Talk) -> str:
    return f"Request {talk.course.icao}{_runway(talk.course, talk.course.icao)}."


def _hold(talk: Talk) -> str:
    minutes = shown_down(talk.course.hold_min, "min")
    return f"Request to hold for {minutes}. {_approach(talk)}"


def _commit(talk: Talk) -> str:
    here = talk.course.icao
    return (
        f"Intend to land at {here}{_runway(talk.course, here)}; no diversion is left after a miss, "
        "request that the runway is kept free."
    )


def _runway(course: Course, icao: str) -> str:
    for attempt in course.attempts:
        if attempt.icao == icao and attempt.runway is not None:
            return f" runway {attempt.runway.ident}"
    return ""


INTENTIONS: Final[dict[Do, Callable[[Talk], str]]] = {
    Do.APPROACH: _approach,
    Do.DIVERT: _divert,
    Do.HOLD: _hold,
    Do.COMMIT: _commit,
}
DONE: Final = {
    Do.APPROACH: "Approach first; after a miss to",
    Do.DIVERT: "Diverting to",
    Do.HOLD: "Holding first; after a miss to",
    Do.COMMIT: "Landing is committed at",
}
TOLD: Final[tuple[tuple[Whom, Sayings], ...]] = (
    (Whom.AIR_TRAFFIC_CONTROL, _air_traffic_control),
    (Whom.CABIN, _cabin),
    (Whom.DISPATCH, _dispatch),
)
