"""Diversions over terrain: without pressure as high as the ground asks, as long as oxygen lasts.

The level without pressurisation is a limit of what people breathe, not of the aircraft. Where the
lowest safe level of a way lies above it, that level is flown, and the rule on oxygen judges whether
it may be; beyond the rulebook's level for it the old limit stays, and the way cannot be flown.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from decision.case import Leg
from decision.course import Course
from decision.courses.divert import LegAndMiles, Way, divert
from decision.courses.situation import Situation
from decision.performance import Configuration
from decision.performance.prepared import LEVEL_STEP_FT

ROW = "unpressurised_terrain_ceiling_ft"


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
            flown[course.icao] = course
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
