"""An invented season: weather of invented places, drawn from a seed. It is nobody's climate.

Each place has a state of weather that lasts some hours and then turns to another; nights and
mornings have more fog, and some of a day's weather is that of the region. Forecasts are made of the
state that comes, wrong as often as `MISSED` says. It is there so that the replay can be tried and
its page be made; a fuel policy is argued with an archive of one's own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

import msgspec
from msgspec import Struct

from service.replay.archive import Archived

HOUR: Final = timedelta(hours=1)
FORECAST_H, VALID_H = 6, 24
HELD: Final = 0.82  # chance that a state lasts another hour [ASSUMED]
REGIONAL: Final = 0.5  # of the turns of a place that are the region's [ASSUMED]
MISSED: Final = 0.15  # of the forecasts that tell another state [ASSUMED]
FOGGY_HOURS: Final = range(2, 10)


class WeatherState(Struct, frozen=True, kw_only=True):
    """A state of weather: what is reported in it, and how often it comes by day and at night."""

    name: str
    visibility: str
    weather: str
    clouds: str
    gust_kt: int
    by_day: float
    at_night: float


class Climate(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Every state that there is."""

    source: str
    states: tuple[WeatherState, ...]


STATES: Final = msgspec.toml.decode(
    (Path(__file__).parent / "weather.toml").read_bytes(), type=Climate
).states


def invented_season(
    places: Sequence[str], *, begin: datetime, days: int, seed: int
) -> Iterator[Archived]:
    """Observations every hour and forecasts every six, in the order in which they come."""
    drawn = random.Random(seed)  # noqa: S311 - no secret: the same seed, the same season
    hours = days * 24 + VALID_H
    region = _states(drawn, begin, hours)
    of_place = {place: _states(drawn, begin, hours, region=region) for place in places}
    winds = {place: _winds(drawn, hours) for place in places}
    for hour in range(days * 24):
        at = begin + hour * HOUR
        for place in places:
            states, wind = of_place[place], winds[place]
            yield Archived(at=at, report=_observation(place, at, states[hour], wind[hour]))
            if at.hour % FORECAST_H == 0:
                told = _forecast(drawn, place, at, states[hour : hour + VALID_H], wind[hour])
                yield Archived(at=at, report=told)


def _states(
    drawn: random.Random, begin: datetime, hours: int, *, region: Sequence[WeatherState] = ()
) -> list[WeatherState]:
    """The state of each hour."""
    found: list[WeatherState] = []
    for hour in range(hours):
        turns = not found or drawn.random() > HELD
        if not turns:
            found.append(found[-1])
        elif region and drawn.random() < REGIONAL:
            found.append(region[hour])
        else:
            dark = (begin + hour * HOUR).hour in FOGGY_HOURS
            weights = [each.at_night if dark else each.by_day for each in STATES]
            found.append(drawn.choices(STATES, weights)[0])
    return found


def _winds(drawn: random.Random, hours: int) -> list[tuple[int, int]]:
    """Direction and speed of each hour, wandering: tens of degrees true, knots."""
    direction, speed = drawn.randrange(36), 8.0
    found = []
    for _ in range(hours):
        direction = (direction + drawn.choice((-1, 0, 0, 0, 1))) % 36
        speed = min(24.0, max(2.0, speed + drawn.gauss(0.0, 1.5)))
        found.append((direction or 36, round(speed)))
    return found


def _wind(state: WeatherState, wind: tuple[int, int]) -> str:
    direction, speed = wind
    calm = min(speed, 4) if state.name == "fog" else speed
    gust = f"G{calm + state.gust_kt:02}" if state.gust_kt else ""
    return f"{direction * 10:03}{calm:02}{gust}KT"


def _said(state: WeatherState, wind: tuple[int, int]) -> str:
    words = (_wind(state, wind), state.visibility, state.weather, state.clouds)
    return " ".join(filter(None, words))


def _observation(place: str, at: datetime, state: WeatherState, wind: tuple[int, int]) -> str:
    return f"METAR {place} {at:%d%H%M}Z {_said(state, wind)} 08/07 Q1013"


def _forecast(
    drawn: random.Random,
    place: str,
    at: datetime,
    coming: Sequence[WeatherState],
    wind: tuple[int, int],
) -> str:
    """What is told of the hours to come, six by six; at times one of them is wrong."""
    end = at + VALID_H * HOUR
    told = [coming[min(hour, len(coming) - 1)] for hour in range(0, VALID_H, FORECAST_H)]
    if drawn.random() < MISSED:
        told[drawn.randrange(len(told))] = drawn.choice(STATES)
    groups = [f"TAF {place} {at:%d%H%M}Z {at:%d%H}/{_end(end)} {_said(told[0], wind)}"]
    for number, state in enumerate(told[1:], start=1):
        if state != told[number - 1]:
            from_at = at + number * FORECAST_H * HOUR
            groups.append(f"FM{from_at:%d%H}00 {_said(state, wind)}")
    return " ".join(groups)


def _end(at: datetime) -> str:
    """The end of a validity: midnight is written as hour 24 of the day before."""
    return f"{at - HOUR:%d}24" if at.hour == 0 else f"{at:%d%H}"
