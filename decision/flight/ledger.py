"""Final reserves and flows at the end of a course, and what is not known of the fuel."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from decision.case import Leg
from decision.flight.physics import final_reserve_kg
from decision.flight.situation import Situation
from decision.performance import (
    FINAL_RESERVE_HEIGHT_FT,
    FINAL_RESERVE_MIN,
    Configuration,
    Spread,
    Track,
    clean,
)
from decision.units import MIN_PER_H

HOLDING_HEIGHT_FT: Final = 1500.0  # above the aerodrome: start of an approach [ICAO-ANNEX6]


class Ledger(Struct, frozen=True, kw_only=True, gc=False):
    """Fuel of a course in kg, counted from one point: the missed approach, or where it starts.

    `planned_reserve_kg` is the legal final reserve, `configured_reserve_kg` the same half hour in
    the configuration at arrival; the greater governs. `spread` is that of `flight_kg`; None where
    nothing that matters is flown after the point it counts from. `ordinary_more_kg` is what the
    ordinary level and speed take above the plan. `at_most`: fuel is lost, or cannot be used, that
    nobody can count, so that every figure of what is left is an upper bound.
    """

    at_missed_approach_kg: float | None
    counted_from_kg: float
    flight_kg: float
    planned_reserve_kg: float
    configured_reserve_kg: float
    spread: Spread | None
    ordinary_more_kg: float = 0.0
    at_most: bool = False

    @property
    def final_reserve_kg(self) -> float:
        """The reserve that governs."""
        return max(self.planned_reserve_kg, self.configured_reserve_kg)

    @property
    def required_kg(self) -> float:
        """Fuel needed from where the ledger counts: flight, approach and final reserve."""
        return self.flight_kg + self.final_reserve_kg

    @property
    def landing_kg(self) -> float:
        """Usable fuel on landing."""
        return self.counted_from_kg - self.flight_kg

    @property
    def margin_kg(self) -> float:
        """Fuel above the final reserve on landing; positive is room."""
        return self.landing_kg - self.final_reserve_kg

    def margin_at_kg(self, percentile: float) -> float:
        """The margin when the flight needs as much fuel as at that percentile, in percent.

        Of the plan, or of the ordinary level and speed where these are dearer.
        """
        if self.spread is None:
            return self.margin_kg
        needed_kg = self.spread.fuel_percentile_kg(percentile) + max(0.0, self.ordinary_more_kg)
        return self.counted_from_kg - needed_kg - self.final_reserve_kg


class Diversion(Struct, frozen=True, kw_only=True, gc=False):
    """What the diversion of a course was flown with: enough to fly it again, otherwise.

    `other_*` is used between where the ledger counts from and the landing, but not by the
    diversion: the go-around before it and the approach after it, leak included.
    """

    mass_kg: float
    start_pressure_altitude_ft: float
    track: Track
    leak_kg_per_h: float
    other_fuel_kg: float
    other_time_min: float


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
    """Flow of a hold over the aerodrome, with the leak: what a minute is worth there."""
    return flow_of_reserve_kg_per_h(situation, reserve_kg(situation, configuration, mass_kg, leg))


def flow_of_reserve_kg_per_h(situation: Situation, held_kg: float) -> float:
    """The same by a final reserve, which is such a hold: its minutes say what the flow is."""
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
