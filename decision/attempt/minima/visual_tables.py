"""Three small tables about seeing: RVR by height and lights, conversion factors, equivalents."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from decision.case.types import Lights
from decision.errors import require_range
from decision.tables import rows
from decision.units import M_PER_STATUTE_MILE

LIGHTING: Final = "lighting_minima.csv"
CONVERTED: Final = "converted_visibility.csv"
EQUIVALENTS: Final = "rvr_equivalents.csv"
SYSTEM: Final = "system_minima.csv"
COLUMN_OF_LIGHTS: Final = {
    Lights.FULL: "fals_m",
    Lights.INTERMEDIATE: "ials_m",
    Lights.BASIC: "bals_m",
    Lights.NONE: "nals_m",
}
WORST_FIRST: Final = (Lights.NONE, Lights.BASIC, Lights.INTERMEDIATE, Lights.FULL)
HALF_METRE: Final = 0.5  # reports are whole metres, equivalents are compared in statute miles


class Installation(StrEnum):
    """Lights in operation, as the conversion of visibility distinguishes them."""

    HIGH_INTENSITY = "high_intensity"
    OTHER = "other"
    NONE = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Equivalent:
    """A visibility in statute miles and the RVR in metres that stands for it [CFR-91]."""

    visibility_sm: float
    rvr_m: float


def lighting_rvr_m(height_ft: float, *, lights: Lights) -> float:
    """Least RVR in metres for a minimum height above the threshold and a class of lights.

    Valid: 200 ft to 10 000 ft; a height between two rows takes the higher one.
    Raises: OutOfRange outside. Source: [EU-AO] AMC5 CAT.OP.MPA.110 table 9.
    """
    bands = _lighting()
    low_ft, high_ft = bands[0].from_ft, bands[-1].to_ft
    require_range("height_ft", height_ft, low=low_ft, high=high_ft, source="EU-AO")
    return next(band.rvr_m[lights] for band in bands if height_ft <= band.to_ft)


def conversion_ratio(installation: Installation, *, is_night: bool | None) -> float | None:
    """Factor from visibility to RVR; the lesser of day and night if that is not known.

    None: no conversion (night without lights). Source: [EU-AO] AMC10 CAT.OP.MPA.110.
    """
    conversion = _converted()[installation]
    if is_night is False:
        return conversion.day_ratio
    if is_night is None and conversion.night_ratio is not None:
        return min(conversion.day_ratio, conversion.night_ratio)
    return conversion.night_ratio


def least_conversion_ratio() -> float:
    """The least factor of the table by day, for lights of which nothing is known."""
    return min(conversion.day_ratio for conversion in _converted().values())


def greatest_conversion_ratio() -> float:
    """The greatest factor of the table: no visibility is taken to be worth more RVR than this."""
    ratios = [(each.day_ratio, each.night_ratio or 0.0) for each in _converted().values()]
    return max(max(pair) for pair in ratios)


def installation_of(lights: Lights) -> Installation:
    """The installation that a class of approach lights proves, runway lights working.

    A class is one of length: the lights of any may be of high intensity or not.
    """
    return next(kind for kind, each in _converted().items() if lights in each.lights)


def perhaps_high_intensity(lights: Lights) -> bool:
    """Whether lights of a class may be of high intensity, without the class proving it."""
    return lights in _converted()[Installation.HIGH_INTENSITY].perhaps


@cache
def equivalents() -> tuple[Equivalent, ...]:
    """Visibility and RVR that stand for each other, ascending."""
    columns = frozenset({"visibility_sm", "rvr_ft", "rvr_m"})
    return tuple(
        Equivalent(visibility_sm=row.number("visibility_sm"), rvr_m=row.number("rvr_m"))
        for row in rows(EQUIVALENTS, columns=columns)
    )


def equivalent_rvr_m(visibility_m: float) -> float | None:
    """RVR that a reported visibility stands for: the table's at or below it; None below all."""
    found = [
        each.rvr_m
        for each in equivalents()
        if each.visibility_sm * M_PER_STATUTE_MILE <= visibility_m + HALF_METRE
    ]
    return found[-1] if found else None


def equivalent_visibility_sm(rvr_m: float) -> float | None:
    """Visibility that an RVR minimum stands for: the table's at or above it; None above all."""
    return next((each.visibility_sm for each in equivalents() if each.rvr_m >= rvr_m), None)


def equivalent_minimum_m(visibility_sm: float) -> float:
    """RVR minimum for a visibility minimum: the table's at or above it, beyond it plain metres."""
    return next(
        (each.rvr_m for each in equivalents() if each.visibility_sm >= visibility_sm),
        visibility_sm * M_PER_STATUTE_MILE,
    )


def system_minimum_ft(needs: tuple[str, ...]) -> float | None:
    """Least minimum height of the facility that an approach needs; None for one not in the table.

    The row that matches most of the needs counts: VOR with DME is better than VOR alone.
    """
    matches = [facility for facility in _systems() if facility.needs <= set(needs)]
    if not matches:
        return None
    return max(matches, key=lambda facility: len(facility.needs)).height_ft


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    from_ft: float
    to_ft: float
    rvr_m: Mapping[Lights, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Conversion:
    lights: frozenset[str]
    perhaps: frozenset[str]
    day_ratio: float
    night_ratio: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Facility:
    needs: frozenset[str]
    height_ft: float


@cache
def _lighting() -> tuple[_Band, ...]:
    columns = frozenset({"from_ft", "to_ft", *COLUMN_OF_LIGHTS.values()})
    return tuple(
        _Band(
            from_ft=row.number("from_ft"),
            to_ft=row.number("to_ft"),
            rvr_m={lights: row.number(column) for lights, column in COLUMN_OF_LIGHTS.items()},
        )
        for row in rows(LIGHTING, columns=columns)
    )


@cache
def _converted() -> Mapping[Installation, _Conversion]:
    columns = frozenset({"installation", "lights", "perhaps", "day_ratio", "night_ratio"})
    return {
        row.kind("installation", Installation): _Conversion(
            lights=frozenset(row.cells["lights"].split()),
            perhaps=frozenset(row.cells["perhaps"].split()),
            day_ratio=row.number("day_ratio"),
            night_ratio=row.number("night_ratio") if row.cells["night_ratio"] else None,
        )
        for row in rows(CONVERTED, columns=columns)
    }


@cache
def _systems() -> tuple[_Facility, ...]:
    columns = frozenset({"facility", "needs", "height_ft"})
    return tuple(
        _Facility(needs=frozenset(row.text("needs").split()), height_ft=row.number("height_ft"))
        for row in rows(SYSTEM, columns=columns)
    )
