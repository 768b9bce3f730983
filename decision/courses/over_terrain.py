"""Diversions over terrain: without pressure, and with an engine out.

The level without pressurisation is a limit of what people breathe, not of the aircraft. Where the
lowest safe level of a way lies above it, that level is flown, and the rule on oxygen judges whether
it may be; beyond the rulebook's level for it the old limit stays, and the way cannot be flown. What
counts with an engine out is the level that the net path holds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Final

from decision.case import Leg
from decision.course import Course
from decision.courses.air import en_route_deviation_degc
from decision.courses.divert import LegAndMiles, Way, divert
from decision.courses.situation import Situation
from decision.performance import Configuration, climb
from decision.performance.configuration import Rating
from decision.performance.envelope import envelope, slowest_kt
from decision.performance.prepared import LEVEL_STEP_FT
from decision.profile import Profile

ROW: Final = "unpressurised_terrain_ceiling_ft"
MASS_STEP_KG: Final = 250.0
LEVEL_TOLERANCE_FT: Final = 100.0
# Multiples of the slowest speed en route: the best gradient lies at or a little above it [ASSUMED].
SPEED_RATIOS: Final = (1.0, 1.1)


def divert_over_terrain(
    situation: Situation, way: Way, onward: Sequence[LegAndMiles]
) -> tuple[Course, ...]:
    """Fly to each aerodrome, those together that are flown in one configuration."""
    flown: dict[str, Course] = {}
    groups: dict[Configuration, list[LegAndMiles]] = {}
    for leg, miles in onward:
        groups.setdefault(over_terrain(situation, way.configuration, leg), []).append((leg, miles))
    for configuration, together in groups.items():
        for course in divert(situation, replace(way, configuration=configuration), together):
            flown[course.icao] = with_net_level(situation, course)
    return tuple(flown[leg.aerodrome.icao] for leg, _ in onward)


def over_terrain(situation: Situation, configuration: Configuration, leg: Leg) -> Configuration:
    """The configuration with the level that the terrain on the way asks for, where it needs one."""
    lowest_ft = leg.minimum_level_ft
    limits = situation.case.aircraft.profile.limits
    usual_ft = limits.max_unpressurised_ft
    if configuration.pressurised or lowest_ft is None or lowest_ft <= usual_ft:
        return configuration
    level_ft = math.ceil(lowest_ft / LEVEL_STEP_FT) * LEVEL_STEP_FT
    if level_ft > situation.rulebook.number(ROW):
        return configuration
    failed_ft = configuration.max_pressure_altitude_ft
    # The failure of pressurisation itself brings the usual level as a limit.
    lifted = failed_ft is not None and usual_ft <= failed_ft < level_ft
    return replace(
        configuration,
        terrain_level_ft=level_ft,
        max_pressure_altitude_ft=None if lifted else failed_ft,
    )


def with_net_level(situation: Situation, course: Course) -> Course:
    """The course with the level that its net path holds, where an engine is out."""
    profile, flown = situation.case.aircraft.profile, course.configuration
    if course.diversion is None or not 0 < flown.engines_running < profile.engine.count:
        return course
    level_ft = course.cruise_level_ft or course.diversion.start_pressure_altitude_ft
    net_ft = net_level_ft(
        profile,
        flown,
        mass_kg=min(_up(course.diversion.mass_kg, MASS_STEP_KG), profile.masses.mtow_kg),
        isa_deviation_degc=_up(en_route_deviation_degc(situation.case, level_ft), 1.0),
        decrement_percent=situation.rulebook.number("oei_net_decrement_percent"),
    )
    return replace(course, net_level_ft=net_ft)


def _up(value: float, step: float) -> float:
    """Rounded against the aircraft, so that one answer serves many courses."""
    return math.ceil(value / step) * step


@lru_cache(maxsize=512)
def net_level_ft(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: float,
    isa_deviation_degc: float,
    decrement_percent: float,
) -> float:
    """Highest level at which the actual gradient less the decrement is not negative, in feet.

    At the best of a few speeds from the slowest en route, continuous thrust; 0 where not even sea
    level is held. Errs on the low side by up to LEVEL_TOLERANCE_FT. Source: [CFR-25] 25.123.
    """
    limits = envelope(profile, configuration)
    slowest = slowest_kt(profile, configuration, mass_kg=mass_kg)
    speeds_kt = [slowest * ratio for ratio in SPEED_RATIOS]
    allowed_kt = [kt for kt in speeds_kt if kt <= limits.fastest_kt.value]

    def holds(level_ft: float) -> bool:
        return any(
            climb(
                profile,
                configuration=configuration,
                mass_kg=mass_kg,
                pressure_altitude_ft=level_ft,
                isa_deviation_degc=isa_deviation_degc,
                rating=Rating.MAXIMUM_CONTINUOUS,
                cas_kt=kt,
            ).gradient_percent
            >= decrement_percent
            for kt in allowed_kt
        )

    low_ft, high_ft = 0.0, limits.highest_ft.value
    if holds(high_ft):
        return high_ft
    while high_ft - low_ft > LEVEL_TOLERANCE_FT:
        middle_ft = (low_ft + high_ft) / 2.0
        low_ft, high_ft = (middle_ft, high_ft) if holds(middle_ft) else (low_ft, middle_ft)
    return low_ft
