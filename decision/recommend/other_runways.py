"""The second runway at a place, and what it lacks: a place fails only when every runway does."""

from __future__ import annotations

from typing import Final

from decision.decide.attempts import JudgedAttempt
from decision.recommend.answer import OtherRunway
from decision.recommend.words import broken_text
from decision.rules.finding import Outcome

TELLS: Final = (Outcome.FAIL, Outcome.UNKNOWN)


def other_runway(second: JudgedAttempt) -> OtherRunway:
    """The best procedure to it, in words."""
    attempt = second.attempt
    lacks = [broken_text(each) for each in second.findings if each.outcome in TELLS]
    return OtherRunway(
        aerodrome=attempt.icao,
        runway="" if attempt.runway is None else attempt.runway.ident,
        approach=None if attempt.approach is None else attempt.approach.id,
        lacks=tuple(dict.fromkeys(lacks)),
    )
