"""The air of a leg read at any level: linear between the given levels, the nearest beyond them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from decision.elementwise import Numbers, interpolated
from decision.performance.configuration import Air


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """The levels of a leg, each quantity by itself."""

    heights_ft: tuple[float, ...]
    headwind_kt: tuple[float, ...]
    crosswind_kt: tuple[float, ...]
    isa_deviation_degc: tuple[float, ...]


@lru_cache(maxsize=256)
def _columns(air: Air) -> _Columns:
    levels = air.levels
    return _Columns(
        heights_ft=tuple(float(a.pressure_altitude_ft) for a in levels),
        headwind_kt=tuple(float(a.headwind_kt) for a in levels),
        crosswind_kt=tuple(float(a.crosswind_kt) for a in levels),
        isa_deviation_degc=tuple(float(a.isa_deviation_degc) for a in levels),
    )


def headwind_kt(air: Air, *, pressure_altitude_ft: Numbers) -> Numbers:
    """Headwind at a level; a tailwind is negative."""
    columns = _columns(air)
    return _read(columns, columns.headwind_kt, pressure_altitude_ft)


def crosswind_kt(air: Air, *, pressure_altitude_ft: Numbers) -> Numbers:
    """Crosswind at a level, of either sign."""
    columns = _columns(air)
    return _read(columns, columns.crosswind_kt, pressure_altitude_ft)


def isa_deviation_degc(air: Air, *, pressure_altitude_ft: Numbers) -> Numbers:
    """Temperature above standard at a level."""
    columns = _columns(air)
    return _read(columns, columns.isa_deviation_degc, pressure_altitude_ft)


def _read(columns: _Columns, values: tuple[float, ...], height_ft: Numbers) -> Numbers:
    if len(values) == 1:  # one level stands for all
        return values[0]
    if isinstance(height_ft, float):
        return interpolated(height_ft, columns.heights_ft, values)
    return np.interp(height_ft, columns.heights_ft, values)
