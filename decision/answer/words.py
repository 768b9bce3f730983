"""Words that rules and profiles give, made into what the crew reads.

Times of arrival are rounded up to the minute and deadlines down, figures against the aircraft.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final

from decision.attempt.attempt import Attempt
from decision.course import Course
from decision.decide.judge import JudgedCourse
from decision.decide.measures import minutes_left
from decision.flight.ledger import Ledger
from decision.rules.finding import Finding, Sense, shown_down, shown_short, shown_up
from decision.windows import MINUTE, clock_text

UNKNOWN_FUEL: Final = "an unknown amount of fuel"


def sentence(words: str) -> str:
    """With a capital at its start and one full stop at its end."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


def clock_up(at: datetime) -> str:
    """Hour and minute of an arrival: never earlier than it will be."""
    whole = at.replace(second=0, microsecond=0)
    return clock_text(whole if whole == at else whole + MINUTE)


def clock_down(at: datetime) -> str:
    """Hour and minute of a deadline: never later than it is."""
    return clock_text(at)


def minutes_up(minutes: float) -> str:
    """Minutes until something is reached."""
    return shown_up(max(0.0, minutes), "min")


def landing_attempt(course: Course) -> Attempt | None:
    """The attempt that the course lands from."""
    return course.attempts[-1] if course.attempts else None


def runway_text(course: Course) -> str:
    """The runway of the landing, with a blank before it; empty where there is none."""
    attempt = landing_attempt(course)
    return "" if attempt is None or attempt.runway is None else f" runway {attempt.runway.ident}"


def place_text(course: Course) -> str:
    """Where a course ends, with its runway."""
    return f"{course.icao}{runway_text(course)}"


def first_place(course: Course) -> str:
    """Where a course first approaches, with the runway."""
    first = course.attempts[0] if course.attempts else None
    if first is None or first.runway is None:
        return course.icao if first is None else first.icao
    return f"{first.icao} runway {first.runway.ident}"


def landing_text(course: Course) -> str:
    """Fuel on landing in kilograms and minutes; 'at most' where some of it is not known."""
    ledger, minutes = course.ledger, minutes_left(course)
    if ledger is None or minutes is None:
        return UNKNOWN_FUEL
    if ledger.landing_kg <= 0.0:
        return "empty tanks"
    told = f"{shown_down(ledger.landing_kg, 'kg')} ({shown_down(minutes, 'min')})"
    return f"at most {shown_down(ledger.landing_kg, 'kg')}" if course.unknown else told


def over_reserve(course: Course) -> str:
    """Fuel above the final reserve, or how far below it."""
    if course.ledger is None:
        return "an unknown margin"
    if course.ledger.margin_kg < 0.0:
        return under_reserve(course.ledger)
    told = shown_down(course.ledger.margin_kg, "kg")
    return f"{'at most ' if course.unknown else ''}{told} above final reserve"


def under_reserve(ledger: Ledger) -> str:
    """How much less than its final reserve is left on landing, by the two figures shown."""
    return f"{shown_short(ledger.landing_kg, ledger.final_reserve_kg, 'kg')} under final reserve"


def until_touchdown(course: Course) -> str:
    """Minutes to the landing and the time of it."""
    if course.arrive_at is None or course.time_min is None:
        return "time of touchdown not known"
    return f"touchdown in {minutes_up(course.time_min)}, {clock_up(course.arrive_at)}"


def broken_text(finding: Finding) -> str:
    """What is broken, short: the thing, its value and its limit."""
    judged = finding.judgement
    if judged.value is None or judged.limit is None:
        return judged.what
    against = shown_down if judged.sense is Sense.AT_LEAST else shown_up
    beyond = shown_up if judged.sense is Sense.AT_LEAST else shown_down
    value, limit = against(judged.value, judged.unit), beyond(judged.limit, judged.unit)
    return f"{judged.thing} {value}, limit {limit}"


def told_breaches(judged: JudgedCourse) -> tuple[Finding, ...]:
    """What is broken, each cause once: of both reserves the legal one says it all."""
    broken = {(each.rule, each.at) for each in judged.breaches}
    return tuple(each for each in judged.breaches if (each.by.told_by, each.at) not in broken)


def broken_by(judged: JudgedCourse) -> str:
    """Everything that a course breaks, in short."""
    return listed([*dict.fromkeys(map(broken_text, told_breaches(judged)))])


def listed(words: Sequence[str]) -> str:
    """One, two or more things in a row."""
    return "; ".join(words)


def joined(names: Iterable[str]) -> str:
    """Names with commas, and an 'and' before the last."""
    *before, last = [*names] or [""]
    return f"{', '.join(before)} and {last}" if before else last
