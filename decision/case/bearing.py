"""The true bearing of a runway against its name: which way round, and whether it may be right.

A designator is the magnetic bearing in tens of degrees [ICAO-ANNEX14], so it differs from the true
one by the magnetic variation. A bearing of the opposite end is more than a right angle off.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from decision.case.types import Aerodrome, Case, Runway

WRONG_WAY_DEG: Final = 90.0  # farther off, a headwind would be taken for a tailwind
# Magnetic variation exceeds this only near the poles, where runways are named by grid or true
# north [ASSUMED].
EXPLAINED_DEG: Final = 30.0
DEG_PER_NUMBER: Final = 10.0
FULL_CIRCLE_DEG: Final = 360.0


class DoubtfulBearing(NamedTuple):
    """A runway whose bearing and name are farther apart than variation explains."""

    icao: str
    runway: Runway
    apart_deg: float


def apart_deg(runway: Runway) -> float:
    """Degrees between the true bearing and the designator, 0 to 180."""
    named_deg = DEG_PER_NUMBER * int(runway.ident[:2])
    turned_deg = abs(runway.true_bearing_deg - named_deg) % FULL_CIRCLE_DEG
    return min(turned_deg, FULL_CIRCLE_DEG - turned_deg)


def doubtful_bearings(case: Case) -> tuple[DoubtfulBearing, ...]:
    """Every runway of the case whose bearing may be wrong; one that must be is a fault."""
    return tuple(
        DoubtfulBearing(place.icao, runway, apart_deg(runway))
        for place in _places(case)
        for runway in place.runways
        if apart_deg(runway) > EXPLAINED_DEG
    )


def _places(case: Case) -> tuple[Aerodrome, ...]:
    return tuple(leg.aerodrome for leg in (case.destination, *case.alternates))
