"""Observations that come by word: a tower's wind, a spot RVR, a crew's braking report.

Each has its own time, and outranks an older METAR in the elements that it names.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Annotated

from msgspec import Struct

from decision.fields import about, sized
from decision.quantities import BEARING, HEIGHT_FT, METRES, RUNWAY_IDENT, WIND_KT


class Braking(StrEnum):
    """Braking action as crews report it, words of [GRF]."""

    GOOD = "good"
    GOOD_TO_MEDIUM = "good_to_medium"
    MEDIUM = "medium"
    MEDIUM_TO_POOR = "medium_to_poor"
    POOR = "poor"
    LESS_THAN_POOR = "less_than_poor"


class SpotRvr(Struct, frozen=True, kw_only=True, gc=False):
    """Runway visual ranges given by voice, along the runway from the touchdown zone."""

    runway: Annotated[RUNWAY_IDENT, about("Runway.")]
    touchdown_m: Annotated[METRES, about("Touchdown zone.")]
    midpoint_m: Annotated[METRES | None, about("Midpoint.")] = None
    stop_end_m: Annotated[METRES | None, about("Stop end.")] = None


class SpotWind(Struct, frozen=True, kw_only=True, gc=False):
    """A wind given by voice, turned to true north; `from_true_deg` None: variable."""

    from_true_deg: Annotated[BEARING | None, about("Direction, true.")]
    speed_kt: Annotated[WIND_KT, about("Speed.")]
    gust_kt: Annotated[WIND_KT | None, about("Gust.")] = None


class SpotObservation(Struct, frozen=True, kw_only=True, gc=False):
    """What was said at one instant; None or empty where nothing was said."""

    at: Annotated[datetime, about("When.")]
    rvr: Annotated[tuple[SpotRvr, ...], sized("Runway visual ranges.", longest=12)] = ()
    wind: Annotated[SpotWind | None, about("Tower wind.")] = None
    qnh_hpa: Annotated[float | None, about("QNH.", low=850, high=1090, unit="hPa")] = None
    braking: Annotated[
        Braking | None,
        about("Braking action reported by a pilot; an hour later it only lowers a code."),
    ] = None
    braking_runway: Annotated[
        RUNWAY_IDENT | None, about("Runway of the braking report; absent: every runway.")
    ] = None
    ceiling_ft: Annotated[HEIGHT_FT | None, about("Ceiling above the aerodrome.")] = None
    visibility_m: Annotated[METRES | None, about("Visibility.")] = None
