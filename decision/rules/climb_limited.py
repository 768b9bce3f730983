"""The landing mass for which the aircraft climbs: the gradients that a landing is certified with.

Flight manuals limit the landing mass for altitude and temperature by two climbs: one engine out in
the approach configuration, and all engines in the landing configuration. Both figures stand for an
aircraft of which nothing has failed. With a failure that they depend on the missed approach is
judged as it will be flown (MA-01); but a mass that is too great for the sound aircraft is too great
then as well.
"""

from __future__ import annotations

from typing import Final

from decision.course import Attempt
from decision.profile import Profile
from decision.profile.systems_effects import Drive
from decision.rules.breach import Breach
from decision.rules.combine import at_least, not_applicable, unknown
from decision.rules.finding import Judgement, Outcome
from decision.rules.registry import EVERY_ROLE, Context, Rule
from decision.systems import Capability

TWIN: Final = 2  # the rows are those of aeroplanes with two engines


def approach_climb(attempt: Attempt, context: Context) -> Judgement:
    """One engine out, gear up, flap of the go-around, at the landing mass."""
    figures = attempt.certified_climb
    percent = None if figures is None else figures.approach_percent
    row = "oei_approach_climb_percent"
    return _climb(attempt, context, "approach climb, one engine out", percent, row=row)


def landing_climb(attempt: Attempt, context: Context) -> Judgement:
    """All engines, gear down, flap of the landing, at the landing mass."""
    figures = attempt.certified_climb
    percent = None if figures is None else figures.landing_percent
    row = "landing_climb_percent"
    return _climb(attempt, context, "landing climb, all engines", percent, row=row)


def _climb(
    attempt: Attempt, context: Context, words: str, percent: float | None, *, row: str
) -> Judgement:
    profile = context.case.aircraft.profile
    what = f"{attempt.icao} {words}"
    if profile.engine.count != TWIN:
        return not_applicable(f"{what}: no figure for {profile.engine.count} engines")
    failed = not_as_certified(attempt.capability, profile)
    at_mass = f"{what}, at {attempt.mass_kg:.0f} kg{', nothing having failed' if failed else ''}:"
    judged = at_least(at_mass, percent, context.rulebook.number(row), unit="percent")
    if percent is None:
        lacks = attempt.unknown
        return unknown(f"{what}: {', '.join(lacks)} not known", lacks=lacks)
    if failed and judged.outcome is Outcome.PASS:
        return not_applicable(f"{what}: certified for nothing failed, and there is {failed}")
    return judged


def not_as_certified(left: Capability, profile: Profile) -> str:
    """What has failed that the certified climbs depend on, in words; empty where nothing has."""
    flap, slats = left.flap, left.slats
    failed = {
        "an engine out": left.engines_running < profile.engine.count,
        "limited thrust": left.engines_running == profile.engine.count and left.thrust_ratio < 1.0,
        "gear that does not come up": not left.gear.retractable,
        "flaps that do not move as they should": flap.extend_only or flap.drive is Drive.NONE,
        "slats that do not move as they should": slats.extend_only or not slats.movable,
        "drag that the aircraft had not": left.drag_increment > 0.0,
    }
    return ", ".join(words for words, there in failed.items() if there)


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="MA-03",
        title="Landing mass for the approach climb",
        row="oei_approach_climb_percent",
        breach=Breach.LANDING_MASS,
        applies=EVERY_ROLE,
        check=approach_climb,
    ),
    Rule(
        code="MA-04",
        title="Landing mass for the landing climb",
        row="landing_climb_percent",
        breach=Breach.LANDING_MASS,
        applies=EVERY_ROLE,
        check=landing_climb,
    ),
)
