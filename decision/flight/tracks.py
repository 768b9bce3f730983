"""The way between two places: its track miles, and the air along it.

Miles are as given, else the great circle times the policy's routing factor. Winds are resolved on
the track, temperatures are deviations from standard. A leg whose bearing is not known meets the
whole wind as headwind: never better than the truth.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from decision import atmosphere
from decision.case import Case, Leg, WindAloft
from decision.earth import distance_nm, initial_true_deg
from decision.performance import CALM_STANDARD, Air, AirAtLevel, uniform_air
from decision.quantities import Position, WindComponents, wind_components
from decision.units import degc_to_k

REMEMBERED: Final = 1024


def air_along(
    case: Case,
    *,
    start: Position | None,
    end: Position | None,
    more_headwind_kt: float = 0.0,
) -> Air:
    """Air from one point to another; calm and standard when the case gives no winds.

    `more_headwind_kt` is added at every level.
    """
    if case.winds_aloft is None:
        return uniform_air(headwind_kt=more_headwind_kt) if more_headwind_kt else CALM_STANDARD
    return _air(case.winds_aloft, start, end, more_headwind_kt)


@lru_cache(maxsize=REMEMBERED)
def _air(
    winds: tuple[WindAloft, ...],
    start: Position | None,
    end: Position | None,
    more_headwind_kt: float,
) -> Air:
    """Every course asks for the same few tracks again and again."""
    bearing = None
    if start is not None and end is not None and start != end:
        bearing = initial_true_deg(start=start, end=end)
    levels = []
    for wind in winds:
        resolved = _resolved(wind, bearing)
        levels.append(
            AirAtLevel(
                pressure_altitude_ft=wind.pressure_altitude_ft,
                headwind_kt=resolved.headwind_kt + more_headwind_kt,
                crosswind_kt=resolved.crosswind_kt,
                isa_deviation_degc=_deviation(winds, wind.pressure_altitude_ft) or 0.0,
            )
        )
    return Air(levels=tuple(levels))


def isa_deviation_degc(case: Case, pressure_altitude_ft: float) -> float | None:
    """Deviation at a level, linear between the levels that give a temperature, the nearest beyond.

    None when no level gives one.
    """
    return _deviation(case.winds_aloft or (), pressure_altitude_ft)


def en_route_deviation_degc(case: Case, pressure_altitude_ft: float) -> float:
    """The deviation where it only moves fuel a little: standard when no level gives one."""
    return isa_deviation_degc(case, pressure_altitude_ft) or 0.0


@lru_cache(maxsize=REMEMBERED)
def _deviation(winds: tuple[WindAloft, ...], pressure_altitude_ft: float) -> float | None:
    known = [
        (wind.pressure_altitude_ft, _own_deviation(wind, wind.temperature_degc))
        for wind in winds
        if wind.temperature_degc is not None
    ]
    if not known:
        return None
    below = [pair for pair in known if pair[0] <= pressure_altitude_ft]
    above = [pair for pair in known if pair[0] >= pressure_altitude_ft]
    if not below or not above:
        return (below[-1] if below else above[0])[1]
    (low_ft, low), (high_ft, high) = below[-1], above[0]
    if low_ft == high_ft:
        return low
    return low + (high - low) * (pressure_altitude_ft - low_ft) / (high_ft - low_ft)


def _own_deviation(wind: WindAloft, temperature_degc: float) -> float:
    return atmosphere.isa_deviation_degc(
        pressure_altitude_ft=wind.pressure_altitude_ft, temperature_k=degc_to_k(temperature_degc)
    )


def _resolved(wind: WindAloft, bearing: float | None) -> WindComponents:
    if bearing is None:
        return WindComponents(headwind_kt=wind.speed_kt, crosswind_kt=0.0)
    return wind_components(
        wind_from_true_deg=wind.from_true_deg,
        wind_kt=wind.speed_kt,
        direction_true_deg=bearing,
    )


def to_run_nm(case: Case) -> float | None:
    """From the present position to the destination's threshold; None when not known."""
    leg = case.destination
    if leg.track_nm is not None:
        return leg.track_nm
    return _routed_nm(case, case.aircraft.position, leg.aerodrome.position)


def from_present_nm(case: Case, leg: Leg) -> float | None:
    """From the present position to an alternate; None when not known."""
    if leg.track_from_present_nm is not None:
        return leg.track_from_present_nm
    return _routed_nm(case, case.aircraft.position, leg.aerodrome.position)


def onward_nm(case: Case, leg: Leg) -> float | None:
    """From the destination's missed approach point to an alternate; None when not known."""
    if leg.track_nm is not None:
        return leg.track_nm
    return _routed_nm(case, case.destination.aerodrome.position, leg.aerodrome.position)


def onward_by(case: Case, more_nm: float) -> tuple[tuple[Leg, float | None], ...]:
    """Each alternate with its miles from so far before, or beyond, the missed approach point."""
    onward = ((leg, onward_nm(case, leg)) for leg in case.alternates)
    return tuple((leg, None if miles is None else miles + more_nm) for leg, miles in onward)


def between_nm(case: Case, start: Leg, end: Leg) -> float | None:
    """From one aerodrome of the case to another; None when not known.

    A way to the destination is its way out, flown back.
    """
    if end is case.destination:
        return onward_nm(case, start)
    return _routed_nm(case, start.aerodrome.position, end.aerodrome.position)


def _routed_nm(case: Case, start: Position | None, end: Position | None) -> float | None:
    if start is None or end is None:
        return None
    return _great_circle_nm(start, end) * case.policy.routing_factor


@lru_cache(maxsize=1024)
def _great_circle_nm(start: Position, end: Position) -> float:
    """Aerodromes stay where they are."""
    return distance_nm(start=start, end=end)
