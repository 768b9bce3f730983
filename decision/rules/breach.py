"""What a broken rule means for a crew that has to land somewhere."""

from __future__ import annotations

from enum import IntEnum


class Breach(IntEnum):
    """Worst first: the order of the least-bad course.

    Down to WIND_FAR_BEYOND a breach endangers the aircraft; the rest is a rule or a margin missed
    by an aircraft that still lands safely. The order is the project's own reading [ASSUMED].
    """

    CANNOT_BE_FLOWN = 0
    ENGINES_STOP = 1
    CANNOT_STOP = 2
    FUEL_NEARLY_GONE = 3
    OBSTACLES = 4
    HAZARD = 5
    BELOW_MINIMA = 6
    WIND_FAR_BEYOND = 7
    UNDER_RESERVE = 8
    WIND_LIMIT = 9
    LANDING_FACTOR = 10
    GRADIENT = 11
    RUNWAY_LIMIT = 12
    LANDING_MASS = 13
    COMMIT_CONDITIONS = 14
    PLANNING_BAR = 15
    GUIDANCE = 16

    @property
    def endangers(self) -> bool:
        """Whether people are in danger, and not only a rule or a margin."""
        return self <= Breach.WIND_FAR_BEYOND
