"""What the irreversible step costs: the same diversion from the same point, before and after it."""

from __future__ import annotations

from collections.abc import Sequence

from decision.case import Leg
from decision.course import Origin, Penalty
from decision.courses.approach import ApproachFlight
from decision.courses.descend import objective_of
from decision.courses.distance import onward_by
from decision.courses.divert import track_to
from decision.courses.onward import NOTHING_BEFORE, Onward, fly_onward
from decision.courses.reserve import planned_reserve_kg, reserve_kg
from decision.courses.situation import Situation
from decision.performance import Configuration, Flown
from decision.profile.operator_tables import OutOfTable


def penalties(situation: Situation, flight: ApproachFlight) -> tuple[Penalty, ...]:
    """One entry for each alternate whose distance is known and that can be reached clean."""
    if flight.last_clean.limited_by is not None:
        return ()
    onward = [
        (leg, miles)
        for leg, miles in onward_by(situation.case, flight.extension_nm)
        if miles is not None
    ]
    before = _needs_kg(situation, flight, onward, situation.configurations.clean)
    after = _needs_kg(situation, flight, onward, situation.configurations.after_miss)
    return tuple(
        Penalty(icao=leg.aerodrome.icao, clean_kg=clean_kg, after_kg=after_kg)
        for (leg, _), clean_kg, after_kg in zip(onward, before, after, strict=True)
        if clean_kg is not None
    )


def _needs_kg(
    situation: Situation,
    flight: ApproachFlight,
    onward: Sequence[tuple[Leg, float]],
    configuration: Configuration,
) -> list[float | None]:
    """All that is needed from the last clean point; None: cannot be flown or not known.

    The same sum as that of a course from there: diversion, approach and landing, final reserve.
    """
    state, case = flight.last_clean.state, situation.case
    flights = fly_onward(
        case.aircraft.profile,
        configuration=configuration,
        landing=situation.configurations.landing,
        mass_kg=state.mass_kg,
        start_pressure_altitude_ft=state.pressure_altitude_ft,
        tracks=tuple(
            track_to(situation, leg, origin=Origin.LAST_CLEAN_POINT, distance_nm=miles)
            for leg, miles in onward
        ),
        leak_kg_per_h=case.fuel.leak_kg_per_h,
        before=NOTHING_BEFORE,
        objective=objective_of(situation),
    )
    return [
        _need_kg(situation, leg, configuration, flown)
        for (leg, _), flown in zip(onward, flights, strict=True)
    ]


def _need_kg(
    situation: Situation, leg: Leg, configuration: Configuration, onward: Onward
) -> float | None:
    if isinstance(onward, Flown):
        return None
    landed_kg = onward.approach.end_mass_kg
    try:
        reserve = max(
            planned_reserve_kg(situation, landed_kg, leg),
            reserve_kg(situation, configuration, landed_kg, leg),
        )
    except OutOfTable:
        return None
    return onward.flown.fuel_kg + onward.approach.fuel_kg + reserve
