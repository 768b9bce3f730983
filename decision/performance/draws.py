"""What is uncertain about a flight, and samples of it from fixed seeds.

The quantities and their distributions are data (data/tables/uncertainty.csv). Two sets of samples:
independent random ones, and the points of a lattice, which fill the space evenly and give the
percentiles of a smooth function as well as thirteen times as many random ones. Both are kept, so
that every course of every decision sees the same samples.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from statistics import NormalDist
from typing import Final

import numpy as np

from decision.elementwise import FloatArray
from decision.tables import Row, rows

FILE: Final = "uncertainty.csv"
SEED: Final = 20_260_119  # any other serves as well
LATTICE_POINTS: Final = 1_021  # a prime, so that every coordinate takes each of its values once
LATTICE_MULTIPLIER: Final = 62  # [ASSUMED] the best below 400 for sums and products like these


class DrawnQuantity(StrEnum):
    """What is uncertain; the order is that of the coordinates of a sample."""

    WIND_ERROR = "wind_error"
    FUEL_FLOW_SCALE = "fuel_flow_scale"
    EXTRA_TRACK = "extra_track"
    MASS_ERROR = "mass_error"
    GEAR_DRAG_SCALE = "gear_drag_scale"


class Distribution(StrEnum):
    """How it is distributed."""

    NORMAL = "normal"
    TRIANGULAR = "triangular"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Samples of everything that is uncertain; element i of each belongs to sample i."""

    wind_error_kt: FloatArray
    fuel_flow_scale: FloatArray
    extra_track_nm: FloatArray
    mass_error_kg: FloatArray
    gear_drag_scale: FloatArray


@lru_cache(maxsize=4)
def random_draws(samples: int) -> Draws:
    """Independent samples."""
    return _draws(np.random.default_rng(SEED).random((len(DrawnQuantity), samples)))


@cache
def lattice_draws() -> Draws:
    """The points of a rank-1 lattice, shifted by one random vector."""
    generator = [pow(LATTICE_MULTIPLIER, j, LATTICE_POINTS) for j in range(len(DrawnQuantity))]
    points = np.outer(generator, np.arange(LATTICE_POINTS)) / LATTICE_POINTS
    shift = np.random.default_rng(SEED).random((len(DrawnQuantity), 1))
    return _draws((points + shift) % 1.0)


def _draws(uniform: FloatArray) -> Draws:
    """Turn coordinates in [0, 1) into the quantities."""
    table = _table()
    column = dict(zip(DrawnQuantity, uniform, strict=True))
    found = {quantity: _inverse(table[quantity], column[quantity]) for quantity in DrawnQuantity}
    return Draws(
        wind_error_kt=found[DrawnQuantity.WIND_ERROR],
        fuel_flow_scale=found[DrawnQuantity.FUEL_FLOW_SCALE],
        extra_track_nm=found[DrawnQuantity.EXTRA_TRACK],
        mass_error_kg=found[DrawnQuantity.MASS_ERROR],
        gear_drag_scale=found[DrawnQuantity.GEAR_DRAG_SCALE],
    )


def _inverse(row: Row, probability: FloatArray) -> FloatArray:
    """The value that is not exceeded with a probability."""
    if row.kind("distribution", Distribution) is Distribution.NORMAL:
        normal = NormalDist(row.number("mean"), row.number("deviation"))
        return np.array([normal.inv_cdf(p) for p in probability.tolist()])
    low, mode, high = row.number("low"), row.number("mode"), row.number("high")
    rising = low + np.sqrt(probability * (high - low) * (mode - low))
    falling = high - np.sqrt((1.0 - probability) * (high - low) * (high - mode))
    return np.where(probability < (mode - low) / (high - low), rising, falling)


@cache
def _table() -> Mapping[DrawnQuantity, Row]:
    columns = {"quantity", "distribution", "mean", "deviation", "low", "mode", "high", "unit"}
    table = rows(FILE, columns=frozenset(columns))
    return {row.kind("quantity", DrawnQuantity): row for row in table}
