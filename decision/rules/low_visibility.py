"""Minima below category I after failures: what they are flown with, and what has been lost of it.

Such an approach is flown coupled to touchdown or to a decision height near it, in the configuration
that the flight manual lists: with an engine out, or with flaps that are not those of the ordinary
landing, only where the manual says so. An installed approval does not bring the capability back.
"""

from __future__ import annotations

from typing import Final

from decision.course import Attempt
from decision.profile import Profile
from decision.profile.systems_effects import ApproachEquipment
from decision.profile.types import LowVisibility
from decision.rules.approach import minima_of
from decision.rules.breach import Breach
from decision.rules.combine import holds, not_applicable
from decision.rules.finding import Judgement
from decision.rules.minima.equipment import Group
from decision.rules.registry import EVERY_ROLE, Context, Rule

COUPLED_WITH: Final = (
    ApproachEquipment.AUTOPILOT,
    ApproachEquipment.RADALT,
    ApproachEquipment.ILS,
)  # what a coupled landing needs in any case, from memory [EU-AO] SPA.LVO


def low_visibility_capability(attempt: Attempt, context: Context) -> Judgement:
    """Minima below category I only with nothing lost that they are flown with."""
    minima = minima_of(attempt, context)
    if minima is None or minima.group is not Group.LOW_VISIBILITY or attempt.approach is None:
        return not_applicable(f"{attempt.icao}: the minima are not below category I")
    name = f"{attempt.icao} {attempt.approach.id}"
    profile = context.case.aircraft.profile
    lost = lost_for_low_visibility(attempt, profile)
    usable = _usable_with_engines(attempt, profile)
    lost = lost if usable is not False else (*lost, "an engine")
    return holds(
        False if lost else usable,
        yes=f"{name}: nothing is lost that minima below category I are flown with",
        no=f"{name}: minima below category I are not usable, lost: {', '.join(lost)}",
        unknown=f"{name}: whether minima below category I are usable with an engine out",
    )


def _usable_with_engines(attempt: Attempt, profile: Profile) -> bool | None:
    """Whether the engines that run allow it; None where the profile does not say."""
    if attempt.capability.engines_running == profile.engine.count:
        return True
    stated = profile.approach.low_visibility_one_engine
    return None if stated is LowVisibility.NOT_STATED else stated is LowVisibility.USABLE


def lost_for_low_visibility(attempt: Attempt, profile: Profile) -> tuple[str, ...]:
    """Words for what is lost, engines apart: equipment, and the flap of the ordinary landing."""
    left = attempt.capability
    words = [each.value for each in COUPLED_WITH if each in left.lost_approach_equipment]
    if profile.approach.landing_detent not in left.flap.reachable:
        words.append(f"landing flap {profile.approach.landing_detent}")
    return tuple(words)


RULES: Final[tuple[Rule[Attempt], ...]] = (
    Rule(
        code="AP-03",
        title="Low-visibility capability",
        row="low_visibility_capability",
        breach=Breach.BELOW_MINIMA,
        applies=EVERY_ROLE,
        check=low_visibility_capability,
    ),
)
