"""The category that minima are taken of: of the type, of the approach, and of the circling flown.

A light aircraft keeps the category of its type, which is set at maximum landing mass in the normal
landing configuration [PANS-OPS-I]; a failure that adds speed can raise it, and so can circling
faster than the area of the category is drawn for.
"""

from __future__ import annotations

from decision.case import Approach, ApproachKind
from decision.courses.configure import lever_takes_slats_out
from decision.courses.remembered import approach_speed_kt as reference_speed_kt
from decision.courses.situation import Situation
from decision.errors import OutOfRange
from decision.rules.minima.category import AeroplaneCategory, category_of, circling_category
from decision.systems import LimitName


def category_flown(
    situation: Situation, approach: Approach | None, *, mass_kg: float, approach_speed_kt: float
) -> AeroplaneCategory | None:
    """The highest of the categories that count; None where a speed is beyond the last of them.

    `approach_speed_kt` is the speed at the threshold as flown, failures included.
    """
    try:
        found = [category_of(_type_speed_kt(situation)), category_of(approach_speed_kt)]
        if approach is not None and approach.kind is ApproachKind.CIRCLING:
            found.append(circling_category(circling_speed_kt(situation, mass_kg=mass_kg)))
    except OutOfRange:
        return None
    return max(found)


def circling_speed_kt(situation: Situation, *, mass_kg: float) -> float:
    """Speed while circling: that of the approach flap at this mass, with what failures add.

    Circling in the approach configuration is common practice [PRACTICE].
    """
    flown = situation.configurations.approach
    speed_kt = reference_speed_kt(
        situation.case.aircraft.profile,
        mass_kg=mass_kg,
        flap=flown.flap,
        slats_out=flown.slats_out,
    )
    return speed_kt + speed_increment_kt(situation)


def speed_increment_kt(situation: Situation) -> float:
    """Speed that the failures add to the approach speed."""
    limit = situation.capability.limit(LimitName.MIN_APPROACH_SPEED_INCREMENT_KT)
    return 0.0 if limit is None else limit.value


def _type_speed_kt(situation: Situation) -> float:
    """Speed at the threshold at maximum landing mass, nothing having failed."""
    profile = situation.case.aircraft.profile
    flap = profile.approach.landing_detent
    return reference_speed_kt(
        profile,
        mass_kg=profile.masses.mlw_kg,
        flap=flap,
        slats_out=lever_takes_slats_out(profile, flap),
    )
