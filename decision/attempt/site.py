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
from decision.attempt.certified import Certification, certification
from decision.attempt.noticed import Noticed, meeting, noticed_in
from decision.attempt.runway_wind import wind_on
from decision.case import Aerodrome, Leg, Runway
from decision.flight.situation import Situation
from decision.flight.tracks import isa_deviation_degc
from decision.flight.tried import Tried
from decision.units import degc_to_k, k_to_degc
from decision.weather.conditions import Outlook, conditions, kept_outlook
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


class Site(Struct, frozen=True, kw_only=True, gc=False):
    """What all attempts at one aerodrome in one weather share; `unknown` is why `air` is None.

    `noticed`: what notices do to it in that time, and `aerodrome` is the place as they leave it.
    `winds` and `surfaces` by the name of the runway. A surface is worked out when a landing on it
    is; `ageing`: none is kept, since a crew has reported on braking, and that grows old.
    """

    leg: Leg
    noticed: Noticed | None
    aerodrome: Aerodrome
    weather: WeatherMet
    air: Surroundings | None
    temperature_degc: float | None
    unknown: tuple[str, ...]
    winds: Mapping[str, RunwayWind | None]
    ageing: bool
    surfaces: dict[str, RunwayCondition]

    def surface(
        self, situation: Situation, runway: Runway, landing_at: datetime
    ) -> RunwayCondition:
        """The condition of one of its runways at a landing."""
        found = None if self.ageing else self.surfaces.get(runway.ident)
        if found is None:
            found = _surface(situation, self, runway, landing_at)
            self.surfaces[runway.ident] = found
        return found


class Sites:
    """The sites of one case and of what varies it, each worked out once.

    They are found by place, by what is tried out there and by the very value of what the window
    meets: an outlook gives the same one to all windows that meet the same.
    """

    def __init__(self) -> None:
        self._outlooks: dict[str, Outlook] = {}
        self._noticed: dict[tuple[object, ...], Noticed] = {}
        self._found: dict[tuple[str, Tried, int, int], tuple[WeatherMet, Site]] = {}
        self._certification: Certification | None = None

    def at(self, situation: Situation, leg: Leg, window: Window) -> Site:
        """The aerodrome as it is in a window."""
        icao, tried = leg.aerodrome.icao, tried_at(situation, leg)
        outlook = self._outlooks.get(icao)
        if outlook is None:
            outlook = self._outlooks[icao] = _outlook(situation, leg)
        met = outlook.meets(window)
        noticed = self._noticed_at(situation, leg, window)
        key = icao, tried, id(met), id(noticed)
        if key not in self._found:
            if len(self._found) >= SITES_KEPT:
                self._found.clear()
            self._found[key] = met, _site(situation, leg, tried.weather(met), noticed)
        return self._found[key][1]  # `met` and `noticed` are kept: nothing else has their ids

    def _noticed_at(self, situation: Situation, leg: Leg, window: Window) -> Noticed | None:
        """What notices do to a place in a window; the very same value where it meets the same."""
        at_place = situation.notices_at(leg.aerodrome.icao)
        if not at_place.notices:
            return None
        key = leg.aerodrome.icao, *meeting(at_place, window)
        found = self._noticed.get(key)
        if found is None:
            found = self._noticed[key] = noticed_in(leg.aerodrome, at_place, window)
        return found

    def certification(self, situation: Situation) -> Certification:
        """The climbs that limit a landing mass."""
        if self._certification is None:
            self._certification = certification(situation)
        return self._certification


def weather_over(situation: Situation, leg: Leg, window: Window) -> WeatherMet:
    """What governs at an aerodrome in a window, with what is tried out in it."""
    met = conditions(
        situation.station(leg.aerodrome.icao),
        window=window,
        as_of=situation.case.as_of,
        reading=situation.rulebook.reading,
        spots=_spots(situation, leg),
    )
    return tried_at(situation, leg).weather(met)


def tried_at(situation: Situation, leg: Leg) -> Tried:
    """What is tried out at an aerodrome."""
    return situation.what_if.at(destination=leg is situation.case.destination)


def _outlook(situation: Situation, leg: Leg) -> Outlook:
    return kept_outlook(
        situation.station(leg.aerodrome.icao),
        situation.case.as_of,
        situation.rulebook.reading,
        _spots(situation, leg),
    )


def _spots(situation: Situation, leg: Leg) -> tuple[SpotObservation, ...]:
    """What was said of an aerodrome."""
    icao = leg.aerodrome.icao
    return tuple([each.spot for each in situation.case.observations if each.icao == icao])


def _site(situation: Situation, leg: Leg, weather: WeatherMet, noticed: Noticed | None) -> Site:
    air, unknown = _surroundings(situation, leg, weather)
    limits, book = situation.case.aircraft.profile.wind, situation.rulebook
    return Site(
        leg=leg,
        noticed=noticed,
        aerodrome=leg.aerodrome if noticed is None else noticed.aerodrome,
        weather=weather,
        air=air,
        temperature_degc=None if air is None else air.temperature_degc,
        unknown=unknown,
        winds={
            runway.ident: wind_on(runway, weather, limits=limits, rulebook=book)
            for runway in leg.aerodrome.runways
        },
        ageing=any(each.braking is not None for each in _spots(situation, leg)),
        surfaces={},
    )


def _surface(
    situation: Situation, site: Site, runway: Runway, landing_at: datetime
) -> RunwayCondition:
    leg, weather = site.leg, site.weather
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
        noticed=()
        if site.noticed is None
        else site.noticed.evidence(runway.ident, weather.temperature_degc),
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
