"""Final reserves and flows at the end of a course, and what is not known of the fuel."""

from __future__ import annotations

from typing import Final

from decision.case import Leg
from decision.flight.physics import final_reserve_kg
from decision.flight.situation import Situation
from decision.performance import (
    FINAL_RESERVE_HEIGHT_FT,
    FINAL_RESERVE_MIN,
    Configuration,
    clean,
)
from decision.units import MIN_PER_H

HOLDING_HEIGHT_FT: Final = 1500.0  # above the aerodrome: start of an approach [ICAO-ANNEX6]


def planned_reserve_kg(situation: Situation, mass_kg: float, leg: Leg) -> float:
    """The final reserve of the flight plan, else half an hour clean at the arrival mass."""
    planned = situation.case.fuel.planned_final_reserve_kg
    if planned is not None:
        return planned
    return reserve_kg(situation, clean(situation.case.aircraft.profile), mass_kg, leg)


def reserve_kg(
    situation: Situation, configuration: Configuration, mass_kg: float, leg: Leg
) -> float:
    """The rulebook's minutes at its height over the aerodrome, in that configuration and mass."""
    book = situation.rulebook
    higher_ft = book.number("final_reserve_height_ft") - FINAL_RESERVE_HEIGHT_FT
    half_hour_kg = final_reserve_kg(
        situation.case.aircraft.profile,
        configuration=configuration,
        mass_kg=mass_kg,
        elevation_ft=leg.aerodrome.elevation_ft + higher_ft,
    )
    return half_hour_kg * book.number("final_reserve_min") / FINAL_RESERVE_MIN


def arrival_flow_kg_per_h(
    situation: Situation, configuration: Configuration, mass_kg: float, leg: Leg
) -> float:
    """Flow of a hold over the aerodrome, with the leak: what a minute is worth there.

    The final reserve is such a hold, so that its minutes say what the flow is.
    """
    held_kg = reserve_kg(situation, configuration, mass_kg, leg)
    minutes = situation.rulebook.number("final_reserve_min")
    return held_kg * MIN_PER_H / minutes + situation.case.fuel.leak_kg_per_h


def fuel_at_most(situation: Situation) -> bool:
    """Whether what is left is an upper bound: nobody knows how much is lost or cannot be used."""
    left = situation.capability
    return left.leak_rate_unknown or left.unusable_fuel_unknown


def fuel_unknowns(situation: Situation) -> tuple[str, ...]:
    """What is not known of the fuel itself."""
    left = situation.capability
    unknown = []
    if left.leak_rate_unknown:
        unknown.append("rate of the fuel leak")
    if left.unusable_fuel_unknown:
        unknown.append("quantity of fuel that cannot be used")
    if left.fuel_quantity_doubtful:
        unknown.append("quantity of fuel on board")
    return tuple(unknown)
