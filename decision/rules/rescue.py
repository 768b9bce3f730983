"""Categories of rescue and fire fighting: what an aeroplane asks for, what a place has."""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple

from decision.profile import Profile
from decision.rulebooks.rulebook import Rulebook
from decision.tables import rows

CATEGORIES: Final = "rescue_category.csv"


class _Band(NamedTuple):
    """Lengths of one category, and the widest fuselage that still belongs to it."""

    below_m: float
    widest_m: float
    category: int


def rescue_category_of(profile: Profile) -> int:
    """By length over all; one more where the fuselage is wider than that category allows.

    Source: [ICAO-ANNEX14] table 9-1. The greatest length of a profile lies within the table.
    """
    body = profile.fuselage
    band = next(each for each in _bands() if body.length_m < each.below_m)
    return band.category + (body.width_m > band.widest_m)


def least_rescue_category(profile: Profile, *, below: float, rulebook: Rulebook) -> float:
    """What a place needs that may be `below` categories under the aeroplane's own.

    Never under the floor of the rulebook for an aeroplane above the mass that it names.
    """
    least = rescue_category_of(profile) - below
    floor = rulebook.number_or_none("rescue_floor_category")
    above_kg = rulebook.number_or_none("rescue_floor_above_kg")
    if floor is None or above_kg is None or profile.masses.mtow_kg <= above_kg:
        return least
    return max(least, floor)


@cache
def _bands() -> tuple[_Band, ...]:
    columns = frozenset({"category", "from_m", "below_m", "widest_m"})
    return tuple(
        _Band(row.number("below_m"), row.number("widest_m"), round(row.number("category")))
        for row in rows(CATEGORIES, columns=columns)
    )
