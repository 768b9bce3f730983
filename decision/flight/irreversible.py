"""The irreversible step: whether it is ahead, and what it costs.

The same diversion from the same point, before and after it; and the same approach, with the gear
out at each distance.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from msgspec.structs import replace

from decision.case import Leg
from decision.flight.approach import ApproachFlight, approach_flight, extension_nm
from decision.flight.ledger import planned_reserve_kg, reserve_kg
from decision.flight.physics import approach_allowance, fly_from_each
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, objective_of
from decision.flight.tracks import onward_by
from decision.flight.ways import Origin, start_of_approach_ft, track_to
from decision.performance import Configuration, Flown, Leaving, Outcome
from decision.profile.operator_tables import OutOfTable
from decision.quantities import GearPosition
from decision.systems.timeline import wing_changes_for_good


def step_ahead(situation: Situation) -> bool:
    """Whether something that cannot be undone is still to be done on the way."""
    gear_up = situation.case.aircraft.gear is GearPosition.UP
    wing = wing_changes_for_good(situation.capability)
    return situation.configurations.irreversible and (gear_up or wing)


def gear_is_down_for_good(situation: Situation) -> bool:
    """Whether the gear is out and does not come up again."""
    gear = situation.capability.gear
    return gear.position is not GearPosition.UP and not gear.retractable


@dataclass(frozen=True, slots=True, kw_only=True)
class Penalty:
    """What the irreversible step costs on the way to one alternate, from the same point."""

    icao: str
    clean_kg: float
    after_kg: float | None

    @property
    def fuel_kg(self) -> float | None:
        """Extra fuel; None when the way cannot be flown at all after the step."""
        return None if self.after_kg is None else self.after_kg - self.clean_kg


def stuck_at_clean_point(situation: Situation, flight: ApproachFlight) -> Leaving:
    """From the last clean point, as its price is asked for: after the step for good."""
    onward = onward_by(situation.case, flight.extension_nm)
    state = flight.last_clean.state
    return Leaving(
        mass_kg=state.mass_kg,
        pressure_altitude_ft=state.pressure_altitude_ft,
        tracks=tuple(
            track_to(situation, leg, origin=Origin.LAST_CLEAN_POINT, distance_nm=miles)
            for leg, miles in onward
            if miles is not None
        ),
        ordinary=False,
    )


def penalties(
    situation: Situation, flight: ApproachFlight, *, beside: Iterable[Leaving] = ()
) -> tuple[Penalty, ...]:
    """One entry for each alternate whose distance is known and that can be reached clean.

    `beside`: from where else flights after the step will be asked for; they are searched with it.
    """
    if flight.last_clean.stopped is not None:
        return ()
    onward, flown = onward_by(situation.case, flight.extension_nm), situation.configurations
    legs = [leg for leg, miles in onward if miles is not None]
    stuck = stuck_at_clean_point(situation, flight)
    as_a_course = replace(stuck, ordinary=True)  # and such a one has flown it already
    before = _needs_kg(situation, legs, flown.clean, (as_a_course,))
    after = _needs_kg(situation, legs, flown.after_miss, (stuck, *beside))
    return tuple(
        Penalty(icao=leg.aerodrome.icao, clean_kg=clean_kg, after_kg=after_kg)
        for leg, clean_kg, after_kg in zip(legs, before, after, strict=True)
        if clean_kg is not None
    )


def _needs_kg(
    situation: Situation,
    legs: Sequence[Leg],
    configuration: Configuration,
    leaving: Sequence[Leaving],
) -> list[float | None]:
    """All that is needed from the first of the places; None: cannot be flown or not known.

    The same sum as that of a course from there: diversion, approach and landing, final reserve.
    """
    case = situation.case
    flights, *_ = fly_from_each(
        case.aircraft.profile,
        configuration=configuration,
        leaving=leaving,
        leak_kg_per_h=case.fuel.leak_kg_per_h,
        objective=objective_of(situation),
    )
    return [
        _need_kg(situation, leg, configuration, flown)
        for leg, flown in zip(legs, flights, strict=True)
    ]


def _need_kg(
    situation: Situation, leg: Leg, configuration: Configuration, flown: Outcome
) -> float | None:
    if not isinstance(flown, Flown):
        return None
    approach = approach_allowance(
        situation.case.aircraft.profile,
        configuration=situation.configurations.landing,
        mass_kg=flown.end_mass_kg,
        pressure_altitude_ft=start_of_approach_ft(leg),
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
    )
    landed_kg = approach.end_mass_kg
    try:
        reserve = max(
            planned_reserve_kg(situation, landed_kg, leg),
            reserve_kg(situation, configuration, landed_kg, leg),
        )
    except OutOfTable:
        return None
    return flown.fuel_kg + approach.fuel_kg + reserve


PRICED_NM: Final = (10.0, 7.0, 5.0)  # [PRACTICE] early, by the alternate system, and late
SAME_NM: Final = 0.05  # closer than a tenth of a mile is one distance


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedExtension:
    """The gear out at a distance to the threshold, and the fuel that leaves at the minimum.

    `more_kg`: what it takes above the latest of those that are compared.
    """

    distance_to_go_nm: float
    planned: bool
    at: datetime
    at_missed_approach_kg: float
    more_kg: float


def extensions(
    situation: Situation, present: Flight, *, hold_min: float
) -> tuple[PricedExtension, ...]:
    """As planned and at each distance that is still ahead, the furthest out first.

    Empty where the gear is out or does not go down, or the way is not known or cannot be flown.
    """
    is_up = situation.case.aircraft.gear is GearPosition.UP
    if not (is_up and situation.configurations.gear_extends):
        return ()
    planned_nm = extension_nm(situation)
    wanted = {planned_nm, *(nm for nm in PRICED_NM if abs(nm - planned_nm) > SAME_NM)}
    flown = {}
    for gear_nm in sorted(wanted, reverse=True):
        flight = approach_flight(situation, present, hold_min=hold_min, gear_nm=gear_nm)
        if flight is not None and not flight.passed and flight.minimum.stopped is None:
            flown[flight.extension_nm] = flight
    most_kg = max((each.minimum.state.usable_kg for each in flown.values()), default=0.0)
    return tuple(
        PricedExtension(
            distance_to_go_nm=distance_nm,
            planned=distance_nm == planned_nm,
            at=flight.last_clean.state.at,
            at_missed_approach_kg=flight.minimum.state.usable_kg,
            more_kg=most_kg - flight.minimum.state.usable_kg,
        )
        for distance_nm, flight in flown.items()
    )
