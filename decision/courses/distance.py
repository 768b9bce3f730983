"""Track miles of each leg: as given, else the great circle times the policy's routing factor."""

from __future__ import annotations

from functools import lru_cache

from decision.case import Case, Leg
from decision.geodesy import distance_nm
from decision.quantities import Position


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
