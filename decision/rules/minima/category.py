"""Aeroplane category by speed at the threshold, and the circling minima that go with it.

A jammed flap or slat raises the speed: the category of the landing that will really be flown
counts, not that of the type [PANS-OPS-I].
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from decision.citations import Confidence
from decision.errors import OutOfRange
from decision.tables import rows

CATEGORIES: Final = "approach_category.csv"
CIRCLING: Final = "circling_minima.csv"
CIRCLING_SPEEDS: Final = "circling_speed.csv"


class AeroplaneCategory(StrEnum):
    """Categories of aeroplanes for approach procedures."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"
    E = "E"


SLOW: Final = frozenset({AeroplaneCategory.A, AeroplaneCategory.B})


@dataclass(frozen=True, slots=True, kw_only=True)
class CirclingMinimum:
    """Least minimum descent height and visibility for circling, of one category."""

    category: AeroplaneCategory
    mdh_ft: float
    visibility_m: float
    cite: str
    confidence: Confidence


def category_of(approach_speed_kt: float) -> AeroplaneCategory:
    """The category of a speed at the threshold, in knots of indicated airspeed.

    Raises: OutOfRange at or above the upper limit of category E, or at or below zero.
    Source: [PANS-OPS-I].
    """
    bands = _bands()
    for below_kt, category in bands:
        if 0.0 < approach_speed_kt < below_kt:
            return category
    raise OutOfRange(
        "approach_speed_kt", approach_speed_kt, low=1.0, high=bands[-1][0], source="PANS-OPS-I"
    )


def circling_category(speed_kt: float) -> AeroplaneCategory:
    """The slowest category whose circling area is drawn for a speed, in knots indicated.

    Raises: OutOfRange above the speed of the last category. Source: [PANS-OPS-I].
    """
    fastest_kt = 0.0
    for fastest_kt, category in _circling_speeds():
        if speed_kt <= fastest_kt:
            return category
    raise OutOfRange("circling_speed_kt", speed_kt, low=1.0, high=fastest_kt, source="PANS-OPS-I")


def circling_minimum(category: AeroplaneCategory) -> CirclingMinimum | None:
    """The circling minimum of a category, or None where the table has none (category E)."""
    return _circling().get(category)


def greatest_circling_minimum() -> CirclingMinimum:
    """That of the fastest category which has one: a faster aeroplane needs no less."""
    return max(_circling().values(), key=lambda minimum: minimum.category)


@cache
def _bands() -> tuple[tuple[float, AeroplaneCategory], ...]:
    columns = frozenset({"category", "from_kt", "below_kt"})
    return tuple(
        (row.number("below_kt"), row.kind("category", AeroplaneCategory))
        for row in rows(CATEGORIES, columns=columns)
    )


@cache
def _circling_speeds() -> tuple[tuple[float, AeroplaneCategory], ...]:
    columns = frozenset({"category", "fastest_kt"})
    return tuple(
        (row.number("fastest_kt"), row.kind("category", AeroplaneCategory))
        for row in rows(CIRCLING_SPEEDS, columns=columns)
    )


@cache
def _circling() -> dict[AeroplaneCategory, CirclingMinimum]:
    columns = frozenset({"category", "mdh_ft", "visibility_m"})
    minima = (
        CirclingMinimum(
            category=row.kind("category", AeroplaneCategory),
            mdh_ft=row.number("mdh_ft"),
            visibility_m=row.number("visibility_m"),
            cite=row.text("source"),
            confidence=row.kind("confidence", Confidence),
        )
        for row in rows(CIRCLING, columns=columns)
    )
    return {minimum.category: minimum for minimum in minima}
