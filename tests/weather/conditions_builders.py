"""What the tests of windows share: instants of one month, stations out of raw texts, minima met."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from decision.weather import decode
from decision.weather.collect import StationWeather, collect
from decision.weather.conditions import conditions
from decision.weather.readings import CeilingReading, VisibilityReading, WeatherMet
from decision.weather.spots import SpotObservation
from decision.weather.use import Reading
from decision.windows import Window

LIMITS = (100, 200, 300, 500, 800, 1000, 1500, 2000, 3000, 5000, 8000, 9999, 10000)
"""Minima between and at all figures that the tests use, for ceilings and visibilities alike."""


def at(stamp: str) -> datetime:
    """An instant of November 2026 as reports write it: day, hour, minute."""
    return datetime(2026, 11, int(stamp[:2]), int(stamp[2:4]), int(stamp[4:6]), tzinfo=UTC)


def window(start: str, end: str) -> Window:
    return Window(at(start), at(end))


def around(stamp: str, minutes: int = 60) -> Window:
    """The window of an arrival, before and after."""
    return Window(at(stamp) - timedelta(minutes=minutes), at(stamp) + timedelta(minutes=minutes))


def station(*raws: str, as_of: str, icao: str = "XABC") -> StationWeather:
    reports = [decode(raw, received_at=at(as_of)) for raw in raws]
    return collect(reports, station=icao, as_of=at(as_of))


def see(
    *raws: str,
    as_of: str,
    over: Window,
    icao: str = "XABC",
    reading: Reading = Reading.PERSISTENT,
    spots: Sequence[SpotObservation] = (),
) -> WeatherMet:
    """The conditions over a window out of raw texts."""
    weather = station(*raws, as_of=as_of, icao=icao)
    return conditions(weather, window=over, as_of=at(as_of), reading=reading, spots=spots)


def met(reading: CeilingReading | VisibilityReading) -> frozenset[int]:
    """The minima that a reading is known to meet."""
    return frozenset(limit for limit in LIMITS if reading.reaches(limit) is True)


def missed(reading: CeilingReading | VisibilityReading) -> frozenset[int]:
    """The minima that a reading is known to miss."""
    return frozenset(limit for limit in LIMITS if reading.reaches(limit) is False)
