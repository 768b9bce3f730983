"""Observations that come by word: a tower's wind, a spot RVR, a crew's braking report.

Each has its own time, and outranks an older METAR in the elements that it names.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Braking(StrEnum):
    """Braking action as crews report it, words of [GRF]."""

    GOOD = "good"
    GOOD_TO_MEDIUM = "good_to_medium"
    MEDIUM = "medium"
    MEDIUM_TO_POOR = "medium_to_poor"
    POOR = "poor"
    LESS_THAN_POOR = "less_than_poor"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotRvr:
    """Runway visual ranges given by voice, along the runway from the touchdown zone."""

    runway: str
    touchdown_m: float
    midpoint_m: float | None = None
    stop_end_m: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotWind:
    """A wind given by voice, turned to true north; `from_true_deg` None: variable."""

    from_true_deg: float | None
    speed_kt: float
    gust_kt: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotObservation:
    """What was said at one instant; None or empty where nothing was said.

    `braking_runway` None: it was not said which runway, so `braking` is of every one.
    """

    at: datetime
    rvr: tuple[SpotRvr, ...] = ()
    wind: SpotWind | None = None
    qnh_hpa: float | None = None
    braking: Braking | None = None
    braking_runway: str | None = None
    ceiling_ft: float | None = None
    visibility_m: float | None = None
