"""Minutes flown without getting anywhere: checklists, holding, waiting for slow flaps."""

from __future__ import annotations

from decision.courses.air import en_route_deviation_degc
from decision.courses.flight import Flight
from decision.courses.remembered import fly_hold
from decision.courses.situation import Situation
from decision.performance import Configuration


def held(
    situation: Situation,
    flight: Flight,
    minutes: float,
    *,
    configuration: Configuration,
    name: str,
) -> Flight:
    """The flight after so many minutes at its level in that configuration."""
    if minutes == 0.0 or flight.limited_by is not None:
        return flight
    case, level_ft = situation.case, flight.state.pressure_altitude_ft
    flown = fly_hold(
        case.aircraft.profile,
        configuration=configuration,
        mass_kg=flight.state.mass_kg,
        pressure_altitude_ft=level_ft,
        minutes=minutes,
        isa_deviation_degc=en_route_deviation_degc(case, level_ft),
        leak_kg_per_h=case.fuel.leak_kg_per_h,
    )
    return flight.then(flown, pressure_altitude_ft=level_ft, name=name)
