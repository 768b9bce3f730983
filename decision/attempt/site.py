"""An aerodrome in the weather that a window meets: its air, and each runway with surface and wind.

Most arrivals at a place meet the same weather; what depends on place and weather alone is worked
out once for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from msgspec import Struct

from decision import atmosphere
from decision.attempt.attempt import RunwayWind
from decision.attempt.runway_wind import credited_headwind_kt, wind_on
from decision.case import Leg, Runway
from decision.flight.situation import Situation
from decision.flight.tracks import isa_deviation_degc
from decision.flight.tried import Tried
from decision.units import degc_to_k, k_to_degc
from decision.weather.conditions import conditions
from decision.weather.present import usable_spots
from decision.weather.readings import WeatherMet
from decision.weather.runway import RunwayCondition, runway_condition
from decision.weather.spots import SpotObservation
from decision.windows import Window

SITES_KEPT: Final = 1024


class Surroundings(Struct, frozen=True, kw_only=True, gc=False):
    """The air at an aerodrome."""

    pressure_altitude_ft: float
    isa_deviation_degc: float

    @property
    def temperature_degc(self) -> float:
        """Surface temperature."""
        at_k = atmosphere.temperature_k(
            pressure_altitude_ft=self.pressure_altitude_ft,
            isa_deviation_degc=self.isa_deviation_degc,
        )
        return k_to_degc(float(at_k))


class Strip(Struct, frozen=True, kw_only=True, gc=False):
    """A runway in one weather; `surface` None: it is not the same at every moment of it.

    `headwind_kt` is what of the wind may be counted on; negative is from behind.
    """

    runway: Runway
    surface: RunwayCondition | None
    wind: RunwayWind | None
    headwind_kt: float | None


class Site(Struct, frozen=True, kw_only=True, gc=False):
    """What all attempts at one aerodrome in one weather share; `unknown` is why `air` is None.

    `strips` and `winds` by the name of the runway.
    """

    leg: Leg
    weather: WeatherMet
    air: Surroundings | None
    temperature_degc: float | None
    unknown: tuple[str, ...]
    strips: Mapping[str, Strip]
    winds: Mapping[str, RunwayWind | None]


class Sites:
    """The sites of one case and of what varies it, each worked out once.

    They are found by place, by what is tried out there and by the very value of what the window
    meets: an outlook gives the same one to all windows that meet the same.
    """

    def __init__(self) -> None:
        self._found: dict[tuple[str, Tried, int], tuple[WeatherMet, Site]] = {}

    def at(self, situation: Situation, leg: Leg, window: Window) -> Site:
        """The aerodrome as it is in a window."""
        met, tried = _seen_over(situation, leg, window), tried_at(situation, leg)
        key = leg.aerodrome.icao, tried, id(met)
        if key not in self._found:
            if len(self._found) >= SITES_KEPT:
                self._found.clear()
            self._found[key] = met, _site(situation, leg, tried.weather(met))
        return self._found[key][1]  # `met` is kept beside it, so that nothing else has its id


def weather_over(situation: Situation, leg: Leg, window: Window) -> WeatherMet:
    """What governs at an aerodrome in a window, with what is tried out in it."""
    return tried_at(situation, leg).weather(_seen_over(situation, leg, window))


def tried_at(situation: Situation, leg: Leg) -> Tried:
    """What is tried out at an aerodrome."""
    return situation.what_if.at(destination=leg is situation.case.destination)


def _seen_over(situation: Situation, leg: Leg, window: Window) -> WeatherMet:
    return conditions(
        situation.station(leg.aerodrome.icao),
        window=window,
        as_of=situation.case.as_of,
        reading=situation.rulebook.reading,
        spots=_spots(situation, leg),
    )


def _spots(situation: Situation, leg: Leg) -> tuple[SpotObservation, ...]:
    """What was said of an aerodrome."""
    icao = leg.aerodrome.icao
    return tuple([each.spot for each in situation.case.observations if each.icao == icao])


def _site(situation: Situation, leg: Leg, weather: WeatherMet) -> Site:
    air, unknown = _surroundings(situation, leg, weather)
    strips = {each.ident: _strip(situation, leg, each, weather) for each in leg.aerodrome.runways}
    return Site(
        leg=leg,
        weather=weather,
        air=air,
        temperature_degc=None if air is None else air.temperature_degc,
        unknown=unknown,
        strips=strips,
        winds={ident: strip.wind for ident, strip in strips.items()},
    )


def _strip(situation: Situation, leg: Leg, runway: Runway, weather: WeatherMet) -> Strip:
    """A runway; a braking report grows old, so that with one the surface depends on the moment."""
    limits, book = situation.case.aircraft.profile.wind, situation.rulebook
    wind = wind_on(runway, weather, limits=limits, rulebook=book)
    told = any(each.braking is not None for each in _spots(situation, leg))
    return Strip(
        runway=runway,
        surface=None if told else surface_of(situation, leg, runway, weather, situation.case.as_of),
        wind=wind,
        headwind_kt=None if wind is None else credited_headwind_kt(wind.headwind_kt, rulebook=book),
    )


def surface_of(
    situation: Situation, leg: Leg, runway: Runway, weather: WeatherMet, landing_at: datetime
) -> RunwayCondition:
    """The condition of a runway at a landing, from all that is known of it."""
    station = situation.station(leg.aerodrome.icao)
    return runway_condition(
        runway=runway.ident,
        thirds=_thirds(situation, leg, runway),
        contaminant=runway.contaminant,
        depth_mm=runway.depth_mm,
        observation=station.observation,
        beside=station.observations[1:],
        weather=weather,
        landing_at=landing_at,
        spots=usable_spots(_spots(situation, leg), as_of=situation.case.as_of),
    )


def _thirds(situation: Situation, leg: Leg, runway: Runway) -> tuple[int, int, int] | None:
    """The codes given for the runway, or the one that is tried out."""
    tried = tried_at(situation, leg).condition_code
    return runway.condition_thirds if tried is None else (tried, tried, tried)


def _surroundings(
    situation: Situation, leg: Leg, weather: WeatherMet
) -> tuple[Surroundings | None, tuple[str, ...]]:
    """The air there, or the names of what is not known of it."""
    if weather.qnh_hpa is None:
        return None, ("QNH",)
    level_ft = atmosphere.pressure_altitude_ft(
        elevation_ft=leg.aerodrome.elevation_ft, qnh_hpa=weather.qnh_hpa
    )
    if weather.temperature_degc is not None:
        deviation: float | None = atmosphere.isa_deviation_degc(
            pressure_altitude_ft=level_ft, temperature_k=degc_to_k(weather.temperature_degc)
        )
    else:
        deviation = isa_deviation_degc(situation.case, level_ft)
    if deviation is None:
        return None, ("surface temperature",)
    return Surroundings(pressure_altitude_ft=level_ft, isa_deviation_degc=deviation), ()
