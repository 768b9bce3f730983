"""Where the loaded aerodromes are: those within a radius, of ten thousand within milliseconds.

They are sorted by latitude. A search takes the band of latitudes that the radius reaches, works out
all distances in it at once, and asks the geodesic library about those alone that lie on the edge.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from decision.earth import (
    LEAST_MILES_PER_DEG,
    MANY_WITHIN_NM,
    MANY_WRONG_NM,
    distance_nm,
    distances_nm,
)
from decision.errors import require_range
from decision.quantities import Position

Numbers = NDArray[np.float64]
LEAST_SHARE: Final = 1e-9
"""Degrees by which a band is wider, so that no rounding leaves out what lies on its edge."""


class Placed(NamedTuple):
    """A place and where it is."""

    icao: str
    position: Position


class Nearby(NamedTuple):
    """A place that was found, and how far away it is."""

    icao: str
    distance_nm: float


class NearestPlaces(NamedTuple):
    """The nearest places, nearest first, and how many farther ones there are within the radius."""

    places: tuple[Nearby, ...]
    beyond: int


class Atlas:
    """Places by where they are. Of equal distance the southern one comes first, then by name."""

    def __init__(
        self, icaos: Iterable[str], latitudes_deg: Numbers, longitudes_deg: Numbers
    ) -> None:
        """Columns of one length, sorted by latitude."""
        self.icaos = tuple(icaos)
        self.latitudes_deg, self.longitudes_deg = latitudes_deg, longitudes_deg

    def __len__(self) -> int:
        return len(self.icaos)

    def within(self, centre: Position, radius_nm: float, *, most: int) -> NearestPlaces:
        """The nearest places within a radius, and how many more there are.

        Distances are those of `earth.distances_nm`; whether a place is within is by the geodesic.
        Raises: OutOfRange for a radius beyond which those distances do not hold.
        """
        require_range("radius_nm", radius_nm, low=0.0, high=MANY_WITHIN_NM - MANY_WRONG_NM)
        first, last = self._band(centre, radius_nm)
        away_nm = distances_nm(
            start=centre,
            latitudes_deg=self.latitudes_deg[first:last],
            longitudes_deg=self.longitudes_deg[first:last],
        )
        inside = away_nm <= radius_nm
        for row in np.flatnonzero(np.abs(away_nm - radius_nm) <= MANY_WRONG_NM):
            inside[row] = self._exact_nm(centre, first + int(row)) <= radius_nm
        rows = np.flatnonzero(inside)
        nearest = rows[np.argsort(away_nm[rows], kind="stable")][:most]
        return NearestPlaces(
            places=tuple(
                Nearby(self.icaos[first + row], float(away_nm[row])) for row in map(int, nearest)
            ),
            beyond=len(rows) - len(nearest),
        )

    def _band(self, centre: Position, radius_nm: float) -> tuple[int, int]:
        """First row and the one after the last of the latitudes that the radius reaches."""
        reach_deg = radius_nm / LEAST_MILES_PER_DEG + LEAST_SHARE
        low, high = centre.latitude_deg - reach_deg, centre.latitude_deg + reach_deg
        first = int(np.searchsorted(self.latitudes_deg, low, side="left"))
        return first, int(np.searchsorted(self.latitudes_deg, high, side="right"))

    def _exact_nm(self, centre: Position, row: int) -> float:
        place = Position(
            latitude_deg=float(self.latitudes_deg[row]),
            longitude_deg=float(self.longitudes_deg[row]),
        )
        return distance_nm(start=centre, end=place)


def atlas_of(places: Iterable[Placed]) -> Atlas:
    """The atlas of some places."""
    ordered = sorted(places, key=lambda each: (each.position.latitude_deg, each.icao))
    return Atlas(
        (each.icao for each in ordered),
        np.array([each.position.latitude_deg for each in ordered], dtype=np.float64),
        np.array([each.position.longitude_deg for each in ordered], dtype=np.float64),
    )
