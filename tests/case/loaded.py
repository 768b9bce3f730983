"""Invented aerodromes all over the earth, and a library of them."""

from __future__ import annotations

import random
from collections.abc import Iterable
from typing import Any

from decision.case import Aerodrome, Approach, ApproachKind, Library, Runway
from decision.case.library import library_with
from decision.quantities import Position

DIGEST = "0" * 64


def place(icao: str, latitude_deg: float, longitude_deg: float, **changes: Any) -> Aerodrome:
    """One with a runway and an approach."""
    members: dict[str, Any] = {
        "icao": icao,
        "name": icao,
        "elevation_ft": 100.0,
        "position": Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg),
        "runways": (runway(),),
        "approaches": (
            Approach(id="ILS 09", runway="09", kind=ApproachKind.TYPE_B, dh_ft=200.0, rvr_m=550.0),
        ),
    }
    return Aerodrome(**members | changes)


def runway(**changes: Any) -> Runway:
    """A long one."""
    members: dict[str, Any] = {"ident": "09", "true_bearing_deg": 90.0, "lda_m": 3000.0}
    return Runway(**members | changes)


def library(places: Iterable[Aerodrome], *, digest: str = DIGEST) -> Library:
    """The installed profiles with these places."""
    return library_with(places, digest=digest)


def names(count: int) -> list[str]:
    """Indicators, in order: XAAA, XAAB and so on."""
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    return [f"X{a}{b}{c}" for a in letters for b in letters for c in letters][:count]


def spread(count: int, *, seed: int, around: tuple[float, float], reach_deg: float) -> Any:
    """So many places at random around a point."""
    draw = random.Random(seed)  # noqa: S311  # invented places
    latitude_deg, longitude_deg = around
    return [
        place(
            icao,
            max(-90.0, min(90.0, latitude_deg + draw.uniform(-reach_deg, reach_deg))),
            (longitude_deg + draw.uniform(-reach_deg, reach_deg) + 540.0) % 360.0 - 180.0,
        )
        for icao in names(count)
    ]
