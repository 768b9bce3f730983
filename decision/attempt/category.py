"""Aeroplane category by speed at the threshold, and the circling minima that go with it.

A jammed flap or slat raises the speed: the category of the landing that will really be flown
counts, not that of the type [PANS-OPS-I]. A light aircraft keeps the category of its type, which is
set at maximum landing mass in the normal landing configuration; circling can raise it, when it is
faster than the area of the category is drawn for.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from decision.case import Approach, ApproachKind
from decision.citations import Confidence
from decision.errors import OutOfRange
from decision.flight.configure import lever_takes_slats_out
from decision.flight.physics import approach_speed_kt as reference_speed_kt
from decision.flight.situation import Situation
from decision.systems import LimitName
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


def category_flown(
    situation: Situation, approach: Approach | None, *, mass_kg: float, approach_speed_kt: float
) -> AeroplaneCategory | None:
    """The highest of the categories that count; None where a speed is beyond the last of them.

    `approach_speed_kt` is the speed at the threshold as flown, failures included.
    """
    try:
        found = [category_of(_type_speed_kt(situation)), category_of(approach_speed_kt)]
        if approach is not None and approach.kind is ApproachKind.CIRCLING:
            found.append(circling_category(circling_speed_kt(situation, mass_kg=mass_kg)))
    except OutOfRange:
        return None
    return max(found)


def circling_speed_kt(situation: Situation, *, mass_kg: float) -> float:
    """Speed while circling: that of the approach flap at this mass, with what failures add.

    Circling in the approach configuration is common practice [PRACTICE].
    """
    flown = situation.configurations.approach
    speed_kt = reference_speed_kt(
        situation.case.aircraft.profile,
        mass_kg=mass_kg,
        flap=flown.flap,
        slats_out=flown.slats_out,
    )
    return speed_kt + speed_increment_kt(situation)


def speed_increment_kt(situation: Situation) -> float:
    """Speed that the failures add to the approach speed."""
    limit = situation.capability.limit(LimitName.MIN_APPROACH_SPEED_INCREMENT_KT)
    return 0.0 if limit is None else limit.value


def _type_speed_kt(situation: Situation) -> float:
    """Speed at the threshold at maximum landing mass, nothing having failed."""
    profile = situation.case.aircraft.profile
    flap = profile.approach.landing_detent
    return reference_speed_kt(
        profile,
        mass_kg=profile.masses.mlw_kg,
        flap=flap,
        slats_out=lever_takes_slats_out(profile, flap),
    )
